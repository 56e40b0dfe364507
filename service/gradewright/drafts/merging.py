"""JSON Merge Patch (RFC 7396)."""

from __future__ import annotations

from typing import Any


def merged(target: Any, patch: Any) -> Any:
    """The target with the patch applied (RFC 7396, section 2); neither is changed.

    What is not in the patch stays where it stood; what is new comes last; null takes out.
    """
    if not isinstance(patch, dict):
        return patch
    made = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            made.pop(name, None)
        else:
            made[name] = merged(made.get(name), value)
    return made
