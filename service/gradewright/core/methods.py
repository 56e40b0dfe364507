"""The ways of valuing: a change of any formula is a new method, so that old answers can be repeated."""

from __future__ import annotations

from gradewright.core.concerns import Concerning, of_grades
from gradewright.core.grading import Grader
from gradewright.core.valued import Part

METHODS = ("1", "2", "3", "4", "5", "6", "7", "8")
""""1" tells single preparations that raise a part, "2" sequences of them, "3" also the cautions that can
still turn out to concern a part, and what would pay beside it (`core.pointers`), "4" which cautions of a
grade that is only named are not certain; each of these has its own choice of tests. "5" tells where what was
posted waits, and work that is paid for on what has no price itself; what it points at goes by a part's own
name too, and by no record that waits, and what that brings in an hour is rounded down. "6" points at what
weighs far more than any device of its kind as at several of them, and not at all where it cannot be that.
"7" has work that raises such a part take the minutes of several too, takes what lies between those that were
recorded for one of them, and says what is opened only with a licence. "8" takes what is near one that was
recorded for one of them too, and what is told to weigh so much each for as many as was told; nothing is of a
kind by its grade alone, but where the grade is one of built things and nothing else was told."""
METHOD = METHODS[-1]
"""The way in which what is asked now is valued."""

WITHOUT_POINTERS = frozenset({"1", "2"})
"""The methods that do not tell what would pay beside the valuation."""

CERTAIN_ONLY = frozenset({"1", "2"})
"""The methods by which a part of which too little is known shows only the cautions that are certain."""

NAMED_IS_CERTAIN = frozenset({"1", "2", "3"})
"""The methods by which whatever concerns something of a grade that is only named is certain."""

NEXT_TEST_ALONE = frozenset({"1", "2", "3"})
"""The methods that told of the next test alone where finding out is not worth it, and not of all of them."""

ALL_CHOICES = frozenset({"1", "2", "3"})
"""The methods whose questions had all choices, also those that the part cannot have."""

WAITING_UNSAID = frozenset({"1", "2", "3", "4"})
"""The methods that told what was posted and waits as if nobody had posted it."""

UNPRICED_UNRAISED = frozenset({"1", "2", "3", "4"})
"""The methods that told no work on a part whose grade has no price."""

RULE_ALONE = frozenset({"1", "2", "3", "4"})
"""The methods that told how sure the rule is also where a limit of the place's own decided."""

ALL_RECORDS = frozenset({"1", "2", "3", "4"})
"""The methods by which records of devices that are far off all others count too."""

ALL_FOR_SHARES = frozenset({"1", "2", "3", "4"})
"""The methods by which records that do not tell the whole weight counted for shares, of nothing."""

NEAREST_HOUR = frozenset({"3", "4"})
"""The methods by which what taking a part apart gains in an hour was rounded to the nearest, and could be
more than a rate at which it pays."""

NAMES_UNREAD = frozenset({"1", "2", "3", "4"})
"""The methods by which a part's own name does not tell which kind of device it is."""

ANY_WEIGHT = frozenset({"1", "2", "3", "4", "5"})
"""The methods by which whatever a part weighs it was one device of its kind, or as many as its count."""

ONE_PIECE = frozenset({"1", "2", "3", "4", "5", "6"})
"""The methods by which work on a part took the minutes of one piece, or of as many as its count, whatever it
weighs."""


BY_FAR = frozenset({"6"})
"""The methods by which what weighs far more or less than most devices of its kind was none of them, though
some that were recorded weigh as much."""

UP_TO_7 = frozenset({"1", "2", "3", "4", "5", "6", "7"})
"""The methods before 8: what weighs a gram more or less than all that were recorded was none of them, also
where the weight of each was told; whatever is of the grade in which one kind is sold whole was of that kind;
and a compressor that came out of a kind of one's own was not told of where one is sold as another grade."""

LICENCE_UNSAID = frozenset({"1", "2", "3", "4", "5", "6"})
"""The methods that did not say what is opened only with a licence, and told of a kind that no rulebook has a
word for also what would have been seen in those that were taken apart."""


def concerning_part(part: Part, grader: Grader, method: str) -> Concerning:
    """The cautions of one part, as a method tells them."""
    if part.description is None:
        named_certain = method in NAMED_IS_CERTAIN
        return grader.concerning(None, part.grade) if named_certain else of_grades(grader, [part.grade])
    if method in CERTAIN_ONLY:
        return Concerning(part.description.cautions)
    return part.description.concerning
