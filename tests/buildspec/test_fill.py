"""Records as they are filled: ids, places, bases, what the program supplies, and the digest."""

from __future__ import annotations

import datetime

import pytest

from buildspec.diagnostics import Place
from buildspec.kinds import System
from buildspec.sections.datum import Datum
from buildspec.sections.egress import Egress
from buildspec.sections.mass import Mass
from buildspec.sections.vehicle import Vehicle
from tests.buildspec.descriptions import HEAD, MASS, build_of, reading_of

WHEELS = """wheels:
  positions:
    - {id: front, x: 0 in, y: 0 in}
    - {id: left, x: 90 in, y: -24 in}
    - {id: right, x: 90 in, y: 24 in}
"""
WEIGHING = """  weighings:
    - id: spring
      date: 2026-05-02
      condition: start_line
      scales:
        - {id: a, under: [front], reading: 100 lb}
        - {id: b, under: [left, right], reading: {value: 240 lb, basis: rated}}
"""


def test_ids_follow_the_ids_of_the_entries() -> None:
    build = build_of(HEAD + WHEELS + MASS + WEIGHING)
    assert "mass.items.frame.mass" in build.quantities
    assert "mass.weighings.spring.scales.a.reading" in build.quantities
    assert "wheels.positions.left.y" in build.quantities
    for name, quantity in build.quantities.items():
        assert quantity.id == name
        assert name in build.places


def test_places_of_values_and_records() -> None:
    build = build_of(HEAD + MASS)
    assert build.places["mass.items.frame.mass"] == Place("build.yaml", 5, 38, 6)
    assert build.quantities["mass.items.frame.mass"].place == Place("build.yaml", 5, 38, 6)
    assert build.places["mass.items.frame"] == Place("build.yaml", 5, 7, 58)
    assert build.places["mass.items"] == Place("build.yaml", 4, 3, 5)
    assert build.places["mass"] == Place("build.yaml", 3, 1, 4)
    assert build.place("mass.design_condition") == Place("build.yaml", 8, 21, 10)
    assert build.place("mass.nothing") is None
    assert build.where("mass.items.frame.x", "mass.items") == Place("build.yaml", 5, 49, 5)
    assert build.where("mass.items.frame.none", "mass.items") == Place("build.yaml", 4, 3, 5)
    assert build.where("mass.items.none.x") == Place("build.yaml", 4, 3, 5)
    assert build.where("nothing") == Place("build.yaml")


def test_what_the_program_supplies_says_so() -> None:
    quantity = build_of(HEAD + MASS).quantities["mass.items.frame.y"]
    assert (quantity.si, quantity.basis, quantity.default) == (0.0, "assumed", True)
    assert quantity.source == "no y stated: taken to be on the centre plane"
    assert quantity.place == Place("build.yaml", 5, 7, 58)  # where it would have to be written


def test_a_section_that_always_counts_is_filled_unwritten() -> None:
    build = build_of(HEAD)
    datum = build.section(Datum)
    assert datum is not None
    assert datum.ground.default
    assert list(build.sections) == ["vehicle", "datum"]


@pytest.mark.parametrize(
    ("item", "basis", "given", "source"),
    [
        ("mass: 3 lb", "assumed", False, ""),
        ("mass: {value: 3 lb, source: scale}", "assumed", False, "scale"),
        ("mass: {value: 3 lb, basis: rated}", "rated", True, ""),
        ("mass: 3 lb, basis: measured, source: tape", "measured", True, "tape"),
        ("mass: {value: 3 lb, basis: rated}, basis: measured, source: tape", "rated", True, "tape"),
        ("mass: {value: 3 lb, source: scale}, basis: measured", "measured", True, "scale"),
    ],
)
def test_basis_of_the_value_the_record_or_none(
    item: str, basis: str, given: bool, source: str
) -> None:
    text = HEAD + MASS.replace(
        "  conditions", f"    - {{id: a, name: A, x: 1 in, z: 1 in, {item}}}\n  conditions"
    )
    quantity = build_of(text).quantities["mass.items.a.mass"]
    assert (quantity.basis, quantity.basis_given, quantity.source) == (basis, given, source)


def test_what_a_record_says_holds_for_the_groups_inside_it() -> None:
    text = HEAD + MASS.replace(
        "z: 14 in}", "z: 14 in, size: {x: 1 in, y: 2 in, z: 3 in}, basis: calculated}"
    )
    build = build_of(text)
    assert build.quantities["mass.items.frame.size.x"].basis == "calculated"
    assert build.quantities["mass.items.fuel.x"].basis == "assumed"


def test_a_scale_reading_is_measured_by_what_it_is() -> None:
    build = build_of(HEAD + WHEELS + MASS + WEIGHING)
    first = build.quantities["mass.weighings.spring.scales.a.reading"]
    second = build.quantities["mass.weighings.spring.scales.b.reading"]
    assert (first.basis, first.basis_given) == ("measured", True)
    assert second.basis == "rated"


