"""Whether a line applies to this vehicle, and if not, why."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.dotted import Bound, find, read_bound
from buildspec.plain import called
from buildspec.quantities import Misread
from buildspec.sections.rules import Condition, Line, Plain
from generator.rules.comparing import described, less, same, words
from generator.rules.world import World


@dataclass(frozen=True, slots=True)
class Applies:
    """`holds` is None where it cannot be said; `reason` says why it does not apply or is not known."""

    holds: bool | None
    reason: str = ""


def applies(line: Line, world: World) -> Applies:
    """Whether every condition of a line is true. One that is false decides, also beside unknown ones."""
    found = [_condition(c, world) for c in line.applies]
    false = next((f for f in found if f.holds is False), None)
    unknown = [f.reason for f in found if f.holds is None]
    return false or (Applies(None, "; ".join(unknown)) if unknown else Applies(True))


def _condition(condition: Condition, world: World) -> Applies:
    told = _told(condition, world)
    if told.holds is False and condition.otherwise:
        return Applies(False, condition.otherwise)
    return told


def _told(condition: Condition, world: World) -> Applies:
    if condition.fitted:
        return _fitted(condition.fitted, True, world)
    if condition.not_fitted:
        return _fitted(condition.not_fitted, False, world)
    if condition.has:
        there = find(world.build.sections, condition.has) is not None
        return Applies(there, "" if there else f"{condition.has} is not described")
    if condition.has_no:
        there = find(world.build.sections, condition.has_no) is not None
        return Applies(not there, f"{condition.has_no} is described" if there else "")
    return _value(condition, world)


def _fitted(name: str, wanted: bool, world: World) -> Applies:
    equipment = world.equipment(name)
    title = called(equipment)
    if equipment.fitted is None:
        return Applies(None, f"rules.equipment.{name} does not say whether it is fitted")
    said = f"no {title}" if wanted else f"fitted: {title}"
    return Applies(equipment.fitted is wanted, "" if equipment.fitted is wanted else said)


def _value(condition: Condition, world: World) -> Applies:
    found = described(condition.value, world)
    if found.value is None:
        return Applies(None, found.absent)
    key, bounds = _bound(condition)
    read = [read_bound(b, found.scale) for b in bounds]
    faults = [r.message for r in read if isinstance(r, Misread)]
    if faults:  # the reader says so first; here for records made by hand
        return Applies(None, "; ".join(faults))
    sound = [r for r in read if not isinstance(r, Misread)]
    if _true(key, found.value, sound):
        return Applies(True)
    if found.doubt:  # a line is never left out on the strength of what nobody measured
        return Applies(
            None, f"{condition.value} is {found.said}; whether the line applies hangs on it"
        )
    return Applies(False, f"{condition.value} is {found.said}, not {words({key: bounds})}")


def _bound(condition: Condition) -> tuple[str, tuple[Plain, ...]]:
    for key in ("over", "under", "equal"):
        bound = getattr(condition, key)
        if bound is not None:
            return key, (bound,)
    return "one_of", condition.one_of


def _true(key: str, value: Bound, bounds: list[Bound]) -> bool:
    """`over` and `under` are strict: a value at the bound is neither."""
    if key == "over":
        return less(bounds[0], value)
    if key == "under":
        return less(value, bounds[0])
    return any(same(value, b) for b in bounds)
