"""What all samples share."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]
SHA = "0" * 64
