"""The methods of teardowns, and which of them did what otherwise."""

from __future__ import annotations

METHODS = ("1", "2", "3", "4", "5", "6", "7")
"""Method 2 names the first of many things that have no price, where method 1 named all in one sentence.
Method 3 says what is left over that nobody named, and what it would have to bring for the plan to change;
records of a kind that are far off all others no longer count. Method 4 tells where what was posted waits,
how sure a rule is that grades a part, and where the plan rests on what has no price or is undecided, although
it stays on or inside, or is in a kind in a share that nobody knows; what is left over is a lot as heavy as
it is, and no more. Method 5 counts each part as a lot of its own and tells what piles reach together; it has
weights that can all be so at once, with nothing below nothing left over; and it takes what weighs far more or
less than any device of its kind for one such device only where its count is told. Method 6 takes no weight
that lies between those that were recorded for one that no such device has; it tells first what that which
nobody named may cost for the plan to hold, and for itself (`licence`, `unnamed`) this and whether opening
takes a licence; of a kind that the rulebook has no word for it no longer tells what would have been seen in
those that were taken apart. Method 7 works out at which price each weight would be sold: how far the plan
ranges, what weight would change it and what weighing is worth, beside a price that steps at a weight; by
methods 5 and 6 all of that was at the prices of the likely weights. It takes a weight that is near one that
was recorded for like that, where method 6 took a gram beyond the lightest or heaviest for far off; and tells
no rate up to which opening pays where neither the device nor all that comes out of it has a price."""
METHOD = METHODS[-1]
NEAREST = frozenset({"1", "2"})
"""The methods by which an hourly gain was rounded as amounts are, above the rate up to which it pays."""
ALL_COUNT = frozenset({"1", "2"})
"""The methods by which all records of a kind count."""
WAITING_UNSAID = frozenset({"1", "2", "3"})
"""The methods that told what was posted and waits as if nobody had posted it."""
ALL_FOR_SHARES = frozenset({"1", "2", "3"})
"""The methods by which records that do not tell the whole weight counted for shares, of nothing."""
ALL_AS_LEFT = frozenset({"1", "2", "3"})
"""The methods by which what was left over and not weighed was a lot as heavy as all of the piece."""
ONE_PRICE = frozenset({"1", "2", "3", "4"})
"""The methods by which a grade had one price in the whole of an answer, for the heaviest part of it."""
ANY_WEIGHT = frozenset({"1", "2", "3", "4"})
"""The methods by which one device of a kind could weigh anything."""
UP_TO_5 = frozenset({"1", "2", "3", "4", "5"})
"""The methods before 6."""
UP_TO_6 = UP_TO_5 | {"6"}
"""The methods before 7."""
