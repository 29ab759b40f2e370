"""The subject `clock`: from the first flame until the driver is clear, against clothing and fire
system.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.sections.clock import Clock
from buildspec.sections.egress import Egress, Scenario
from buildspec.sections.fire import Fire
from generator.checks import make_check, margin_of
from generator.formulas import clock as f
from generator.subjects.clock_chance import chance
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Outcome, Result, WorkedStep
from generator.work import as_result, work

WORD = "clock"


NOT_STATED = "no stopping time is stated"
UNSTOPPED = "how long the vehicle takes to stand is not stated: state `stopping`, or `0 s` to leave a fire at speed out"


@dataclass(frozen=True, slots=True)
class Bar:
    """One scenario in time: the parts of the exposure in s, and the check they end in."""

    title: str
    parts: tuple[tuple[str, float], ...]
    total: float
    check: Check


@dataclass(frozen=True)
class Detail:
    """For the page and the chart."""

    bars: tuple[Bar, ...]
    protective: Result
    credit: Result
    credited: bool
    factor: float
    first: str


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Every scenario of the exit on one clock; None without a section `clock`."""
    section = build.section(Clock)
    if section is None:
        return None
    before = _before(section, given)
    protective = _protective(given)
    credit = _credit(build, given)
    available = _available(section, protective, credit)
    found = [_scenario(s, section, before, available, given) for s in _scenarios(build)]
    bars = tuple(b for _, _, _, b in found if b)
    both = _both_ways(section, found, protective, credit)
    return Outcome(
        WORD,
        results=(
            *before.values(),
            *((protective,) if protective.id.startswith(WORD) else ()),
            credit,
            *(r for r, _ in available),
            *(r for r, _, _, _ in found),
            *both,
        ),
        checks=tuple(c for _, _, c, _ in found),
        steps=(*(s for _, s in available if s), *(s for _, s, _, _ in found if s)),
        cautions=_cautions(),
        assumptions=_assumptions(section),
        open_items=tuple(_open(section, given, (c for _, _, c, _ in found))),
        detail=Detail(
            bars,
            protective,
            credit,
            section.fire_credit,
            section.factor.si,
            _first(protective, credit),
        ),
    )


def _scenarios(build: Build) -> tuple[Scenario, ...]:
    egress = build.section(Egress)
    return egress.scenarios if egress else ()


# ------------------------------------------------------------------------- what passes first


def _before(section: Clock, given: Given) -> Mapping[str, Result]:
    """The longest that each part before the exit takes, by its stated spread."""
    stopping = section.stopping
    return {
        "detection": _longest("detection", section.detection),
        "stopping": _longest("stopping", stopping) if stopping else _stop(given),
        "reaction": _longest("reaction", section.reaction),
    }


def _stop(given: Given) -> Result:
    """How long the vehicle takes to stand with everything working, where the clock states nothing of it."""
    outcome = given.outcomes.get("stopping")
    found = outcome.by_id.get("stopping.case.works.time") if outcome else None
    if found is None or found.value is None:
        return Result(f"{WORD}.stopping", "Stopping", None, "time", absent=UNSTOPPED)
    return Result(
        f"{WORD}.stopping",
        "Stopping: not stated, so the computed stop with everything working",
        found.value,
        "time",
        inputs=found.inputs,
    )


def _longest(name: str, quantity: Quantity) -> Result:
    return Result(
        f"{WORD}.{name}",
        f"{name.capitalize()}: longest by its stated spread",
        quantity.si + quantity.reach,
        "time",
        inputs=(quantity.id,),
    )


def _scenario(
    scenario: Scenario,
    section: Clock,
    before: Mapping[str, Result],
    available: tuple[tuple[Result, WorkedStep | None], ...],
    given: Given,
) -> tuple[Result, WorkedStep | None, Check, Bar | None]:
    """Exposure in one scenario against the time available."""
    exit_ = _exit(scenario, given)
    exposure, step = _exposure(scenario, before, exit_)
    capacity = available[-1][0]
    passed = sum(r.value or 0.0 for r in before.values())
    factor, likely = section.factor.si, None
    exposure = _decided(exposure, before, capacity, factor)
    step = step if exposure.value is not None else None
    if exit_ and exposure.value is not None:
        likely = chance(scenario.id, exit_, capacity, given, before=passed, factor=factor)
    check = make_check(
        f"{WORD}.check.{scenario.id}",
        f"{scenario.title}: out before the protection ends",
        demand=exposure,
        capacity=capacity,
        factor=factor,
        inputs=(*exposure.inputs, *capacity.inputs, section.factor.id),
        sources=(f.exposure_time.source,),
        probability=likely,
        basis_of_verdict=_basis(section),
        ways="a quicker exit, an earlier alarm, or clothing that protects longer where it is weakest",
    )
    if exit_ is None or exit_.value is None or exposure.value is None:
        return exposure, step, check, None
    parts = (*((n, r.value) for n, r in before.items() if r.value), ("exit", exit_.value))
    return exposure, step, check, Bar(scenario.title, parts, exposure.value, check)


