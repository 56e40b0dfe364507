"""A teardown for people: cautions first, then the plan as a tree, and what would change it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.tree import Tree

from gradewright_sdk.cli._cautions import certain, possible
from gradewright_sdk.cli._layout import Unbroken, hanging
from gradewright_sdk.cli._show import WIDE, few, minutes, number, say, spread

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Teardown, TeardownLeft, TeardownNode, UsualDevice

DOES = {
    "sell-whole": ("sell whole", "green"),
    "open": ("open", "bold cyan"),
    "leave": ("counts as nothing", "yellow"),
    "stay-on": ("leave on", "dim"),
    "stay-inside": ("stays inside", "dim"),
}
NOTHING_KNOWN = "nothing that is known"
MOST_CHANGES = 5
MOST_MISSING = 5


def show(found: Teardown, console: Console) -> None:
    """Print it."""
    for part in _parts(found):
        console.print(part)


def _parts(found: Teardown) -> Iterator[RenderableType]:
    if found.typical is not None:
        for sentence in found.typical.says:
            yield say(sentence)
        yield ""
    yield say(found.says, "bold")
    yield ""
    if found.cautions or found.plan.opening is not None:
        yield say(found.heed, "bold yellow")
        yield from certain(found.cautions)
        yield from possible(found.cautions)
        yield ""
    yield listed(found.parts) if found.parts else tree(found.plan)
    yield ""
    yield hanging(_figures(found), 2)
    if not found.hour_rate.amount:
        yield say("Your time counts at nothing an hour: --hour-rate tells what one is worth.", "yellow")
    if found.missing:
        yield say("Not counted, or counted as the least that it can be:", "bold yellow")
        yield hanging([("-", line) for line in found.missing[:MOST_MISSING]])
        left = len(found.missing) - MOST_MISSING
        if left > 0:
            yield say(f"and {left} more like these (--json has them all)", "dim")
    disputed = list(_disputed(found))
    if disputed:
        yield say("Disputed:", "bold")
        yield hanging([("-", line) for line in disputed])
    notes = [*found.notes, *(pile.says for pile in found.piles if pile.says)]
    if found.together is not None:
        notes.append(found.together.says)
    if notes:
        yield hanging([("-", line) for line in notes])
    changes = [one.says for one in found.changes if abs(one.becomes - one.now) <= abs(one.now)]
    if changes:
        yield say("What would change the plan, nearest first:", "bold")
        yield hanging([("-", says) for says in changes[:MOST_CHANGES]])
    yield from _weighing(found)
    pins, kept = found.pins, f", kept as {found.id}" if found.id else ""
    at = found.yard or found.region
    by = f"By rulebook {pins.rulebook} on {found.on} at {at}, ledger revision {pins.revision}{kept}."
    yield say(by, "dim")


def tree(node: TeardownNode) -> Tree:
    """The part and what is in it."""
    drawn = Tree(_label(node), guide_style="dim")
    for part in node.parts:
        drawn.add(tree(part))
    _add_left(drawn, node)
    return drawn


def listed(parts: Sequence[TeardownNode]) -> Tree:
    """The same of a list, each part in the one that it is within, however deep."""
    drawn = [Tree(_label(part), guide_style="dim") for part in parts]
    for part, its in zip(parts, drawn, strict=True):
        if part.within is not None:
            drawn[part.within].children.append(its)
    for part, its in zip(parts, drawn, strict=True):
        _add_left(its, part)
    return drawn[0]


def _add_left(drawn: Tree, node: TeardownNode) -> None:
    """A row for what is left over of an opened part, behind what comes out of it."""
    if node.choice == "open" and node.opening is not None and node.opening.leftover.weight.kg:
        drawn.add(_left(node.opening.leftover))


def _left(left: TeardownLeft) -> RenderableType:
    """What is left over of an opened part, and what that brings."""
    name = "what is left over" if left.name is None else f"left over: {left.name}"
    paid = "counts as nothing" if left.amount is None else number(left.amount)
    grade = [] if left.grade_name is None else [say(left.grade_name, "dim")]
    return Unbroken([say(name), say(left.weight.shown, "dim"), say(paid), *grade])


def _label(node: TeardownNode) -> RenderableType:
    word, style = DOES.get(node.choice, (node.choice, ""))
    pieces = f"{node.pieces} x " if node.pieces > 1 else ""
    told = [say(f"{pieces}{node.name}", "bold"), say(word, style), say(_weighs(node), "dim")]
    if node.choice == "open" and node.opening is not None:
        opening = node.opening
        told.append(say(f"{number(opening.comes_to)} for {minutes(opening.in_all_minutes)}"))
    elif node.amount is not None:
        told.append(say(spread(node.amount)))
    if node.grade_name and node.grade_name != node.name:
        told.append(say(node.grade_name, "dim"))
    head = Unbroken(told)
    if node.choice in {"sell-whole", "stay-inside"} and node.opening is None:
        return head
    return Group(head, say(node.why, "dim"))


def _weighs(node: TeardownNode) -> str:
    """What a part weighs; where nobody weighed it, from low to high, as is usual."""
    weight = node.weight
    if node.usual is None or weight.low_kg is None or weight.high_kg is None:
        return weight.shown
    return f"{weight.shown}, not weighed: usually {weight.low_kg:f} to {weight.high_kg:f} kg"


def _figures(found: Teardown) -> Iterator[tuple[str, str]]:
    yield "whole", spread(found.whole)
    by_plan = NOTHING_KNOWN if found.plan.choice == "leave" else spread(found.worth)
    yield f"by the plan ({found.currency})", by_plan
    yield f"minutes{_by(found.typical) if found.minutes else ''}", f"{found.minutes:f}"
    rate = _rate(found) if found.hour_rate.amount else "nothing"
    yield f"labour at {rate} an hour", number(found.labour)
    yield "left of the likely worth", number(found.net)
    if found.per_hour is not None:
        yield "more than whole, an hour", number(found.per_hour)
    opening = found.plan.opening
    if opening is not None:
        rate = "" if opening.up_to is None else f" of {number(opening.up_to)}"
        yield "opening it pays", f"{opening.pays}{rate}"


def _rate(found: Teardown) -> str:
    """What an hour is worth, written as amounts are."""
    places = max(-int(found.labour.amount.as_tuple().exponent), 0)
    written = found.hour_rate.amount
    exact = written.quantize(Decimal(1).scaleb(-places), context=WIDE)
    return f"{exact if exact == written else written:f}"


def _by(typical: UsualDevice | None) -> str:
    """Whose minutes they are, where records tell them: those of the rulebook can be others."""
    if typical is None or typical.published or typical.minutes.low == typical.minutes.high:
        return ""
    devices = f"{typical.records} device{'s'[: typical.records != 1]}"
    return f", by {devices} of {typical.voices} member{'s'[: typical.voices != 1]}"


def _disputed(found: Teardown) -> Iterator[str]:
    """What would settle each disputed rule, once, with the parts that it is about."""
    about: dict[str, list[str]] = {}
    for part in found.parts or found.plan.walk():
        if part.confidence == "disputed":
            about.setdefault(part.settled_by or "", []).append(part.name)
    for settled_by, names in about.items():
        asks = f"To settle it: {settled_by}" if settled_by else "Ask the yard what it takes it as."
        yield f"{few(names)}. {asks}"


def _weighing(found: Teardown) -> Iterator[RenderableType]:
    if found.weighing is None or not found.weighing.parts:
        return
    costs = number(found.weighing.costs) if found.hour_rate.amount else "nothing"
    takes = f"a part takes {minutes(found.weighing.minutes)}, {costs} by the hour's rate"
    yield say(f"What weighing would be worth; {takes}:", "bold")
    yield hanging(
        (part.name, f"{number(part.gain)}, {'weigh it' if part.pays else 'not worth weighing'}")
        for part in found.weighing.parts
    )
