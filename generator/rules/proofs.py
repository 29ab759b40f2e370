"""What only people can say: that they looked, tried it, or hold a document; and what others found."""

from __future__ import annotations

from typing import NamedTuple

from buildspec.sections.rules import Document, Line, Looked, Waiver
from generator.rules.world import Told, World, unknown
from generator.vocabulary import Conformance, Requirement


class Deed(NamedTuple):
    """How a sentence says that a person did something, or has not yet."""

    not_yet: str
    did: str
    closes: str
    then: str = ""


LOOKED = Deed(
    "nobody has looked yet",
    "looked",
    "look at it, and write down who looked, when, and what was found",
)
TRIED = Deed(
    "not tried yet",
    "tried it",
    "try it, and write down who tried it, when, and what was found",
    "; still to be shown to the inspector",
)
OBTAIN = "obtain it, and write down when it was issued and to which day it is in force"
NO_FILE = "no file is named that proves it"
NAME_IT = "name a file under `evidence` that proves it"
A_YEAR = 366
"""Days for which a waiver without a last day is taken to be given, and what somebody saw to be still so."""
_WORST: tuple[Conformance, ...] = ("departs", "open", "waived", "conforms", "not applicable")


def attested(line: Line, seen: Looked, world: World) -> Told:
    """A person looked, and says what was found."""
    return _looked(line, seen, world, LOOKED)


def demonstrated(line: Line, seen: Looked, world: World) -> Told:
    """The team tried what is to be shown to the inspector."""
    return _looked(line, seen, world, TRIED)


def _looked(line: Line, seen: Looked, world: World, words: Deed) -> Told:
    told = Told("open", words.not_yet, seen.what or None, closes=words.closes)
    if seen.found is None or seen.date is None:
        return told
    if seen.date > world.as_of:
        return told.now("open", f"dated {seen.date}, after the day of this evaluation")
    remark = f": {seen.remark}" if seen.remark else ""
    said = f"{seen.by} {words.did} on {seen.date}{remark}"
    day, called = world.day
    if seen.found == "conforms" and (day - seen.date).days > A_YEAR:
        return told.now(
            "open", f"{said}; that is more than a year before {called}", f"again: {words.closes}"
        )
    then = words.then if seen.found == "conforms" else ""
    told = Told(seen.found, f"{said}{then}", seen.what or None, seen.remark or seen.found)
    lacking = seen.evidence_needed and not line.evidence and seen.found == "conforms"
    return told.now("open", f"{said}; {NO_FILE}", NAME_IT) if lacking else told


def documented(line: Line, held: Document, world: World) -> Told:
    """A document is held, and in force on the day of the event."""
    number = f", number {held.number}" if held.number else ""
    told = Told("open", "not held yet", held.what or None, closes=OBTAIN)
    if held.issued is None:
        return told
    if held.issued > world.as_of:
        return told.now("open", f"issued {held.issued}, after the day of this evaluation")
    found = f"issued {held.issued}{number}"
    told = Told(
        "open", found, held.what or None, found, closes="state its last day, or `unlimited: true`"
    )
    if held.expires is None and not held.unlimited:
        return told.now("open", f"{found}; neither a day of expiry nor `unlimited` is stated")
    day, called = world.day
    if held.expires is not None and held.expires < day:
        return told.now("departs", f"{found}; in force to {held.expires}, before {called}")
    if held.evidence_needed and not line.evidence:
        return told.now("open", f"{found}; {NO_FILE}", NAME_IT)
    until = (
        f"in force to {held.expires}, and {called} is not later"
        if held.expires
        else "without a day of expiry"
    )
    return told.now("conforms", f"{found}; {until}")


def followed(names: tuple[str, ...], world: World) -> Told:
    """The worst of what other subjects found. A name stands also for all that begin with it."""
    found: dict[str, Requirement] = {}
    missing: list[str] = []
    for name in names:
        own = {k: r for k, r in world.requirements.items() if k == name or k.startswith(f"{name}.")}
        found |= own
        if not own:
            missing.append(
                unknown(name, "prescription", tuple(world.requirements), world.evaluated)
            )
    if missing:
        return Told("open", "; ".join(missing), refs=tuple(found))
    state = min((r.state for r in found.values()), key=_WORST.index)
    return Told(
        state,
        _summed(tuple(found.values()), state),
        None,
        _counted(tuple(found.values())),
        tuple(found),
    )


def _summed(found: tuple[Requirement, ...], worst: Conformance) -> str:
    """Those that decide, by name; a count where all agree."""
    deciding = [r for r in found if r.state == worst]
    if worst in ("conforms", "not applicable"):
        return (
            f"by {len(found)} prescription{'s' if len(found) != 1 else ''} that other pages check"
        )
    return "; ".join(f"{r.title}: {r.reason or r.state}" for r in deciding)


def _counted(found: tuple[Requirement, ...]) -> str:
    states = [r.state for r in found]
    return ", ".join(_number(states.count(s), s) for s in reversed(_WORST) if s in states)


def _number(number: int, state: Conformance) -> str:
    """`1 departs`, `10 conform`, `2 open`."""
    verb = state in ("departs", "conforms") and number > 1
    return f"{number} {state.removesuffix('s') if verb else state}"


def waiver_fault(waiver: Waiver, world: World) -> str:
    """Why a waiver does not count, or "" where it does."""
    day, called = world.day
    if waiver.date > world.as_of:
        return f"given on {waiver.date}, after the day of this evaluation"
    if waiver.until and waiver.until < day:
        return f"ends on {waiver.until}, before {called}"
    if waiver.until is None and (day - waiver.date).days > A_YEAR:
        return f"given on {waiver.date}, more than a year before {called}, and states no last day"
    return ""
