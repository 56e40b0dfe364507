"""Pointers as they stand in answers: plain values, and a sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from gradewright.core.composition import Typical
from gradewright.core.decimals import EXACT, ROUNDING, plain, trimmed
from gradewright.core.pointers import Hold, Pointer, TakeApart
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import show_mass
from gradewright.core.unusual import Recorded
from gradewright.valuations.amounts import Cents, spelled
from gradewright.valuations.weights import KILOGRAM

TENTH = Decimal("0.1")
GRAMS, GRAM = 1000, Decimal("0.001")


def told(pointers: Sequence[Pointer], rulebook: Rulebook, cents: Cents) -> list[dict[str, Any]]:
    """The pointers, in their order."""
    return [
        _apart(each, rulebook, cents) if isinstance(each, TakeApart) else _hold(each, rulebook, cents)
        for each in pointers
    ]


def _apart(found: TakeApart, rulebook: Rulebook, cents: Cents) -> dict[str, Any]:
    whole, minutes = found.whole, _minutes(found.minutes)
    gain, an_hour = spelled(found.gain, cents), spelled(found.an_hour, cents)
    cautions = whole.kind.cautions
    pieces = f" ({whole.pieces} of them)" if whole.pieces > 1 else ""
    if found.about is not None:
        pieces = f" (no one weighs that: as some {found.about} of them; give their count)"
    recorded = whole.kind.unlike(whole.grams, whole.pieces) if whole.kind.by_each else None
    if recorded is not None:
        pieces = _unlike(recorded, found, pieces)
    licensed = whole.kind.licensed
    says = "only with a licence, " if licensed else ""
    says += f"take the {whole.name} apart{pieces}: + {gain} for {minutes} minutes, up to {an_hour} an hour"
    says += _by(whole.kind.typical)
    if found.unpriced:
        names = [rulebook.grades[g].name if g in rulebook.grades else g for g in found.unpriced]
        says += f"; without a price here: {', '.join(names)}"
    unshared = [part.grade for part in whole.kind.typical.unshared]
    if unshared:
        names = [rulebook.grades[g].name if g in rulebook.grades else g for g in unshared]
        says += f"; how much there is of it is not known: {', '.join(names)}"
    if cautions:
        named = ", ".join(caution.name for caution in cautions)
        says += f". Mind: {named}. Follow local law; where a licence is needed, leave it to who holds one"
    return {
        "kind": "take-apart",
        "part": whole.number,
        "device": whole.kind.slug,
        "devices": whole.kind.typical.records,
        "gain": gain,
        "minutes": minutes,
        **({} if found.about is None else {"about_pieces": found.about}),
        "up_to_per_hour": an_hour,
        **({"licence": True} if licensed else {}),
        "unpriced": list(found.unpriced),
        "cautions": [caution.id for caution in cautions],
        "says": says,
    }


def _unlike(recorded: Recorded, found: TakeApart, pieces: str) -> str:
    """What one weighs by the records, where a part weighs otherwise; and how to tell that it is one."""
    low, high = map(_kilograms, (recorded.low, recorded.high))
    weigh = f"those recorded weigh {low if low == high else f'{low} to {high}'} kg"
    if found.about is None:
        return f"{pieces} ({weigh})"
    return f" ({weigh}: as some {found.about} of them; give their count, or, of one, its weight_each)"


def _kilograms(grams: Fraction) -> str:
    """Kilograms to a tenth, below one to a gram."""
    places = TENTH if grams >= GRAMS else GRAM
    kilograms = ROUNDING.divide(Decimal(grams.numerator), Decimal(grams.denominator * GRAMS))
    return trimmed(kilograms.quantize(places, context=ROUNDING))


def _by(typical: Typical) -> str:
    """Whose work says so: a preparation of the rulebook can tell other minutes for the same."""
    devices = f"{typical.records} device{'s' * (typical.records > 1)}"
    return f", by {devices} of {'one member' if typical.voices == 1 else f'{typical.voices} members'}"


def _hold(found: Hold, rulebook: Rulebook, cents: Cents) -> dict[str, Any]:
    step, name = found.step, rulebook.grades[found.grade].name
    short, gain = show_mass(found.short), spelled(found.gain, cents)
    named = name[:1].lower() + name[1:]
    return {
        "kind": "hold",
        "grade": found.grade,
        "yard": step.yard,
        "from_weight": step.written,
        "short": {"kg": plain(EXACT.divide(found.short, KILOGRAM)), "shown": short},
        "gain": gain,
        "says": f"hold the {named}: {short} more reaches {step.name}'s better price, + {gain}",
    }


def _minutes(minutes: Fraction) -> str:
    """Minutes to a tenth."""
    ratio = ROUNDING.divide(Decimal(minutes.numerator), Decimal(minutes.denominator))
    return trimmed(ratio.quantize(TENTH, context=ROUNDING))
