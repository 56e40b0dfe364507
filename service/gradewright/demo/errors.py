"""What stops the demo."""

from __future__ import annotations


class DemoError(Exception):
    """The demo cannot go on; the text says why, and what to do."""
