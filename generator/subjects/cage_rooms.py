"""What is left of the room around helmet, knees and wheel when the frame has given way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from buildspec.quantities import both
from generator.checks import make_check
from generator.frame.model import Array
from generator.subjects.cage_checks import UNLIKELY, Known, solved_case
from generator.subjects.cage_clearance import Body, Nearest, nearest, surrounded
from generator.subjects.cage_detail import Space as Shown
from generator.subjects.cage_members import WORD
from generator.subjects.cage_room_doubts import Loose, doubt, likelier, loose
from generator.subjects.cage_spaces import Space
from generator.vocabulary import Check, Result


@dataclass(frozen=True, eq=False)
class _Room:
    """One space with what is left of it unloaded and in each case, None without an answer; gaps: the
    clearance without load, −1, and in every case that has one, how far it may be off, and the case."""

    space: Space
    body: Body
    before: Nearest
    after: tuple[Nearest | None, ...]
    gaps: tuple[tuple[float, float, int], ...] = ()


def shown(k: Known) -> tuple[Shown, ...]:
    """Every space with its clearances and its check."""
    radius = k.model.sections.outer[k.found.piece] / 2.0
    moves = [_moved(k, number) for number in range(len(k.model.cases))]
    nodes, ends = k.found.fine.nodes, k.found.fine.ends
    shapes = np.array([nodes, *(nodes + m for m in moves if m is not None)])
    bodies = [body_of(space) for space in k.model.spaces]
    rooms = []
    gaps = nearest(bodies, shapes, ends, radius) if bodies else []
    for space, body, (first, *others) in zip(k.model.spaces, bodies, gaps, strict=True):
        left = iter(others)
        after = tuple(None if m is None else next(left) for m in moves)
        rooms.append(_Room(space, body, first, after))
    over = tuple(beyond_strength(k, number) for number in range(len(k.model.cases)))
    joints = loose(k)
    rooms = [replace(room, gaps=_gaps(k, room, joints)) for room in rooms]
    return tuple(_shown(k, room, over) for room in rooms)


def body_of(space: Space) -> Body:
    """The space as a rounded box; padding on the tubes counts as part of it."""
    padding = space.padding.si if space.padding else 0.0
    if space.kind == "ball":
        return Body(space.centre, np.zeros(3), space.radius + padding)
    return Body((space.low + space.high) / 2.0, (space.high - space.low) / 2.0, padding)


def _no_seat(k: Known, number: int) -> str:
    """Why nobody knows how tubes move against the driver in a case; "" for no reason."""
    if not k.model.cases[number].inertia or k.model.seat is not None:
        return ""
    return (
        "is held by inertia, and no three joints off one line carry `driver` or `seat` under "
        "`masses`: how tubes move against the driver is not known"
    )


def _moved(k: Known, number: int) -> Array | None:
    case = None if _no_seat(k, number) else solved_case(k, number)
    return None if case is None or case.moved is None else case.moved[:, :3]


def beyond_strength(k: Known, number: int) -> str:
    """A member that is over its limit in a case, "" for none: elastic movements then say too
    little."""
    row = k.s.row[number]
    if row < 0 or not (k.most[row] > 1.0).any():
        return ""
    return k.model.geometry.lines[int(np.argmax(k.most[row]))].title


def _shown(k: Known, room: _Room, over: tuple[str, ...]) -> Shown:
    name, title = f"{WORD}.clearance.{room.space.id}", room.space.title
    before = Result(f"{name}.unloaded", f"{title}: clearance unloaded", room.before.gap, "length")
    after = tuple(
        Result(
            f"{name}.case.{case.id}",
            f"{title}: clearance left, {case.title}",
            near.gap if near else None,
            "length",
            absent="" if near else f"the case {_no_seat(k, n) or 'has no answer'}",
        )
        for n, (case, near) in enumerate(zip(k.model.cases, room.after, strict=True))
    )
    found = [(n.gap, i) for i, n in enumerate(room.after) if n is not None]
    _, case = min((*found, (room.before.gap, -1)))
    least = room.after[case] if case >= 0 else room.before
    assert least is not None  # found above
    piece = int(k.found.piece[least.segment])
    tube = k.model.geometry.lines[int(k.model.geometry.line[piece])].title
    when = f"in the case {k.model.cases[case].title}" if case >= 0 else "unloaded"
    check = _check(k, room, case, f"nearest to {tube}, {when}", over)
    return Shown(room.space.id, title, room.body, check, before, after, tube)


def _check(k: Known, room: _Room, case: int, words: str, over: tuple[str, ...]) -> Check:
    """The least clearance against what is asked; open where nothing bounds how far tubes move."""
    name, space = f"{WORD}.clearance.{room.space.id}", room.space
    asked = Result(f"{name}.asked", "Clearance asked for", space.clearance.si, "length")
    gap, off = next((gap, off) for gap, off, number in room.gaps if number == case)
    reason, closes = ("", "") if gap < space.clearance.si else _unbounded(k, room, over)
    if reason and None not in room.after and not _outside(k, space):
        words = f"{words}: {both(gap, 'length', k.system, figures=3)} by the elastic calculation"
    made = make_check(
        f"{WORD}.check.clearance.{space.id}",
        f"{space.title}: clearance under load",
        demand=asked,
        capacity=Result(
            f"{name}.least",
            "Least clearance left",
            None if reason else gap,
            "length",
            off,
            absent=reason,
        ),
        inputs=(*space.inputs, *k.ids.behind),
        sources=("elastic displacements in second order under the factored loads",),
        basis_of_verdict=words,
        closes=f"{closes}: {reason}" if closes else "",
    )
    return made if reason else _likelier(k, room, made)


def _gaps(k: Known, room: _Room, joints: Loose) -> tuple[tuple[float, float, int], ...]:
    """The clearances of a room, see there."""
    every = ((-1, room.before), *enumerate(room.after))
    return tuple(
        (near.gap, doubt(k, room.space, room.body, (room.before, near), (n, joints)), n)
        for n, near in every
        if near is not None
    )


def _likelier(k: Known, room: _Room, made: Check) -> Check:
    """The check with the case in which it falls short most likely, where that is another."""
    short, case = likelier(made.demand, room.gaps)
    if short is None or short <= max(made.probability_short or 0.0, UNLIKELY):
        return made
    when = k.model.cases[case].title if case >= 0 else "unloaded"
    said = f"{made.basis_of_verdict}; it falls short more likely in {when}, which is less sure"
    return replace(made, probability_short=short, basis_of_verdict=said)


def _outside(k: Known, space: Space) -> str:
    """Why a distance to the tubes says nothing: the middle or the top is not inside them."""
    top = space.centre + np.array((0.0, 0.0, space.radius))
    if not space.around or surrounded(np.array((space.centre, top)), k.model.frame.nodes):
        return ""
    return f"the {space.title.lower()} is not inside the tubes; a distance alone says nothing"


def _unbounded(k: Known, room: _Room, over: tuple[str, ...]) -> tuple[str, str]:
    """Why the least clearance is no bound, and what there is to do about it; "" for no reason, and
    for nothing that would not be said with the load case itself.
    """
    if outside := _outside(k, room.space):
        return outside, "correct its place, or describe the tubes around it"
    for n, (case, near, tube) in enumerate(zip(k.model.cases, room.after, over, strict=True)):
        if near is None:
            return f"{case.title} {_no_seat(k, n) or 'has no answer'}", ""
        if tube:
            return (
                f"{tube} is over its limit in the case {case.title}: the elastic calculation does "
                "not bound how far the tubes then move"
            ), "let no tube be over its limit"
    return "", ""
