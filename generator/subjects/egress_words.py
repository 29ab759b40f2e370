"""What the subject `egress` has to say in words: cautions, open items, assumptions, hazards."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

import numpy as np

from buildspec.kinds import System
from buildspec.plain import spoken
from buildspec.quantities import show
from buildspec.sections.egress import Activity, Drill
from generator.formulas import egress as f
from generator.subjects.egress_budget import WORD, Case, side_by_side, spread_of
from generator.subjects.egress_drills import NEEDED
from generator.subjects.egress_records import Compared, Limit, Timed
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Result

OWN = "the program's choice"
PAIRS_SHOWN = 6
ONE_BY_ONE = (
    "write one after the other with `after`; where they are done by different hands or people, say so under "
    "`by`: `left hand`, `crew`"
)
A_YEAR = 366
"""Days after which drills may speak of another driver, other clothing, another vehicle."""

HAZARDS: tuple[tuple[str, str], ...] = (
    (
        "alone",
        "Never practise alone. One person watches the driver and does nothing else; everyone "
        "present may stop the drill with one agreed word or signal.",
    ),
    (
        "safe",
        "Before anyone gets in: engine unable to start, fuel shut off, battery disconnected, fire "
        "system and parachute releases pinned, wheels chocked. Undo all of it from a written list "
        "afterwards, so that nothing stays disarmed for the run.",
    ),
    (
        "heat",
        "A person in a closed suit and helmet overheats within minutes. Keep drills short, in the "
        "shade and out of the day's heat; between them water, and rest with the suit open.",
    ),
    (
        "stop",
        "Stop at once at dizziness, headache, nausea, confusion, chest pain or trouble breathing: "
        "open the suit, cool the person, get medical help. There is no further drill that day.",
    ),
    (
        "belts",
        "Begin slowly and without the suit; add belts, head restraint, gloves, helmet and darkness "
        "one at a time. Keep a belt cutter within the spotter's reach.",
    ),
    (
        "spotter",
        "A spotter stands where the driver comes out, ready to break a fall; the ground there is "
        "clear and padded.",
    ),
    (
        "side",
        "An exit on the side or upside down needs a fixture made to hold the vehicle, or a mock-up, "
        "with a person in it. Releasing the belts drops whoever hangs in them: take the weight "
        "first.",
    ),
    ("fire", "Never use fire, smoke or a discharging extinguisher on an occupied cockpit."),
    (
        "protection",
        "A protective time holds for the exposure of the test that rated it, in clothing that is "
        "dry, undamaged, complete, and worn over the underwear it was rated with. A real fire may "
        "be hotter.",
    ),
    (
        "rules",
        "The rulebook in force and its officials decide which exit must be shown and how fast; "
        "local law and trained rescue crews come before anything here.",
    ),
)


def hazards() -> tuple[Caution, ...]:
    """The usual cautions of practising an exit."""
    begin = f"{WORD}.caution"
    return tuple(Caution(f"{begin}.{name}", text, WORD, hazard=True) for name, text in HAZARDS)


# -------------------------------------------------------------------------------- cautions


def drill_cautions(
    case: Case, drills: Iterable[Timed], limits: Iterable[Limit], as_of: datetime.date
) -> Iterable[Caution]:
    """Cautions about single drills."""
    known = tuple(limits)
    for each in drills:
        drill = each.drill
        name, ref = f"{WORD}.drill.{drill.id}", f"{WORD}.drills.{drill.id}"
        for limit in known:
            if limit.title in each.exceeds:
                yield Caution(
                    f"{name}.{limit.word}",
                    f"{drill.name.capitalize()} took longer than the {limit.title}.",
                    WORD,
                    ref=ref,
                )
        if drill.date > as_of:
            yield Caution(
                f"{name}.date",
                f"{drill.name.capitalize()} is dated after the day of this evaluation.",
                WORD,
                ref=ref,
            )
        if slow := [a.short for a in case.activities if _slower(a, drill)]:
            yield Caution(
                f"{name}.times",
                f"In {drill.name} these took longer than the "
                f"longest the budget allows for: {', '.join(slow)}.",
                WORD,
                ref=ref,
            )


def limit_cautions(limits: Iterable[Limit]) -> Iterable[Caution]:
    """That a stated limit is not the one that counts."""
    for limit in limits:
        if limit.unused is not None:
            yield Caution(
                f"{WORD}.{limit.word}.unused",
                f"The {limit.title} stated among the limits is not used: that of the described "
                "equipment takes its place.",
                WORD,
                ref=limit.unused.id,
            )


def _slower(activity: Activity, drill: Drill) -> bool:
    """Whether the activity took longer in the drill than the budget's longest duration."""
    taken, spread = drill.times.get(activity.id), spread_of(activity)
    return taken is not None and spread.shape != "normal" and taken.si > spread.high


