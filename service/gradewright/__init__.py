"""Gradewright: what a taken-apart find is worth, by local prices and a published rulebook."""

from __future__ import annotations

__version__ = "0.1.0"
