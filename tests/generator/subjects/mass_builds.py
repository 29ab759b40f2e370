"""Small builds made by hand, so that the tests of mass need no reader."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from buildspec.build import Build
from buildspec.quantities import Quantity, Reading, read, spread_to_si
from buildspec.sections.mass import Condition, Item, Mass, Size
from buildspec.sections.wheels import Wheel, Wheels


def q(dotted: str, text: str, kind: str, spread: str = "", **more: Any) -> Quantity:
    """A quantity as the reader would make it; `spread` is a half-width in the same unit."""
    seen = read(text, kind)
    assert isinstance(seen, Reading), seen
    half = spread_to_si(float(spread), kind, seen.unit) if spread else 0.0
    given: dict[str, Any] = {"basis": "estimated", **more}
    return Quantity(
        id=dotted,
        si=seen.si,
        kind=kind,
        written=text,
        unit=seen.unit,
        half_width=half,
        **given,
    )


def item(
    word: str,
    mass: str,
    at: tuple[str, str, str],
    spread: str = "",
    place: str = "",
    *,
    size: tuple[str, str, str] | None = None,
    **more: Any,
) -> Item:
    """An item; `spread` is that of its mass, `place` that of each coordinate."""
    base = f"mass.items.{word}"
    basis = {"basis": more.pop("basis")} if "basis" in more else {}
    box = (
        Size(**{a: q(f"{base}.size.{a}", s, "length") for a, s in zip("xyz", size, strict=True)})
        if size
        else None
    )
    xyz: dict[str, Any] = {
        a: q(f"{base}.{a}", v, "length", place, **basis) for a, v in zip("xyz", at, strict=True)
    }
    return Item(
        id=word,
        name=more.pop("name", word),
        mass=q(f"{base}.mass", mass, "mass", spread, **basis),
        size=box,
        **xyz,
        **more,
    )


def wheel(
    word: str, x: str, y: str, rated: str = "", radius: str = "", *, spread: str = ""
) -> Wheel:
    """A wheel; `spread` is that of its x and y."""
    base = f"wheels.positions.{word}"
    return Wheel(
        id=word,
        x=q(f"{base}.x", x, "length", spread),
        y=q(f"{base}.y", y, "length", spread),
        radius=q(f"{base}.radius", radius, "length") if radius else None,
        rated_load=q(f"{base}.rated_load", rated, "force") if rated else None,
    )


def fill(condition: str, **shares: str) -> dict[str, Quantity]:
    """How much of the named items is aboard."""
    return {
        name: q(f"mass.conditions.{condition}.fill.{name}", s, "share", stated=True)
        for name, s in shares.items()
    }


def four(rated: str = "1500 lbf", radius: str = "12 in", base: str = "160 in") -> tuple[Wheel, ...]:
    """Four wheels, the rear track wider than the front."""
    return (
        wheel("front_left", "0 in", "-24 in", rated, radius),
        wheel("front_right", "0 in", "24 in", rated, radius),
        wheel("rear_left", base, "-27 in", rated, radius),
        wheel("rear_right", base, "27 in", rated, radius),
    )


def build(mass: Mass, wheels: tuple[Wheel, ...] = (), **sections: object) -> Build:
    """A build of these sections, with the quantities that they hold."""
    held: dict[str, object] = {"mass": mass, **sections}
    if wheels:
        held["wheels"] = Wheels(positions=wheels)
    return Build(held, {x.id: x for x in quantities(held)}, {}, "0" * 64)


def quantities(record: object) -> list[Quantity]:
    """Every quantity in a record, in order."""
    if isinstance(record, Quantity):
        return [record]
    if dataclasses.is_dataclass(record):
        return [x for f in dataclasses.fields(record) for x in quantities(getattr(record, f.name))]
    if isinstance(record, Mapping):
        return [x for v in record.values() for x in quantities(v)]
    if isinstance(record, tuple):
        return [x for v in record for x in quantities(v)]
    return []


def changed(record: Any, dotted: str, by: float) -> Any:
    """A copy of a record with the quantity `dotted` moved by `by` (SI)."""
    if isinstance(record, Quantity):
        return dataclasses.replace(record, si=record.si + by) if record.id == dotted else record
    if dataclasses.is_dataclass(record) and not isinstance(record, type):
        return dataclasses.replace(
            record,
            **{
                f.name: changed(getattr(record, f.name), dotted, by)
                for f in dataclasses.fields(record)
            },
        )
    if isinstance(record, Mapping):
        return {k: changed(v, dotted, by) for k, v in record.items()}
    if isinstance(record, tuple):
        return tuple(changed(v, dotted, by) for v in record)
    return record


START = Condition(id="start_line", title="Start line")


def simple(*items: Item, **more: Any) -> Mass:
    """A mass section with one condition, in which everything is aboard."""
    given: dict[str, Any] = {"conditions": (START,), "design_condition": "start_line", **more}
    return Mass(items=items, **given)
