"""Kinds of device as a version of the rulebook can describe them, and what can hurt whoever opens one."""

from __future__ import annotations

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Typical
from gradewright.core.description import Description
from gradewright.core.rulebook import Caution
from gradewright.rulebooks.service import Version

DEVICE_KIND, ASSEMBLY, WHOLE = "device_kind", "assembly", "whole-device"
"""The observations by which a part can be told as a kind of device, and that it is a whole one."""


def cautions_of(kind: DeviceKind, found: Typical | None, version: Version) -> tuple[Caution, ...]:
    """What can hurt whoever opens such a device, or is governed by law: of the device, of the grade in which
    it is sold whole, and of what comes out of it.
    """
    described = describe_kind(kind, version)
    if described is not None:
        concerning = described.concerning.all
    elif kind.grade is not None and kind.grade in version.rulebook.grades:
        concerning = version.grader.concerning(None, kind.grade).all
    else:
        concerning = ()
    met = {caution.id: caution for caution in concerning}
    # Of what comes out of it those of the grade itself: what a piece of it can be besides is seen then.
    out = {part.grade for part in found.parts} if found else set()
    met.update((c.id, c) for c in version.rulebook.cautions.values() if c.grades & out)
    return tuple(met.values())


def describe_kind(kind: DeviceKind, version: Version) -> Description | None:
    """A kind of device as the rulebook can describe it: by the choice of its name, if there is one."""
    kinds, assemblies = map(version.rulebook.attributes.get, (DEVICE_KIND, ASSEMBLY))
    if kinds is not None and kind.slug in kinds.choices:
        whole = {ASSEMBLY: WHOLE} if assemblies is not None and WHOLE in assemblies.choices else {}
        return version.describe({**whole, DEVICE_KIND: kind.slug})
    if assemblies is not None and kind.slug in assemblies.choices:
        return version.describe({ASSEMBLY: kind.slug})
    return None
