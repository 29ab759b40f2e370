"""What `check` prints: the verdicts, and what is most urgent, as plain text."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.diagnostics import harmless
from buildspec.kinds import System
from buildspec.quantities import both, digits
from buildspec.sections.vehicle import Vehicle
from generator.evaluation import Evaluation
from generator.ranking import BEYOND, VAST, margin_percent, ranked
from generator.results import count
from generator.vocabulary import Check, OpenItem, Requirement, Result, once

MOST_URGENT = 10


def report(evaluation: Evaluation) -> str:
    """The evaluation in a screen of text: checks with margins, then the most urgent open items."""
    vehicle = evaluation.build.section(Vehicle)
    name = harmless(vehicle.name) if vehicle else "this build"
    lines = [f"{name}, as of {evaluation.as_of}: {_tally(evaluation.checks)}", ""]
    lines += _check_lines(evaluation.checks, evaluation.build.system)
    lines += _departures(evaluation)
    lines += _signed_lines(evaluation)
    lines += ["", *_work_lines(evaluation), *_open_lines(evaluation.open_items)]
    lines += [
        f"{_counted(len(evaluation.assumptions), 'assumption')}, "
        f"{_counted(len(evaluation.cautions), 'caution')}; `build` writes the pages that show them.",
        "This supports judgement; it replaces neither the rulebook in force, nor inspection, "
        "nor a licensed engineer.",
    ]
    return "\n".join(lines) + "\n"


def _departures(evaluation: Evaluation) -> list[str]:
    """What departs, then how many lines are in each state: apart from the margins, and ours apart."""
    rules, system = once(evaluation.requirements), evaluation.build.system
    lines = [
        f"departs  {r.id}: {harmless(r.title)}: {harmless(r.why)}{_found(r, system)}"
        for r in rules
        if r.state == "departs"
    ]
    said = (
        ("Prescriptions", [r for r in rules if not r.ours]),
        ("The team's own", [r for r in rules if r.ours]),
    )
    counts = [f"{title}: {_states(own)}" for title, own in said if own]
    return [*lines, "", *counts] if counts else lines


def _states(rules: Iterable[Requirement]) -> str:
    states = [r.state for r in rules]
    words = {
        "departs": "depart",
        "open": "open",
        "waived": "waived",
        "conforms": "conform",
        "not applicable": "not applicable",
    }
    return ", ".join(f"{states.count(s)} {w}" for s, w in words.items() if s in states)


def _found(rule: Requirement, system: System) -> str:
    """The figure behind a departure, where the program computed it."""
    if not isinstance(rule.found, Result) or rule.found.value is None:
        return ""
    return f"; found {both(rule.found.value, rule.found.kind, system)}"


def margin_text(check: Check) -> str:
    """The margin as a percentage with its standard uncertainty, or why there is none."""
    if check.margin is None:
        return check.reason
    if check.margin > VAST:
        return BEYOND
    number, around = margin_percent(check.margin, check.margin_uncertainty)
    return f"{number} ± {around} %" if around else f"{number} %"


def _tally(checks: tuple[Check, ...]) -> str:
    if not checks:
        return "nothing to check yet"
    said = [
        f"{count(v, checks)} {w}"
        for v, w in (("holds", "hold"), ("short", "short"), ("open", "open"))
        if count(v, checks)
    ]
    return f"{_counted(len(checks), 'check')}: {', '.join(said)}"


def _check_lines(checks: tuple[Check, ...], system: System) -> list[str]:
    width = max((len(c.id) for c in checks), default=0)
    return [f"{c.verdict:5}  {c.id:{width}}  {_against(c, system)}" for c in ranked(checks)]


def _against(check: Check, system: System) -> str:
    """Demand, capacity and margin of one check."""
    if check.margin is None or check.demand.value is None or check.capacity.value is None:
        return harmless(f"{check.title}: {check.reason}")
    demand = both(check.demand.value, check.kind, system)
    capacity = both(check.capacity.value, check.kind, system)
    factor = "" if check.factor == 1.0 else f", factor {digits(check.factor)}"
    return (
        f"{harmless(check.title)}: {demand} against {capacity}{factor}; margin {margin_text(check)}"
    )


def _work_lines(evaluation: Evaluation) -> Iterable[str]:
    """Hours of work left and the days to spare, where a rule sheet lists steps."""
    known = evaluation.outcomes["plan"].by_id if "plan" in evaluation.outcomes else {}
    left, spare = known.get("plan.hours_left"), known.get("plan.float")
    if not left or not left.value or not spare:
        return
    hours = f"{left.value / 3600.0:g} h of work left"
    if spare.value is None:
        yield f"{hours}; {spare.absent}"
    else:
        days = _counted(int(abs(spare.value) // 86400), "day")
        late = spare.value < 0.0
        yield f"{hours}; by the plan {days} {'too late for' if late else 'to spare before'} the event"


def _signed_lines(evaluation: Evaluation) -> Iterable[str]:
    """Which reviewers' last words stand, and which were undone."""
    last = [s for s in evaluation.signoffs if not s.superseded]
    if not last:
        return []
    lost = [f"{s.record.scope} by {harmless(s.record.by)}" for s in last if not s.stands]
    undone = f"; undone: {', '.join(lost)}" if lost else ""
    return ["", f"{_counted(len(last) - len(lost), 'sign-off')} standing{undone}"]


def _open_lines(items: tuple[OpenItem, ...]) -> Iterable[str]:
    if not items:
        return ["Nothing is open."]
    lines = [f"{_counted(len(items), 'open item')}; the most urgent:"]
    lines += [line for item in items[:MOST_URGENT] for line in _open_item(item)]
    if len(items) > MOST_URGENT:
        lines.append(f"  and {len(items) - MOST_URGENT} more")
    return lines


def _open_item(item: OpenItem) -> tuple[str, str]:
    """What is open, with who, how long and by when where that is known; below it what would close it."""
    hours = "" if item.hours is None else f"{item.hours:g} h"
    due = f"due {item.due}" if item.due else ""
    known = ", ".join(part for part in (item.owner, hours, due) if part)
    said = item.text.rstrip(".")
    first = harmless(f"{said} ({known})" if known else said)
    return f"  {first}", f"      {harmless(item.closes)}"


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
