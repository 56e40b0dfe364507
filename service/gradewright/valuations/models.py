"""Rows of kept valuations. Only ever added."""

from __future__ import annotations

from gradewright.db.answers import KeptAnswer


class ValuationRow(KeptAnswer):
    """A kept valuation: the request, its pins, and the answer byte for byte."""

    __tablename__ = "valuations"
