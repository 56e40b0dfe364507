"""Kinds of device as a version of the rulebook can describe them, and what can hurt whoever opens one."""

from __future__ import annotations

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Typical
from gradewright.core.description import Description
from gradewright.core.rulebook import Caution
from gradewright.rulebooks.service import Version

WHOLE = "whole-device"
"""The choice of `assembly` that says of a device that it is whole."""


def cautions_of(kind: DeviceKind, found: Typical | None, version: Version) -> tuple[Caution, ...]:
    """What can hurt whoever opens such a device, or is governed by law: of the device, of the grade in which
    it is sold whole, and of what comes out of it.
    """
    met: dict[str, Caution] = {}
    described = describe_kind(kind, version)
    if described is not None:
        met.update((caution.id, caution) for caution in described.cautions)
    grades = [kind.grade] if kind.grade is not None and described is None else []
    grades += [part.grade for part in found.parts] if found else []
    for grade in grades:
        if grade in version.rulebook.grades:
            met.update((caution.id, caution) for caution in version.grader.cautions(None, grade))
    return tuple(met.values())


def describe_kind(kind: DeviceKind, version: Version) -> Description | None:
    """A kind of device as the rulebook can describe it: by the choice of its name, if there is one."""
    kinds, assemblies = (version.rulebook.attributes.get(name) for name in ("device_kind", "assembly"))
    if kinds is not None and kind.slug in kinds.choices:
        whole = {"assembly": WHOLE} if assemblies is not None and WHOLE in assemblies.choices else {}
        return version.describe({**whole, "device_kind": kind.slug})
    if assemblies is not None and kind.slug in assemblies.choices:
        return version.describe({"assembly": kind.slug})
    return None
