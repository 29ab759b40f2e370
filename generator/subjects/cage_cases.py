"""The load cases for the page: what acts, what governs, how far it moves, whether to believe it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import chain, pairwise

import numpy as np

from generator.frame.model import Array, Indices
from generator.subjects.cage_checks import Known, near_joint, solved_case
from generator.subjects.cage_detail import DIGITS, CaseLine, Force, Line, MemberLine, Move, Sanity
from generator.subjects.cage_geometry import joint_called, members_of_set
from generator.subjects.cage_inertia import accelerations
from generator.subjects.cage_loads import Case as LoadCase
from generator.subjects.cage_members import WORD
from generator.subjects.cage_solve import TRUSTED, Case, First
from generator.vocabulary import Check, Result

SHOWN = 0.06
"""Share of the frame's size that the largest movement is drawn at."""
LISTED = 10
"""Tubes whose forces a case's card lists; all are in the table to be downloaded."""
AXES = (("aft", "forward"), ("to the right", "to the left"), ("up", "down"))


def case_lines(
    k: Known,
    members: tuple[MemberLine, ...],
    criticals: tuple[Check | None, ...],
) -> tuple[CaseLine, ...]:
    """One card a load case."""
    shared = _shared(k, members)
    return tuple(_card(k, n, members, one, shared) for n, one in enumerate(criticals))


@dataclass(frozen=True, eq=False)
class _Shared:
    """What all cards share: joints: number, name and what it is called, of those declared; numbers (m,):
    of the members in their order, in the geometry; path: the points of their middle lines, one after
    the other, by their numbers in the frame that is cut in quarters; spans: where each line's begin and end.
    """

    joints: tuple[tuple[int, str, str], ...]
    numbers: Indices
    path: Indices
    spans: tuple[tuple[int, int], ...]


def _shared(k: Known, members: tuple[MemberLine, ...]) -> _Shared:
    g, ends, rows = k.model.geometry, k.found.fine.ends.tolist(), k.found.rows.tolist()
    declared = (n for n, known in enumerate(g.declared.tolist()) if known)
    place = {line.id: n for n, line in enumerate(g.lines)}
    of = [list(dict.fromkeys(row for p in line.pieces for row in rows[p])) for line in g.lines]
    paths = [(ends[own[0]][0], *(ends[row][1] for row in own)) for own in of]
    bounds = np.cumsum([0, *map(len, paths)]).tolist()
    return _Shared(
        tuple((n, g.joints[n], joint_called(g.joints[n])) for n in declared),
        np.array([place[m.id] for m in members], dtype=np.intp),
        np.array(list(chain.from_iterable(paths)), dtype=np.intp),
        tuple(pairwise(bounds)),
    )


def _card(
    k: Known,
    number: int,
    members: tuple[MemberLine, ...],
    critical: Check | None,
    shared: _Shared,
) -> CaseLine:
    case, solved = k.model.cases[number], solved_case(k, number)
    moved = solved.moved if solved else None
    far = None if moved is None else np.linalg.norm(moved[:, :3], axis=1)
    scale = _scale(k, far)
    used = _ranked(k, number, members, shared)
    most, share = used[0] if used else (None, 0.0)
    largest, where = _largest(k, case, far)
    return CaseLine(
        case.id,
        case.title,
        case.text,
        case.source,
        case.criterion,
        case.factor,
        "its own inertia" if case.inertia else "the supports",
        tuple(_force(k, case, n) for n in range(len(case.pulls))),
        case.absent or (solved.why if solved else ""),
        critical,
        largest,
        where,
        most,
        share,
        _added(k, number, most, share),
        _sways(case.id, case.title, solved),
        accelerations(case.id, case.title, _rigid(solved)) if case.inertia else (),
        sum(share > 1.0 for _, share in used),
        tuple((m, f) for m, _ in used[:LISTED] if (f := m.figures[number])),
        () if moved is None else drawn(k, shared, moved[:, :3] * scale),
        scale,
        _moves(k, number, moved, shared),
    )


def _ranked(
    k: Known, number: int, members: tuple[MemberLine, ...], shared: _Shared
) -> list[tuple[MemberLine, float]]:
    """The members by how much a case uses them, and how much; none where it has no answer."""
    row = k.s.row[number]
    if row < 0:
        return []
    shares = k.most[row, shared.numbers]
    order = np.argsort(-np.round(shares, DIGITS), kind="stable")
    ranked = zip(order.tolist(), shares[order].tolist(), strict=True)
    return [(members[n], share) for n, share in ranked]


def _added(k: Known, number: int, most: MemberLine | None, used: float) -> Result:
    """What second order adds to the utilisation of the member used most, as a share of it."""
    case = k.model.cases[number]
    name, title = f"{WORD}.case.{case.id}.second_order", f"{case.title}: what second order adds"
    row = k.s.row[number]
    if row < 0 or most is None:
        return Result(name, title, None, "share", absent="the case has no answer")
    place = next(n for n, line in enumerate(k.model.geometry.lines) if line.id == most.id)
    plain = float(k.s.first[row, place])
    if plain <= 0.0:
        return Result(name, title, None, "share", absent="nothing is stressed")
    return Result(name, title, used / plain - 1.0, "share")