def set_cautions(case: Case, found: Compared) -> Iterable[Caution]:
    """Cautions about the drills of a scenario as a set."""
    if bare := [f"{n} not recorded as {word}" for word, n in found.undressed.items() if n]:
        drills = "drill" if found.count == 1 else "drills"
        yield Caution(
            f"{case.id}.dress",
            f"{case.scenario.title}: of {found.count} timed "
            f"{drills}, {' and '.join(bare)}. Times taken without are too short to stand "
            "for the real exit; they do not count towards the three that may decide.",
            WORD,
            ref=case.id,
        )
    if found.persons > 1:
        yield Caution(
            f"{case.id}.persons",
            f"{case.scenario.title}: the drills are by "
            f"{found.persons} persons. Their bound speaks for that mixture and for no "
            "single one of them.",
            WORD,
            ref=case.id,
        )


def budget_cautions(case: Case, p95: Result, bound: Result | None) -> Iterable[Caution]:
    """Cautions about the budget of a scenario."""
    title = case.scenario.title
    if bound is not None and p95.value and bound.value and p95.value > bound.value:
        yield Caution(
            f"{case.id}.budget_longer",
            f"{title}: the drills decide, and the 95th "
            "percentile of the budget is longer than their bound. Find out which of the "
            "two is wrong.",
            WORD,
            ref=case.id,
        )
    if cut := [a.short for a in case.activities if _below_zero(a)]:
        yield Caution(
            f"{case.id}.below_zero",
            f"{title}: the stated spread of {', '.join(cut)} "
            "reaches below zero. The sampling cuts it off at zero; the classical method "
            "does not.",
            WORD,
            ref=case.id,
        )
    if bound is not None and (said := overlapping(case)):
        yield Caution(
            f"{case.id}.side_by_side",
            f"{title}: {said}. The drills decide; for one pair of hands the budget beside them is too short.",
            WORD,
            ref=case.id,
        )


def overlapping(case: Case) -> str:
    """What the budget lets one person do at the same time, "" where there is no such thing."""
    pairs = side_by_side(case)
    if not pairs:
        return ""
    said = "; ".join(f"{spoken(a)} and {spoken(b)}" for a, b in pairs[:PAIRS_SHOWN])
    more = f"; and {len(pairs) - PAIRS_SHOWN} more pairs" if len(pairs) > PAIRS_SHOWN else ""
    return f"the budget lets the same person do these at the same time: {said}{more}"


def _below_zero(activity: Activity) -> bool:
    spread = spread_of(activity)
    return spread.shape in {"rectangular", "triangular", "normal"} and spread.low < 0.0


# ------------------------------------------------------------------------------ open items


def open_items(
    case: Case, drills: Iterable[Timed], found: Compared, checks: Iterable[Check]
) -> Iterable[OpenItem]:
    """What the drills of a scenario leave open."""
    title, blocks = case.scenario.title, tuple(c.id for c in checks)
    if found.trusted < NEEDED:
        yield _lacking(case, found, blocks)
    yield from (_refused(title, each, blocks) for each in drills if each.refused)
    if any(found.undressed.values()):
        yield OpenItem(
            f"{case.id}.dressed",
            WORD,
            "measurement",
            f"{title}: not every drill is recorded as belted and suited",
            "repeat those belted and suited, or record that they were",
            blocks,
            case.id,
        )
    if found.optimistic:
        yield OpenItem(
            f"{case.id}.optimistic",
            WORD,
            "disagreement",
            f"{title}: the budget looks too hopeful beside the drills: of "
            f"{found.count}, {found.above_p50} took longer than its median and "
            f"{found.above_p95} longer than its 95th percentile",
            "bring the durations in line with what the drills showed",
            blocks,
            case.id,
        )


