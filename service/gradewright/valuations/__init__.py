"""Parts valued: graded, priced, totalled, pinned."""
