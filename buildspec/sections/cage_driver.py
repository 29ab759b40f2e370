"""What is wrong between a cage and the driver inside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity
from buildspec.sections.cage_lines import Joint
from buildspec.sections.driver import Driver, Helmet, Point

_BEFORE = {"x": "ahead of", "y": "left of", "z": "below"}
_BEYOND = {"x": "behind", "y": "right of", "z": "above"}


def driver_problems(found: Mapping[str, Joint], build: Build) -> Iterator[Diagnostic]:
    """Points of the driver that no joint of the cage reaches around: a slip of a sign or a unit.

    A warning, since a cage may be described that only stands behind the driver.
    """
    driver = build.section(Driver)
    if driver is None or not found:
        return
    for number, axis in enumerate("xyz"):
        along = [joint.at[number] for joint in found.values()]
        for name, point in _seated(driver):
            at: Quantity = getattr(point, axis)
            if min(along) <= at.si <= max(along):
                continue
            side = (_BEFORE if at.si < min(along) else _BEYOND)[axis]
            yield Diagnostic(
                "driver.outside",
                f"{axis} of {name}, {at.written}, lies {side} every joint of the cage",
                build.where(at.id),
                "correct the point or the joints; leave both where the tubes only stand behind the "
                "driver",
                severity="warning",
            )


def _seated(driver: Driver) -> Iterator[tuple[str, Point | Helmet]]:
    """The points of the driver that lie inside a cage."""
    yield "the left shoulder", driver.left_shoulder
    yield "the right shoulder", driver.right_shoulder
    if driver.helmet:
        yield "the helmet", driver.helmet
    if driver.eyes:
        yield "the eyes", driver.eyes
