"""Small builds made by hand, so that the tests of egress need no reader."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from buildspec.build import Build
from buildspec.quantities import Quantity, Reading, read, spread_to_si
from buildspec.sections.egress import Activity, Change, Drill, Egress, Limits, Scenario
from generator.evaluation import Evaluation, evaluate
from generator.subjects.egress import SUBJECT
from generator.subjects.egress_records import Detail, Found
from generator.vocabulary import Check

DAY = datetime.date(2027, 3, 1)
UPRIGHT = Scenario(id="upright", title="Upright")


def q(dotted: str, text: str, kind: str = "time", spread: str = "", **more: Any) -> Quantity:
    """A quantity as the reader would make it; `spread` is a half-width in the same unit."""
    seen = read(text, kind)
    assert isinstance(seen, Reading), seen
    half = spread_to_si(float(spread), kind, seen.unit) if spread else 0.0
    return Quantity(
        id=dotted,
        si=seen.si,
        kind=kind,
        written=text,
        unit=seen.unit,
        half_width=half,
        **{"basis": "estimated", **more},
    )


def act(
    name: str, durations: str, after: str = "", at: str = "egress.activities", **more: Any
) -> Activity:
    """An activity: `1 2 4` are three durations in s, `2 ± 0.5` is one with its half-width."""
    waits = tuple(after.split())
    words = {
        "text": name.replace("_", " ").capitalize(),
        "after": waits,
        **_times(f"{at}.{name}", durations),
    }
    return Activity(id=name, **{**words, **more})


def _times(base: str, durations: str) -> dict[str, Quantity]:
    if "±" in durations:
        value, spread = (part.strip() for part in durations.split("±"))
        shape = spread.split()
        more = {"distribution": shape[1]} if len(shape) > 1 else {}
        return {"duration": q(f"{base}.duration", f"{value} s", spread=shape[0], **more)}
    parts = durations.split()
    names = ("optimistic", "likely", "pessimistic") if len(parts) == 3 else ("duration",)
    return {n: q(f"{base}.{n}", f"{p} s") for n, p in zip(names, parts, strict=True)}


def change(scenario: str, number: int, activity: str, durations: str = "", **more: Any) -> Change:
    """The change of one activity in a scenario."""
    base = f"egress.scenarios.{scenario}.change.{number}"
    return Change(activity=activity, **(_times(base, durations) if durations else {}), **more)


def limits(
    required: str = "", protective: str = "", factors: tuple[str, str] = ("1", "1"), **more: Any
) -> Limits:
    """The limits in s and their factors; `more` is said of the protective time."""
    base = "egress.limits"
    return Limits(
        required_time=q(f"{base}.required_time", f"{required} s", stated=True)
        if required
        else None,
        required_factor=q(f"{base}.required_factor", factors[0], "ratio", stated=True),
        protective_time=q(
            f"{base}.protective_time", f"{protective} s", **{"basis": "rated", **more}
        )
        if protective
        else None,
        protective_factor=q(f"{base}.protective_factor", factors[1], "ratio", stated=True),
    )


def drill(
    number: int,
    total: str = "",
    scenario: str = "upright",
    spread: str = "",
    times: Mapping[str, str] | None = None,
    **more: Any,
) -> Drill:
    """A drill, belted and suited unless it says otherwise."""
    base = f"egress.drills.drill_{number}"
    said = {
        "date": datetime.date(2027, 2, number),
        "person": "A. Driver",
        "conditions": ("belted", "suited"),
        **more,
    }
    return Drill(
        id=f"drill_{number}",
        scenario=scenario,
        total=q(f"{base}.total", f"{total} s", spread=spread, basis="measured") if total else None,
        times={
            a: q(f"{base}.times.{a}", f"{t} s", basis="measured") for a, t in (times or {}).items()
        },
        **said,
    )


def build(
    *activities: Activity, scenarios: tuple[Scenario, ...] = (UPRIGHT,), **more: Any
) -> Build:
    """A build of these activities, with the quantities that it holds."""
    section = Egress(activities=activities, scenarios=scenarios, **more)
    return Build({"egress": section}, {x.id: x for x in quantities(section)}, {}, "0" * 64)


def quantities(value: object) -> Iterator[Quantity]:
    """Every quantity anywhere below a record."""
    if isinstance(value, Quantity):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            yield from quantities(getattr(value, field.name))
    elif isinstance(value, tuple | Mapping):
        for below in value.values() if isinstance(value, Mapping) else value:
            yield from quantities(below)


def evaluated(made: Build) -> Evaluation:
    """The evaluation of egress alone."""
    return evaluate(made, as_of=DAY, subjects=(SUBJECT,))


def found(made: Build, scenario: str = "upright") -> Found:
    """What was found of one scenario."""
    detail = evaluated(made).outcomes["egress"].detail
    assert isinstance(detail, Detail)
    return next(one for one in detail.scenarios if one.scenario.id == scenario)


def check(made: Build, limit: str = "required_time", scenario: str = "upright") -> Check:
    """One check."""
    name = f"egress.check.{scenario}.{limit}"
    return next(c for c in evaluated(made).checks if c.id == name)


CHAIN = (act("stop", "1 2 3"), act("belts", "1 2 9", "stop"), act("out", "2 3 4", "belts"))
FORK = (
    act("stop", "1 2 3"),
    act("belts", "2 3 4", "stop"),
    act("canopy", "2 3 4", "stop", by="crew"),
    act("out", "2 3 4", "belts canopy"),
)
