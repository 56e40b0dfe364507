"""What the service said no to, in the words of the command line: its options instead of JSON pointers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk._exceptions import Fault, sentence
from gradewright_sdk.cli._failures import Exit, Failure, Json
from gradewright_sdk.cli._files import pointer_steps, without_name
from gradewright_sdk.cli._values import near

if TYPE_CHECKING:
    from gradewright_sdk._client import Client

LISTS = re.compile(r"one of GET /v1/(regions|yards|benchmarks)\b")
NOTHING = " Nothing was stored."
NAMED = re.compile(r"`(\w+)`")  # how the service's sentences name a field of the request
COUNT = re.compile(r" \(and \d+ more\)$")
ALSO = {"version": "rulebook"}  # what a path calls a thing that the options call otherwise
SAID = frozenset({"withdraw", "confirm", "dispute", "decide", "correct"})
"""Commands whose refusals say themselves who may do it: it is a matter of whose posting it is."""
ITEMS = {"parts": "part", "prices": "price"}
WIRE = {
    "keep: true": "--keep",
    "edit it with `base`": "edit it with --base",
    "send new_kind with its name": "give its name with --new",
    "GET /v1/compositions tells": "`gradewright-client compositions` lists",
    "See /v1/rulebook-drafts.": "`gradewright-client drafts list` has them.",
    "without a kind of thing in `like`: give low and high of": (
        'without a kind of thing in --like: give both ends, as in --metal "gold 200 g/t to 300 g/t", for'
    ),
    ": give low and high of": ': give both ends, as in --metal "gold 200 g/t to 300 g/t", for',
}
"""Words of a request that the service's sentences have, and what they are here."""
OF_ITS_OWN = (
    "Of another kind nobody has recorded what comes out. Write down what is in yours instead: "
    "`gradewright-client teardown --template` prints a device to begin with."
)
MADE_FIRST = (
    "A new one is made with --source (where its values are from) and --currency and --unit, or --index for "
    "neither."
)
Places = Callable[[Sequence[str]], str | None]
"""Where the steps of a pointer lead, in the words of one command; None where it does not know better."""
PLACES, NAMES = "gradewright.places", "gradewright.names"


def names_are(ctx: typer.Context, names: Mapping[str, str]) -> None:
    """From here on what the service calls by these names is told by how the command line does."""
    ctx.meta[NAMES] = names


def places_are(ctx: typer.Context, places: Places) -> None:
    """From here on the faults of a request are told by these places, where they know one."""
    ctx.meta[PLACES] = places


def refused(ctx: typer.Context, error: ex.APIError, client: Client) -> Failure:
    """The service's problem, fault by fault with the option that each is about, and what to do about it.

    Where the region or the yard is wrong and the service knows no better one, `client` is asked which there
    are.
    """
    names = _names(ctx)
    place = _Place(names, ctx.meta.get(PLACES))
    faults = [replace(fault, detail=_in_words(fault.detail, names)) for fault in error.errors]
    faults = [_with_suggestions(fault, ctx, client) for fault in faults]
    told = [_told(fault, place) for fault in faults]
    lines = _lines(_in_words(error.detail, names), error, faults, told)
    hint = "" if isinstance(error, ex.Forbidden) and ctx.command.name in SAID else _hint(error)
    if hint and not any(hint.partition(" lists")[0] in line for line in lines):
        lines.append(hint)
    if isinstance(error, ex.UnknownDeviceKind) and ctx.command.name == "teardown":
        lines.append(OF_ITS_OWN)
    if isinstance(error, ex.UnknownBenchmark) and ctx.command.name == "keep":
        lines.append(MADE_FIRST)
    more = {"status": error.status, "request_id": error.request_id}
    errors = tuple(_document(fault, place) for fault in faults)
    return Failure(error.type, error.title, tuple(lines), Exit.REFUSED, errors, more)


def _lines(detail: str, error: ex.APIError, faults: Sequence[Fault], told: Sequence[str]) -> list[str]:
    about = COUNT.sub("", detail)
    bare = about.removesuffix(NOTHING)
    covered = not about or any(bare.endswith(fault.detail) for fault in faults)
    if covered and len(told) == 1:
        lines = [f"{error.title}: {told[0]}"]
    else:
        lines = [f"{error.title}:" if covered and told else f"{error.title}: {about}".removesuffix(": ")]
        lines += [f"  {one}" for one in told]
    if covered and bare != about:
        lines.append(f"  {NOTHING.strip()}")
    if error.request_id:
        lines.append(f"  (status {error.status}, request {error.request_id})")
    return lines


