"""`python -m gradewright_sdk.cli` is `gradewright-client`."""

from __future__ import annotations

from gradewright_sdk.cli import main

main()
