"""The operator's commands on regions, and on their house rules, which are said like those of yards."""

from __future__ import annotations

from gradewright.regions.cli import app
from gradewright.yards.house_cli import rules

__all__ = ["app"]

rules(app, "region")