def _sways(case: str, title: str, solved: Case | None) -> Result:
    """At how many times the load as written the joints sway."""
    name, words = f"{WORD}.case.{case}.sways", f"{title}: joints sway at this many times the load"
    if solved is None or solved.design is None:
        return Result(name, words, None, "ratio", absent="the case has no answer")
    if not math.isfinite(solved.sways):
        return Result(name, words, None, "ratio", absent="no joint sways")
    return Result(name, words, solved.sways, "ratio")


def _rigid(solved: Case | None) -> tuple[Array, Array] | None:
    """Acceleration and spin-up of what inertia holds, under the load as written."""
    first = solved.first if solved else None
    if first is None or first.acceleration is None or first.spin_up is None:
        return None
    return first.acceleration, first.spin_up


def _moves(k: Known, number: int, moved: Array | None, shared: _Shared) -> tuple[Move, ...]:
    """The declared joints' movements."""
    if moved is None:
        return ()
    case, behind = k.model.cases[number], k.ids.behind
    start, title = f"{WORD}.case.{case.id}.joint.", f"{case.title}: movement of "
    by = moved[[n for n, _, _ in shared.joints], :3].tolist()
    return tuple(
        Move(
            name,
            (x, y, z),
            Result(start + name, title + called, math.hypot(x, y, z), "length", inputs=behind),
        )
        for (_, name, called), (x, y, z) in zip(shared.joints, by, strict=True)
    )


def _force(k: Known, case: LoadCase, number: int) -> Force:
    """A force: where it acts, how large it is, and where it points. Its id is that of its worked step."""
    pull = case.pulls[number]
    names = [_spot(k, name) for name in case.own.loads[number].at]
    at = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    name = f"{WORD}.case.{case.id}.force_{number + 1}"
    size = replace(pull.size, id=name, title=f"{case.title}: force at {at}")
    return Force(at, size, pull.words, pointing(pull.direction))


def _spot(k: Known, name: str) -> str:
    """What a set of joints is called, with how many they are, or a joint."""
    chosen = next((s for s in k.model.cage.node_sets if s.id == name), None)
    if chosen is None:
        return joint_called(name)
    return f"{chosen.name} ({len(members_of_set(k.model.cage, name))} joints)"


def pointing(direction: Array) -> str:
    """A direction in words: shares of the force along the vehicle's axes."""
    parts = [
        f"{abs(d):.2f} {words[0] if d > 0 else words[1]}"
        for d, words in zip(direction, AXES, strict=True)
        if abs(d) > 5e-3
    ]
    return parts[0].partition(" ")[2] if len(parts) == 1 else ", ".join(parts)


def _largest(k: Known, case: LoadCase, far: Array | None) -> tuple[Result, str]:
    """The largest displacement under the factored load, of all (q,), and where."""
    name, title = f"{WORD}.case.{case.id}.moved", f"{case.title}: largest movement"
    if far is None:
        return Result(name, title, None, "length", absent="the case has no answer"), ""
    most = int(np.argmax(far))
    return Result(name, title, float(far[most]), "length"), near_joint(k, most)


def _scale(k: Known, far: Array | None) -> float:
    """A round number by which movements (q,) are enlarged: 1, 2 or 5 times a power of ten."""
    most = 0.0 if far is None else float(far.max())
    if most <= 0.0:
        return 1.0
    wanted = max(SHOWN * k.model.frame.size / most, 1.0)
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(max(n * power for n in (1.0, 2.0, 5.0) if n * power <= wanted))


def drawn(k: Known, shared: _Shared, moved: Array) -> tuple[Line, ...]:
    """The middle line of every member with its points moved (q, 3)."""
    points = (k.found.fine.nodes + moved)[shared.path]
    return tuple(points[begin:end] for begin, end in shared.spans)


def sanity(k: Known) -> tuple[Sanity, ...]:
    """The figures by which each case's solution is judged."""
    found = ((n, solved_case(k, n)) for n in range(len(k.model.cases)))
    return tuple(
        _sanity(k, number, case, case.first) for number, case in found if case and case.first
    )


def _sanity(k: Known, number: int, case: Case, first: First) -> Sanity:
    return Sanity(
        k.model.cases[number].id,
        k.model.cases[number].title,
        tuple(_clean(v, first.applied) for v in first.applied[:3]),
        tuple(_clean(v, first.applied) for v in first.supported[:3]),
        two(first.gap),
        two(first.residual),
        two(first.energy),
        two(first.condition),
        case.passes,
        case.why or "believed",
    )


def _clean(value: float, beside: Array) -> float:
    """A force, 0 where it is rounding beside the others."""
    return float(value) if abs(value) > TRUSTED * np.abs(beside[:3]).max() else 0.0


def sanity_results(every: tuple[Sanity, ...]) -> tuple[Result, ...]:
    """The figures of every case, for whoever reads the results without the page."""
    words = (
        ("gap", "loads and what holds them, difference over the largest force"),
        ("residual", "largest force out of balance, over the largest"),
        ("energy", "strain energy against the work of the loads, difference"),
        ("condition", "condition number"),
    )
    return tuple(
        Result(f"{WORD}.sanity.{s.id}.{name}", f"{s.case}: {said}", getattr(s, name), "ratio")
        for s in every
        for name, said in words
    )


def two(number: float) -> float:
    """Two digits: more of a rounding error mean nothing, and differ from processor to processor."""
    if number <= 0.0:
        return 0.0
    digits = 1 - int(np.floor(np.log10(number)))
    return float(round(number, digits))
