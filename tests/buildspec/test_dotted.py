"""Dotted ids that a description names: where they lead, and how bounds are read."""

from __future__ import annotations

import datetime

import pytest

from buildspec.dotted import Lost, find, governing, missing_entry, read_bound, scale_of
from buildspec.quantities import Misread, Quantity
from tests.buildspec.descriptions import build_of

BUILD = """format: 1
vehicle: {name: Wren, class_record: 200 mph}
event: {name: Trials, date: 2027-05-15}
wheels:
  positions:
    - {id: front, x: 0 in, y: 0 in, radius: 12 in}
    - {id: rear, x: 60 in, y: 0 in, radius: 12 in, driven: true}
"""


@pytest.mark.parametrize(
    ("dotted", "scale"),
    [
        ("vehicle.class_record", "speed"),
        ("vehicle.wheel_count", "count"),
        ("vehicle.name", "word"),
        ("event.date", "date"),
        ("wheels.positions", "count"),
        ("wheels.positions.anything.radius", "length"),
        ("wheels.positions.0.driven", "switch"),
        ("mass.conditions.start.fill.fuel", "share"),
        ("vehicle", ""),
    ],
)
def test_the_schema_says_how_a_place_is_compared(dotted: str, scale: str) -> None:
    schema = governing(dotted)
    assert not isinstance(schema, Lost)
    assert scale_of(schema) == scale


@pytest.mark.parametrize(
    ("dotted", "meant"),
    [
        ("vehicle.class_recrd", "vehicle.class_record"),
        ("vehcle.class_record", "vehicle.class_record"),
        ("wheels.position.front.radius", "wheels.positions.front.radius"),
        ("wheels.positions.front.radios", "wheels.positions.front.radius"),
        ("vehicle.class_record.value", "vehicle.class_record"),
        ("", None),
        ("..", None),
        ("zzz", None),
    ],
)
def test_a_path_that_ends_says_what_was_meant(dotted: str, meant: str | None) -> None:
    lost = governing(dotted)
    assert isinstance(lost, Lost)
    assert meant is None or f"`{meant}`" in lost.help


def test_finding_what_stands_at_an_id() -> None:
    sections = build_of(BUILD).sections
    record = find(sections, "vehicle.class_record")
    assert isinstance(record, Quantity)
    assert record.si == pytest.approx(89.408, rel=1e-12)  # 200 mph; a mile is 1609.344 m exactly
    assert find(sections, "event.date") == datetime.date(2027, 5, 15)
    assert find(sections, "wheels.positions.rear.driven") is True
    assert find(sections, "wheels.positions.1.driven") is True
    rows = find(sections, "wheels.positions")
    assert isinstance(rows, tuple)
    assert len(rows) == 2


@pytest.mark.parametrize(
    "dotted",
    [
        "vehicle.target_speed",  # not stated
        "vehicle.summary",  # empty text
        "mass.items",  # no such section here
        "wheels.positions.spare.radius",
        "wheels.positions.7.radius",
        "vehicle.class_record.si",  # inside a value
        "wheels.positions.rear.y.si",
        "",
        "vehicle..name",
    ],
)
def test_nothing_stands_there(dotted: str) -> None:
    assert find(build_of(BUILD).sections, dotted) is None


def test_a_value_that_the_program_supplies_is_not_stated() -> None:
    sections = build_of(
        BUILD + "clock: {detection: 2 s, reaction: 1 s}\n"
    ).sections  # `factor` is supplied
    assert find(sections, "clock.detection") is not None
    assert find(sections, "clock.factor") is None


def test_an_entry_that_a_described_list_lacks() -> None:
    sections = build_of(BUILD).sections
    lost = missing_entry(sections, "wheels.positions.raer.radius")
    assert lost is not None
    assert "`wheels.positions.rear.radius`" in lost.help
    assert missing_entry(sections, "wheels.positions.rear.radius") is None
    assert missing_entry(sections, "mass.items.engine.mass") is None  # nothing is listed there


@pytest.mark.parametrize(
    ("raw", "scale", "bound"),
    [
        ("3 in", "length", 0.0762),
        (2, "ratio", 2.0),
        (2, "count", 2.0),
        (True, "switch", True),
        (618, "word", "618"),
        ("2027-05-15", "date", datetime.date(2027, 5, 15)),
    ],
)
def test_bounds_are_read_by_their_scale(raw: str | int, scale: str, bound: object) -> None:
    read = read_bound(raw, scale)
    assert read == (pytest.approx(bound, rel=1e-12) if isinstance(bound, float) else bound)


@pytest.mark.parametrize(
    ("raw", "scale"),
    [
        ("3 lb", "length"),
        ("3", "length"),
        (True, "length"),
        (True, "count"),
        ("2 in", "count"),
        ("yes", "switch"),
        (1, "switch"),
        ("2027-13-01", "date"),
        (20270515.5, "date"),
        (True, "date"),
    ],
)
def test_bounds_that_cannot_be_compared(raw: str | float, scale: str) -> None:
    assert isinstance(read_bound(raw, scale), Misread)