def test_a_stated_value_is_no_assumption() -> None:
    build = build_of("format: 1\nvehicle: {name: Wren, target_speed: 200 mph}\n")
    assert build.quantities["vehicle.target_speed"].stated
    assert not build_of(HEAD + MASS).quantities["mass.items.frame.mass"].stated


def test_every_type_of_field() -> None:
    egress = """egress:
  activities:
    - {id: stop, text: Stop, duration: 2 s}
    - {id: out, text: Climb out, by: crew, duration: 3 s, after: [stop]}
  scenarios: [{id: upright, title: Upright}]
  drills: [{id: may, date: 2026-05-02, scenario: upright, person: A, times: {stop: 2 s, out: 4 s}}]
  seed: 7
"""
    build = build_of("units: si\n" + HEAD + egress + MASS)
    section = build.section(Egress)
    assert section is not None
    assert section.drills[0].date == datetime.date(2026, 5, 2)
    assert section.activities[1].after == ("stop",)
    assert section.drills[0].times["out"].si == 4.0
    assert (section.seed, section.samples) == (7, 10000)
    assert build.system is System.SI
    mass = build.section(Mass)
    assert mass is not None
    assert (mass.use, mass.items[1].fluid, mass.items[0].maturity) == ("predicted", True, None)
    assert build.section(Vehicle) == Vehicle(name="Wren")


def test_records_cannot_be_changed() -> None:
    mass = build_of(HEAD + MASS).section(Mass)
    with pytest.raises(AttributeError):
        mass.use = "weighed"  # type: ignore[union-attr,misc]


# ------------------------------------------------------------------------------------ digest

SAME = {
    "comments": HEAD + "# a remark\n" + MASS.replace("z: 14 in}", "z: 14 in}  # drawing"),
    "layout": HEAD
    + MASS.replace(
        "- {id: frame, name: Frame, mass: 300 lb, x: 70 in, z: 14 in}",
        "- id: frame\n      z: 14 in\n      x: 70 in\n      name: Frame\n      mass: 300 lb",
    ),
    "order of keys": "vehicle: {name: Wren}\n" + MASS + "format: 1\n",
    "mapping": HEAD + MASS.replace("300 lb", "{value: 300 lb}"),
    "quotes": HEAD.replace("Wren", '"Wren"') + MASS.replace("300 lb", "'300 lb'"),
    "unit": HEAD + MASS.replace("70 in", "1778 mm"),
    "writing": HEAD + MASS.replace("70 in", "70.00 inches"),
    "default written": HEAD + MASS.replace("design", "use: predicted\n  design"),
}
OTHER = {
    "value": HEAD + MASS.replace("300 lb", "300.01 lb"),
    "spread": HEAD + MASS.replace("300 lb", "{value: 300 lb, plus_minus: 1 lb}"),
    "basis": HEAD + MASS.replace("300 lb", "{value: 300 lb, basis: rated}"),
    "source": HEAD + MASS.replace("300 lb", "{value: 300 lb, source: scale}"),
    "name": HEAD + MASS.replace("Frame", "Chassis"),
    "section": HEAD + MASS + "event: {name: Meeting}\n",
    "word": HEAD + MASS.replace("design", "use: weighed\n  design"),
    "distribution": HEAD
    + MASS.replace("300 lb", "{value: 300 lb, plus_minus: 1 lb, distribution: normal}"),
    "coverage": HEAD
    + MASS.replace(
        "300 lb", "{value: 300 lb, plus_minus: 1 lb, distribution: normal, coverage: 3}"
    ),
}


@pytest.mark.parametrize("how", SAME)
def test_the_digest_is_blind_to(how: str) -> None:
    assert build_of(SAME[how]).fingerprint == build_of(HEAD + MASS).fingerprint


def test_the_digest_is_blind_to_the_files_things_stand_in() -> None:
    inner = MASS.removeprefix("mass:\n").replace("\n  ", "\n")[2:]
    table = (
        "id,name,mass [lb],x [in],z [in],fluid\nframe,Frame,300,70,14,\nfuel,Fuel,40,90,12,true\n"
    )
    tabled = "items: items.csv\nconditions: [{id: start_line}]\ndesign_condition: start_line\n"
    whole = build_of(HEAD + MASS).fingerprint
    assert build_of(HEAD, mass_yaml=inner).fingerprint == whole
    assert build_of(HEAD, mass_yaml=tabled, items_csv=table).fingerprint == whole


@pytest.mark.parametrize("how", OTHER)
def test_the_digest_sees_a_change_of(how: str) -> None:
    digests = {name: build_of(text).fingerprint for name, text in OTHER.items()}
    assert digests[how] != build_of(HEAD + MASS).fingerprint
    assert len(set(digests.values())) == len(digests)


def test_a_build_is_there_in_spite_of_a_warning() -> None:
    reading = reading_of(HEAD, mas_yaml="")
    assert [p.severity for p in reading.problems] == ["warning"]
    assert reading.build is not None
    assert reading.texts == {"build.yaml": HEAD}
