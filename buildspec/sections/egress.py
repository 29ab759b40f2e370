"""The section `egress`: what the driver and crew do from the stop until the driver is clear."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, listed, quoted
from buildspec.graphs import circle_problem, find_circle
from buildspec.plain import spoken
from buildspec.quantities import Basis, Quantity

DRESS = ("belted", "suited")
"""The conditions that a drill must name, word for word, to stand for the real exit: a longer
phrase may as well say the opposite (`belts off`, `not suited`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """One thing someone does. Either three durations, or one `duration` with its spread."""

    id: str
    text: str
    by: str = "driver"
    optimistic: Quantity | None = None
    likely: Quantity | None = None
    pessimistic: Quantity | None = None
    duration: Quantity | None = None
    after: tuple[str, ...] = ()
    basis: Basis | None = None
    source: str = ""

    @property
    def short(self) -> str:
        """A word or two for it where its text is too long: its id as it is read."""
        return spoken(self.id)

    @property
    def waits_for(self) -> tuple[str, ...]:
        """What it comes after, each in a word or two."""
        return tuple(spoken(name) for name in self.after)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a scenario changes of an activity; what is not given stays."""

    activity: str
    text: str = ""
    by: str = ""
    optimistic: Quantity | None = None
    likely: Quantity | None = None
    pessimistic: Quantity | None = None
    duration: Quantity | None = None
    after: tuple[str, ...] | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One way it happens. An activity that waits for a dropped one waits for that one's `after`."""

    id: str
    title: str
    text: str = ""
    drop: tuple[str, ...] = ()
    change: tuple[Change, ...] = ()
    add: tuple[Activity, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The times the exit must fit, with the factor asked of each."""

    required_time: Quantity | None = None
    required_factor: Quantity
    protective_time: Quantity | None = None
    protective_factor: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """One timed exit. `times` are per activity, where a stopwatch or film gave them."""

    id: str
    date: datetime.date
    scenario: str
    person: str
    total: Quantity | None = None
    times: Mapping[str, Quantity] = field(default_factory=dict)
    conditions: tuple[str, ...] = ()
    remark: str = ""

    @property
    def name(self) -> str:
        """Its id as it is read, the word drill before it."""
        said = spoken(self.id)
        return said if said.startswith("drill") else f"drill {said}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Egress:
    """The section as a whole. `samples` and `seed` govern the sampling of the budget."""

    activities: tuple[Activity, ...]
    scenarios: tuple[Scenario, ...]
    limits: Limits | None = None
    drills: tuple[Drill, ...] = ()
    samples: int = 10000
    seed: int = 1


def activities_of(egress: Egress, scenario: Scenario) -> tuple[Activity, ...]:
    """The activities of one scenario: the base less the dropped, changed, plus the added.

    What waits for a dropped activity waits for that one's own `after` instead, and so on. An
    added activity may take the id of a dropped one; then it stands in its place.
    """
    added = {a.id for a in scenario.add}
    kept = [a for a in egress.activities if a.id not in scenario.drop]
    gone = {a.id: a.after for a in egress.activities if a.id in scenario.drop and a.id not in added}
    changes = {c.activity: c for c in scenario.change}
    mine = (*(_changed(a, changes.get(a.id)) for a in kept), *scenario.add)
    return tuple(replace(a, after=_waits(a.after, gone)) for a in mine)


def _waits(after: tuple[str, ...], gone: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """`after` with every dropped activity exchanged for what that one waited for."""
    found: dict[str, None] = {}
    seen: set[str] = set()
    queue = list(after)
    while queue:
        name = queue.pop(0)
        if name in seen:
            continue
        seen.add(name)
        if name in gone:
            queue.extend(gone[name])
        else:
            found[name] = None
    return tuple(found)


def _changed(activity: Activity, change: Change | None) -> Activity:
    """The activity with what the change gives. One `duration` displaces the three, and they it."""
    if change is None:
        return activity
    given = {f.name: getattr(change, f.name) for f in fields(change) if f.name != "activity"}
    given = {name: value for name, value in given.items() if value is not None and value != ""}
    three = dict.fromkeys(("optimistic", "likely", "pessimistic"))
    if "duration" in given:
        given = {**three, **given}
    elif three.keys() & given.keys():
        given = {"duration": None, **given}
    return replace(activity, **given)


# --------------------------------------------------------- what the schema alone cannot say

_THREE = ("optimistic", "likely", "pessimistic")
_FORM = "give `optimistic`, `likely` and `pessimistic`, or one `duration`"


def problems(section: Egress, build: Build) -> Iterator[Diagnostic]:
    """Durations that do not fit together, and scenarios whose activities do not."""
    for activity in section.activities:
        yield from _duration_problems(activity, f"egress.activities.{activity.id}", build)
    for scenario in section.scenarios:
        yield from _scenario_problems(section, scenario, build)
    for drill in section.drills:
        yield from _drill_problems(section, drill, build)


def _duration_problems(activity: Activity, name: str, build: Build) -> Iterator[Diagnostic]:
    """One activity has three durations in order, or one."""
    three = [getattr(activity, word) for word in _THREE]
    given = [word for word, value in zip(_THREE, three, strict=True) if value is not None]
    place = build.where(f"{name}.id", f"{name}.activity", name)
    if activity.duration is not None and given:
        yield Diagnostic(
            "egress.durations",
            f"{quoted(activity.id)} has a `duration` and also {listed(given)}",
            build.where(f"{name}.duration", name),
            _FORM,
        )
    elif activity.duration is None and len(given) < len(_THREE):
        lacking = [word for word in _THREE if word not in given]
        said = f"has no {listed(lacking)}" if given else "has no durations"
        yield Diagnostic("egress.durations", f"{quoted(activity.id)} {said}", place, _FORM)
    elif given:
        yield from _order_problems(activity.id, name, three, build)


def _order_problems(
    activity: str, name: str, three: list[Quantity], build: Build
) -> Iterator[Diagnostic]:
    for (low, first), (high, then) in zip(
        zip(_THREE, three, strict=True), list(zip(_THREE, three, strict=True))[1:], strict=False
    ):
        if first.si > then.si:
            yield Diagnostic(
                "egress.order",
                f"the {high} duration of {quoted(activity)}, {then.written}, is less than the "
                f"{low} one, {first.written}",
                build.where(then.id, f"{name}.{low}", name),
                "they must not fall: optimistic, likely, pessimistic",
            )


# -- scenarios


def _scenario_problems(section: Egress, scenario: Scenario, build: Build) -> Iterator[Diagnostic]:
    name = f"egress.scenarios.{scenario.id}"
    kept = {a.id: a for a in activities_of(section, scenario)}
    if not kept:
        yield Diagnostic(
            "egress.empty",
            f"nothing is left to do in the scenario {quoted(scenario.id)}",
            build.where(f"{name}.drop", name),
            "drop fewer activities, or add some",
        )
    own = {a.id for a in scenario.add}
    for activity in section.activities:
        if activity.id in own and activity.id not in scenario.drop:
            yield Diagnostic(
                "egress.added",
                f"{quoted(activity.id)} is added, and is an activity already",
                build.where(f"{name}.add.{activity.id}.id"),
                "change it under `change`, or give the added one another id",
            )
    yield from _change_problems(section, scenario, kept, build)
    for added in scenario.add:
        yield from _duration_problems(added, f"{name}.add.{added.id}", build)
    yield from _network_problems(section, scenario, kept, build)


def _change_problems(
    section: Egress, scenario: Scenario, kept: Mapping[str, Activity], build: Build
) -> Iterator[Diagnostic]:
    for number, change in enumerate(scenario.change):
        name = f"egress.scenarios.{scenario.id}.change.{number}"
        if change.activity in scenario.drop:
            yield Diagnostic(
                "egress.dropped",
                f"{quoted(change.activity)} is changed, and is dropped in the same scenario",
                build.where(f"{name}.activity"),
                "take it out of `drop` or out of `change`",
            )
        elif change.activity in kept:
            yield from _duration_problems(kept[change.activity], name, build)


def _network_problems(
    section: Egress, scenario: Scenario, kept: Mapping[str, Activity], build: Build
) -> Iterator[Diagnostic]:
    """Every name that is waited for is known here, and nothing waits for itself."""
    known = {*kept, *(a.id for a in section.activities)}
    strange = False
    for name, after in _waiting(scenario):
        for number, waited in enumerate(after):
            if waited not in known:
                strange = True
                yield Diagnostic(
                    "egress.unknown",
                    f"{quoted(waited)} is no activity of the scenario {quoted(scenario.id)}",
                    build.where(f"{name}.after.{number}", f"{name}.after"),
                    f"another scenario adds it; here there are {listed(sorted(known))}",
                )
    circle = [] if strange else find_circle({a.id: a.after for a in kept.values()})
    if circle:
        spots = [f"{name}.after" for name, _ in _waiting(scenario)]
        yield circle_problem(
            circle, "after", build.where(*spots, f"egress.scenarios.{scenario.id}")
        )


def _waiting(scenario: Scenario) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The ids of what a scenario changes or adds, with the names each waits for."""
    name = f"egress.scenarios.{scenario.id}"
    for number, change in enumerate(scenario.change):
        if change.after is not None:
            yield f"{name}.change.{number}", change.after
    for added in scenario.add:
        yield f"{name}.add.{added.id}", added.after


_NOT = frozenset({"not", "no", "without", "nor", "neither", "off", "half", "but"})
"""Words that turn a condition into its opposite, or into part of it."""


def _drill_problems(section: Egress, drill: Drill, build: Build) -> Iterator[Diagnostic]:
    """A drill times only what its scenario has, and says in plain words what it was done in."""
    scenario = next(s for s in section.scenarios if s.id == drill.scenario)
    known = {a.id for a in activities_of(section, scenario)}
    for name in drill.times:
        if name not in known:
            yield Diagnostic(
                "egress.unknown",
                f"{quoted(name)} is no activity of the scenario {quoted(drill.scenario)}",
                build.where(f"egress.drills.{drill.id}.times.{name}"),
                f"times can be given for {listed(sorted(known))}",
            )
    for number, said in enumerate(drill.conditions):
        words = re.findall(r"[a-z]+", said.casefold())
        meant = [word for word in DRESS if word in words]
        if meant and len(words) > 1 and not _NOT.intersection(words):
            yield Diagnostic(
                "egress.conditions",
                f"{quoted(said)} is not read as {' and '.join(quoted(word) for word in meant)}",
                build.where(f"egress.drills.{drill.id}.conditions.{number}"),
                f"write each as an entry of its own: `[{', '.join(meant)}]`",
                severity="warning",
            )