def _names(ctx: typer.Context) -> dict[str, str]:
    """What the service's names are called on the command line: --region, --from, GRADE."""
    names = {}
    for one in ctx.command.params:
        long = [text for text in one.opts if text.startswith("--")]
        named = (one.metavar or str(one.name).upper()).strip("[]")
        names[str(one.name).rstrip("_")] = long[0] if long else named
        names |= {text[2:].replace("-", "_"): text for text in long[:1]}
    own: Mapping[str, str] = ctx.meta.get(NAMES, {})
    return {**names, **own}


def _wire_name(fault: Fault) -> str:
    """The name at the top of the request that a fault is about; empty if it is about none."""
    steps = pointer_steps(fault.pointer)
    return fault.parameter or (steps[1] if steps[1:] else "")


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a fault is: by `names` of what the service calls otherwise, and first by the command's own."""

    names: Mapping[str, str]
    own: Places | None

    def __call__(self, fault: Fault) -> str:
        name, steps = _wire_name(fault), pointer_steps(fault.pointer)
        own = self.own(steps[1:]) if self.own is not None and steps[1:] else None
        if own is not None:
            return own
        if name == "observed" and steps[2:]:
            return steps[2]
        if name in ITEMS and steps[2:] and steps[2].isdigit():
            column = f", {steps[-1]}" if steps[3:] else ""
            return f"{ITEMS[name]} {int(steps[2]) + 1}{column}"
        if fault.header is not None and fault.header.casefold() == "authorization":
            return "GRADEWRIGHT_KEY"
        return self.names.get(ALSO.get(name, name)) or self.names.get(name, fault.place)


def _told(fault: Fault, place_of: _Place) -> str:
    place = place_of(fault)
    last = pointer_steps(fault.pointer)[-1]
    says = sentence(without_name(without_name(fault.detail, place), last), fault.suggestions)
    return f"{place}: {says}" if place else says


def _document(fault: Fault, place_of: _Place) -> Json:
    wire = {"pointer": fault.pointer, "parameter": fault.parameter, "header": fault.header}
    return {
        "place": place_of(fault) or None,
        **{name: value for name, value in wire.items() if value is not None},
        "detail": fault.detail,
        "suggestions": list(fault.suggestions),
    }


def in_words(text: str) -> str:
    """What the service says, in the words of the command line, but for the names of its options."""
    return _in_words(text, {})


def _in_words(text: str, names: Mapping[str, str]) -> str:
    for wire, here in WIRE.items():
        text = text.replace(wire, here)
    text = NAMED.sub(lambda found: names.get(found[1], found[0]), text)
    return LISTS.sub(r"one that `gradewright-client \1` lists", text)


def _with_suggestions(fault: Fault, ctx: typer.Context, client: Client) -> Fault:
    """A fault of a region or a yard with those that may have been meant, by their codes or their names."""
    kind = _wire_name(fault)
    given = ctx.params.get(kind)
    lists: dict[str, Callable[[], dict[str, str]]] = {
        "region": lambda: {text: one.code for one in client.regions.list() for text in (one.code, one.name)},
        "yard": lambda: {text: one.slug for one in client.yards.list() for text in (one.slug, one.name)},
    }
    if fault.suggestions or kind not in lists or not isinstance(given, str):
        return fault
    with suppress(ex.GradewrightError):  # only a suggestion: what went wrong is told without it too
        known = lists[kind]()
        if given in known.values():  # it is there, and the service says what is wrong with it
            return fault
        found = dict.fromkeys(known[text] for text in near(given, known))
        return replace(fault, suggestions=tuple(found))
    return fault


def _hint(error: ex.APIError) -> str:
    wait = f"Try again in {error.retry_after:g} s." if error.retry_after else "Wait a little and try again."
    who = f"tell whoever runs the service the request id {error.request_id}."
    hints: dict[type[ex.APIError], str] = {
        ex.Unauthorized: (
            "Set GRADEWRIGHT_KEY to a key of yours (an operator makes one: `gradewright keys create`)."
        ),
        ex.Forbidden: "Your key may not do this; ask a maintainer, or an operator for a maintainer's key.",
        ex.UnknownRegion: "`gradewright-client regions` lists the regions.",
        ex.UnknownYard: "`gradewright-client yards` lists the yards.",
        ex.UnknownBenchmark: "`gradewright-client benchmarks` lists the benchmarks.",
        ex.UnknownDeviceKind: "`gradewright-client compositions` lists the kinds of device.",
        ex.UnknownGrade: "`gradewright-client grades` lists the grades.",
        ex.TooManyRequests: wait,
        ex.ServerError: f"Nothing on your side: {who}",
    }
    return hints.get(type(error), "")