def _decided(
    exposure: Result, before: Mapping[str, Result], capacity: Result, factor: float
) -> Result:
    """The exposure; open where the stop's time is not known and what is known does not fall short already."""
    short = (exposure.value or 0.0) * factor > (capacity.value or 0.0)
    if before["stopping"].value is not None or exposure.value is None or short:
        return exposure
    return replace(exposure, value=None, standard_uncertainty=0.0, absent=UNSTOPPED)


def _exposure(
    scenario: Scenario, before: Mapping[str, Result], exit_: Result | None
) -> tuple[Result, WorkedStep | None]:
    """From the first flame until the driver is clear."""
    name = f"{WORD}.scenario.{scenario.id}.exposure"
    title = f"{scenario.title}: from first flame to clear"
    if exit_ is None or exit_.value is None:
        reason = exit_.absent if exit_ else "the exit has not been computed"
        return Result(name, title, None, "time", absent=reason), None
    step = work(
        f.exposure_time,
        name,
        title,
        detection=before["detection"],
        stopping=before["stopping"] if before["stopping"].value is not None else 0.0,
        reaction=before["reaction"],
        egress=exit_,
    )
    inputs = (*(i for r in before.values() for i in r.inputs), *exit_.inputs)
    return as_result(step, exit_.standard_uncertainty, inputs), step


def _basis(section: Clock) -> str:
    credit = f"{'with' if section.fire_credit else 'without'} credit for the fire system"
    standing = "; only for a vehicle that stands when the fire begins" if _left_out(section) else ""
    return f"{credit}{standing}"


def _left_out(section: Clock) -> bool:
    """Whether the team says that the vehicle stands already when a fire begins."""
    return section.stopping is not None and section.stopping.si == 0.0


def _exit(scenario: Scenario, given: Given) -> Result | None:
    """The exit's deciding time: what its own page holds against its limits."""
    egress = given.outcomes.get("egress")
    own = f"egress.check.{scenario.id}."
    found = [c.demand for c in egress.checks if c.id.startswith(own)] if egress else []
    # against one limit the exit may be known to be too long, and against the other not known to be short
    return min(found, key=lambda demand: demand.value is not None, default=None)


# --------------------------------------------------------------------------- what there is


def _protective(given: Given) -> Result:
    gear = given.outcomes.get("gear")
    found = gear.by_id.get("gear.protective_time") if gear else None
    return found or Result(
        f"{WORD}.protective",
        "Protective time of the weakest part",
        None,
        "time",
        absent="the protective equipment is not described: add a section `gear`",
    )


def _credit(build: Build, given: Given) -> Result:
    """How long the agent lasts where people are: the shortest of the occupied zones; nothing where
    one falls short.
    """
    name, title = f"{WORD}.credit", "Time that the agent lasts where the driver is"
    fire, section = given.outcomes.get("fire"), build.section(Fire)
    if fire is None or section is None:
        return Result(name, title, 0.0, "time")
    zones = [z.id for z in section.zones if z.occupied]
    checks = [c for c in fire.checks if c.id.split(".")[2] in zones]
    behind = tuple(dict.fromkeys(i for c in checks for i in c.inputs))
    if any(c.verdict != "holds" for c in checks) or not checks:
        said = f"{title}: none, since a check of the zone does not hold"
        return Result(name, said, 0.0, "time", inputs=behind)
    holds = [
        r
        for z in zones
        for r in fire.results
        if r.id.startswith(f"fire.zone.{z}.") and r.id.endswith(".hold")
    ]
    if not holds or any(r.value is None for r in holds):
        said = f"{title}: none, since no hold time is reckoned"
        return Result(name, said, 0.0, "time", inputs=behind)
    least = min(holds, key=lambda r: r.value or 0.0)
    return Result(
        name,
        title,
        max(least.value or 0.0, 0.0),
        "time",
        least.standard_uncertainty,
        inputs=tuple(dict.fromkeys((*least.inputs, *behind))),
    )


