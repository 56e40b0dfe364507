"""The demo: an invented district with nine months of prices, and a treadmill valued there."""

from __future__ import annotations

from gradewright.demo.command import app

__all__ = ["app"]