def doubts(
    case: Case,
    bound: Result | None,
    as_of: datetime.date,
    trusted: tuple[Timed, ...],
    checks: Iterable[Check],
) -> Iterable[OpenItem]:
    """Why drills that decide may speak of another exit than this one: too quick, or long ago."""
    if bound is None or bound.value is None:
        return
    title, blocks = case.scenario.title, tuple(c.id for c in checks)
    median = float(np.median(case.sampled.finish))
    if bound.value < median:
        yield OpenItem(
            f"{case.id}.quick",
            WORD,
            "disagreement",
            f"{title}: the drills decide, and their bound of {_time(bound.value)} is below the budget's "
            f"median of {_time(median)}: one of the two is not of this exit",
            "repeat the drills with the driver in full gear in the vehicle as it is, or bring the "
            "durations in line with them",
            blocks,
            case.id,
        )
    last = max(t.drill.date for t in trusted)
    if (as_of - last).days > A_YEAR:
        yield OpenItem(
            f"{case.id}.old",
            WORD,
            "measurement",
            f"{title}: the drills decide, and the latest is of {last.isoformat()}, more than a year ago",
            "time the exit again with the driver, the clothing and the vehicle as they are now",
            blocks,
            case.id,
        )


def _time(seconds: float) -> str:
    return str(show(seconds, "time", System.US, figures=3))  # seconds in both systems


def _lacking(case: Case, found: Compared, blocks: tuple[str, ...]) -> OpenItem:
    missing = NEEDED - found.trusted
    return OpenItem(
        f"{case.id}.drills",
        WORD,
        "measurement",
        f"{case.scenario.title}: {missing} more timed drill{'s are' if missing > 1 else ' is'} "
        f"missing (recorded as belted and suited: {found.trusted})",
        "time the exit in this scenario, belted and suited, until there are "
        f"{NEEDED} drills; then they decide",
        blocks,
        case.id,
    )


def _refused(title: str, each: Timed, blocks: tuple[str, ...]) -> OpenItem:
    return OpenItem(
        f"{WORD}.drill.{each.drill.id}.refused",
        WORD,
        "measurement",
        f"{title}: {each.drill.name} does not count: {each.refused}",
        "write the day on which it was done, or evaluate again after that day"
        if each.early
        else "give its total, or the times of these activities",
        blocks,
        f"{WORD}.drills.{each.drill.id}",
    )


# ----------------------------------------------------------------------------- assumptions


def case_assumptions(case: Case, decided_by_drills: bool) -> Iterable[Assumption]:
    """What the verdicts of one scenario rest on."""
    if decided_by_drills:
        yield Assumption(
            f"{case.id}.assumption.normal",
            f"{case.scenario.title}: the drills, past "
            "and next, come from one normal population and do not influence each "
            "other.",
            WORD,
            f.PREDICTION,
        )


RESTS: tuple[tuple[str, str, str], ...] = (
    (
        "percentile",
        "A budget is judged by the 95th percentile of the sampled exit, drills by a bound of 95 % "
        "confidence.",
        OWN,
    ),
    (
        "independent",
        "The durations of different activities are drawn independently. Where one cause slows "
        "several at once, the truth lies between that and the P95 of all running slow together.",
        OWN,
    ),
    (
        "beta",
        "Three durations are read as a beta distribution from optimistic to pessimistic; nothing "
        "outside is ever drawn.",
        f.BETA,
    ),
    (
        "clock",
        "Both limits run from the first activity on. A fire that began before has already used "
        "part of the protective time.",
        OWN,
    ),
)


def general_assumptions(limits: Iterable[Limit]) -> Iterable[Assumption]:
    """What every verdict of the subject rests on."""
    begin = f"{WORD}.assumption"
    for word, text, source in RESTS:
        yield Assumption(f"{begin}.{word}", text, WORD, source)
    for limit in limits:
        yield from _limit_assumptions(begin, limit)


def _limit_assumptions(begin: str, limit: Limit) -> Iterable[Assumption]:
    q = limit.quantity
    if limit.factor is None and limit.capacity.value is not None:
        yield Assumption(
            f"{begin}.{limit.word}_factor",
            f"No factor on the {limit.title} is stated: the time is taken as it stands, with a "
            "factor of one.",
            WORD,
            OWN,
        )
    guessed = q is not None and q.basis in {"estimated", "calculated"}
    if limit.word == "protective_time" and q is not None and guessed:
        yield Assumption(
            f"{begin}.protective_time",
            "The protective time is neither measured nor rated by the maker of the clothing.",
            WORD,
            q.source,
            q,
        )