def _available(
    section: Clock, protective: Result, credit: Result
) -> tuple[tuple[Result, WorkedStep | None], ...]:
    """The time available: the clothing's, and the fire system's where it may be credited."""
    name, title = f"{WORD}.available", "Time available"
    if protective.value is None:
        return ((Result(name, title, None, "time", absent=protective.absent), None),)
    counted = (
        credit if section.fire_credit else Result(f"{WORD}.no_credit", "No credit", 0.0, "time")
    )
    step = work(f.available_time, name, title, protective=protective, credit=counted)
    spread = (protective.standard_uncertainty**2 + counted.standard_uncertainty**2) ** 0.5
    return ((as_result(step, spread, (*protective.inputs, *counted.inputs)), step),)


def _both_ways(
    section: Clock,
    found: Iterable[tuple[Result, WorkedStep | None, Check, Bar | None]],
    protective: Result,
    credit: Result,
) -> Iterable[Result]:
    """The margin without and with the fire system, whichever decides."""
    for exposure, _, check, _ in found:
        if protective.value is None or not exposure.value:
            continue
        scenario = check.id.rsplit(".", 1)[-1]
        alone = (*exposure.inputs, *protective.inputs, section.factor.id)
        for word, time, inputs in (
            ("without", protective.value, alone),
            ("with", protective.value + (credit.value or 0.0), (*alone, *credit.inputs)),
        ):
            yield Result(
                f"{WORD}.scenario.{scenario}.margin_{word}_credit",
                f"{check.title}: margin {word} the fire system",
                margin_of(exposure.value, time, section.factor.si),
                "share",
                (check.margin_uncertainty or 0.0)
                if section.fire_credit == (word == "with")
                else 0.0,
                inputs=tuple(dict.fromkeys(inputs)),
            )


def _first(protective: Result, credit: Result) -> str:
    """Which clock runs out first."""
    if protective.value is None:
        return "It is not known which runs out first: the clothing's time is open."
    if not credit.value:
        return "The fire system is credited with nothing; the clothing's time runs out first."
    first = "the fire agent's" if credit.value < protective.value else "the clothing's"
    return f"Of clothing and fire agent, {first} time runs out first."


# ----------------------------------------------------------------------------------- words


def _cautions() -> tuple[Caution, ...]:
    texts = (
        "The times are those of tests and drills. A real fire is hotter or cooler, a real driver "
        "hurt or trapped: a margin here is a reason to go on improving, never one to wait.",
        "Practise without agent and without flame, with somebody beside the vehicle who can cut "
        "the belts.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions(section: Clock) -> tuple[Assumption, ...]:
    found = [
        (
            "from_flame",
            "The clothing is in flame from the first moment.",
            "the worst that can be said without a fire model",
        )
    ]
    if section.stopping is None:
        found.append(
            (
                "stop",
                "A fire begins at speed, and everything that stops the vehicle works.",
                NOT_STATED,
            )
        )
    elif _left_out(section):
        stated = section.stopping.source or "stated as 0 s"
        found.append(("standing", "The vehicle stands when the fire begins.", stated))
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in found)


def _open(section: Clock, given: Given, checks: Iterable[Check]) -> Iterable[OpenItem]:
    if section.stopping is None or _left_out(section):
        known = _stop(given).value is not None
        yield OpenItem(
            f"{WORD}.stopping",
            WORD,
            "missing",
            "A fire at speed: the time until the vehicle stands is left out of the clock"
            if section.stopping
            else "A fire at speed: the time until the vehicle stands is taken from the computed stop"
            if known
            else "A fire at speed: the time until the vehicle stands is not on the clock",
            "state as `stopping` the longest stop that the clothing has to last for",
            () if section.stopping or known else tuple(c.id for c in checks),
        )
    if "egress" not in given.outcomes:
        yield OpenItem(
            f"{WORD}.egress", WORD, "missing", "The exit is not described", "add a section `egress`"
        )


SUBJECT = Subject(
    word=WORD,
    title="The driver's minute",
    purpose="Detection, reaction and exit on one time axis, against the clothing's protective "
    "time, without and with the fire system.",
    group="The driver",
    evaluate=evaluate,
    needs=("egress", "gear", "fire", "stopping"),
)
