"""Benchmarks and their values as entries of the ledger: the benchmark, then its values day by day."""

from __future__ import annotations

from gradewright.benchmarks.models import BenchmarkRow, BenchmarkValueRow
from gradewright.db.entries import Form, Forms

BENCHMARK = Form("benchmark", BenchmarkRow, ("slug", "name", "currency", "unit", "source", "author"))
VALUE = Form("reading", BenchmarkValueRow, ("benchmark", "day", "value", "author"), {"day": "date"})
FORMS: Forms = ((BENCHMARK, 1), (VALUE, 2))
