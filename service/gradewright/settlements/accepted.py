"""How the bins of a settled ticket were accepted, as it counts in what is told of a yard."""

from __future__ import annotations

from gradewright.core.accepted import Accepted
from gradewright.settlements.answer import Settled


def how_accepted(settled: Settled) -> list[Accepted]:
    """Each bin that is paid for, once: how it was accepted, or that the ticket does not tell. It does not
    tell of bins that are short where more is on the line of another grade, or on a line that stands for no
    bin and may be some of them. Of a bin that is on no line, and for which none is left, there is nothing.
    """
    found = {one.grade: one for one in settled.settlement.accepted}
    doubtful = {grade for one in settled.maybe_moved for grade in one.bins}
    bins = [each.bin for each in settled.expected.bins]
    maybe = {bins[one.bin].grade for one in settled.may_be}
    maybe |= {meant.bin for one in settled.unclear for meant in one.meant}
    for each in bins:
        paid = each.rate is not None and each.rate.price > 0
        if paid and each.grade is not None and each.grade in doubtful | maybe:
            found[each.grade] = Accepted(each.grade, None)
    return list(found.values())
