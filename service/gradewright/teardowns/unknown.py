"""What it is that nobody knows where it rests on that whether a part is better opened, or taken off."""

from __future__ import annotations

from gradewright.teardowns.doubts import UNDOUBTED
from gradewright.teardowns.pricing import Offer
from gradewright.teardowns.worked import Worked


def counted_as_nothing(worked: Worked, number: int) -> dict[str, str]:
    """What counts as nothing, once a part is opened, because nobody knows its price: names, and why.

    What is inside of it is dealt with as is best then; a grade that more than one part has is named once.
    """
    return _without_price(worked, number, everything=False)


def unpriced_inside(worked: Worked, number: int) -> dict[str, str]:
    """The same with all that is inside of a part, whatever would be done with it: with a price it might be
    better to open what is not opened, or to take off what stays on. Methods that tell of no doubts took it
    to be known that it is not.
    """
    return _without_price(worked, number, everything=worked.method not in UNDOUBTED)


def unpriced_on(worked: Worked, number: int) -> dict[str, str]:
    """What has no price of a part that stays on, and of what is inside of it, and why."""
    if worked.method in UNDOUBTED:
        return {}
    whole = worked.pricing.offers[number].whole
    own = {_name(worked, number): whole.unpriced or ""} if whole.pay is None else {}
    return own | (unpriced_inside(worked, number) if worked.doubts.lacks[number] else {})


def undecided_in(worked: Worked, number: int, *, itself: bool = False) -> list[Offer]:
    """What is undecided, and sold as it is where all of it is the dearest that it can be, once a part is in
    hand (`itself`: with it, where it is taken off) and opened.
    """
    dear, offers, found = worked.doubts.dear, worked.pricing.offers, []
    if dear is None:
        return []
    waiting = [number] if itself else list(worked.tree.parts[number])
    for one in waiting:  # it grows on the way
        if one != number and not dear.taken[one]:
            continue
        if dear.opened[one]:
            waiting += worked.tree.parts[one]
        elif offers[one].dearest is not None:
            found.append(offers[one])
    return found


def decides_opening(worked: Worked, number: int) -> list[Offer]:
    """What is undecided, and decides whether a part is better opened: the part itself, where the plan opens
    it, else what is inside of it. Empty where it is opened, or not, whatever that turns out to be.
    """
    if not worked.doubts.opening[number]:
        return []
    if worked.plan.opened[number]:
        return [worked.pricing.offers[number]]
    return undecided_in(worked, number)


def decides_taking(worked: Worked, number: int) -> list[Offer]:
    """What is undecided, and decides whether a part is better taken off."""
    return undecided_in(worked, number, itself=True) if worked.doubts.taking[number] else []


def _without_price(worked: Worked, number: int, *, everything: bool) -> dict[str, str]:
    found: dict[str, str] = {}
    plan, offers = worked.plan, worked.pricing.offers
    grades = worked.pricing.version.rulebook.grades
    opened = [number]
    for around in opened:  # it grows on the way
        left = offers[around].part.left
        for one in worked.tree.parts[around]:
            whole = offers[one].whole
            if everything:
                goes_on, named = worked.doubts.lacks[one], whole.pay is None
            else:
                goes_on = plan.taken[one] and plan.opened[one]
                named = plan.taken[one] and not plan.opened[one] and whole.pay is None
            if goes_on:
                opened.append(one)
            if named:
                found.setdefault(_name(worked, one), whole.unpriced or "")
        paid = offers[around].left
        if left is not None and left.grade is not None and paid is not None and paid.pay is None:
            found.setdefault(grades[left.grade].name, paid.unpriced or "")
    return found


def _name(worked: Worked, number: int) -> str:
    """What a part is told as where it has no price: by its grade, where it has one."""
    part = worked.pricing.offers[number].part
    return part.given.name if part.grade is None else worked.pricing.version.rulebook.grades[part.grade].name
