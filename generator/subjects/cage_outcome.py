"""The subject `cage` put together: model, answer, judgement, page."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from buildspec.build import Build
from buildspec.sections.cage import Cage
from generator.subjects import cage_conformance, cage_loads, cage_stock
from generator.subjects.cage_cases import case_lines, sanity
from generator.subjects.cage_checks import Known, basis, critical_check, figures, member_check
from generator.subjects.cage_detail import Detail, Figures, Line, MemberLine, Remedy
from generator.subjects.cage_doubts import doubts
from generator.subjects.cage_members import WORD, strengths, whole
from generator.subjects.cage_model import model_of, solved
from generator.subjects.cage_remedies import remedies
from generator.subjects.cage_rooms import shown
from generator.subjects.cage_said import assumptions, cautions
from generator.subjects.cage_steps import steps
from generator.subjects.subject import Given
from generator.vocabulary import Check, Outcome, Requirement, Result, WorkedStep


def outcome(cage: Cage, build: Build, given: Given) -> Outcome:
    """Everything about the cage."""
    k = known(cage, build, given)
    rules = cage_conformance.requirements(cage, k.model.geometry, k.model.stock)
    short = tuple(n for n in _by_margin(k) if (w := k.worst(n)) and w.utilisation > 1.0)
    other = remedies(k, short)
    members = member_lines(k, rules, other)
    criticals = tuple(critical_check(k, n) for n in range(len(k.model.cases)))
    detail = _detail(k, members, criticals, other)
    return Outcome(
        WORD,
        results=_results(detail),
        checks=(
            *(m.check for m in detail.members),
            *(c for c in criticals if c),
            *(s.check for s in detail.spaces),
        ),
        steps=(*detail.steps, *_force_steps(k)),
        cautions=cautions(k),
        assumptions=(
            *assumptions(),
            *cage_stock.assumptions(cage, k.model.geometry, k.model.stock),
            *cage_loads.assumptions(cage),
        ),
        requirements=rules,
        detail=detail,
    )


def known(cage: Cage, build: Build, given: Given) -> Known:
    """The description solved, with the spread of its margins."""
    model = model_of(cage, build, given)
    found = solved(model)
    k = Known(model, found, strengths(model, found), whole(model))
    return replace(k, doubts=doubts(k))


def _by_margin(k: Known) -> list[int]:
    """Numbers of members, those used most first."""
    used = [w.utilisation if (w := k.worst(n)) else 0.0 for n in range(len(k.model.geometry.lines))]
    return sorted(range(len(used)), key=lambda n: (-used[n], n))


def _force_steps(k: Known) -> Iterator[WorkedStep]:
    return (p.step for case in k.model.cases for p in case.pulls if p.step)


# ------------------------------------------------------------------------ members


def member_lines(
    k: Known, rules: tuple[Requirement, ...], other: dict[int, tuple[Remedy, ...]]
) -> tuple[MemberLine, ...]:
    """Every member for the table, least margin first."""
    of: dict[str, list[Requirement]] = {}
    for rule in rules:
        of.setdefault(rule.id.split(".")[2], []).append(rule)
    made = [
        _member(k, n, tuple(of.get(line.id, ())), other.get(n, ()))
        for n, line in enumerate(k.model.geometry.lines)
    ]
    return tuple(sorted(made, key=_rank))


def _rank(member: MemberLine) -> tuple[int, float, str]:
    order = {"short": 0, "open": 1, "holds": 2}[member.check.verdict]
    margin = member.check.margin
    return order, math.inf if margin is None else margin, member.id


def _member(
    k: Known, number: int, rules: tuple[Requirement, ...], other: tuple[Remedy, ...]
) -> MemberLine:
    line, w = k.model.geometry.lines[number], k.worst(number)
    every = figures(k, number)
    check = member_check(k, number, closes(other))
    at_most = w.case if w else -1
    slender = float(k.s.has.slender[list(line.pieces)].max())
    return MemberLine(
        line.id,
        line.title,
        line.group,
        k.model.stock.tubes[line.tube].name,
        _points(k, line.pieces),
        line.length,
        slender,
        every,
        at_most,
        k.model.cases[at_most].title if w else "",
        basis(k, number, w) if w else "",
        check,
        rules,
        member_results(k, number, every, at_most, slender),
        other,
    )


def closes(other: tuple[Remedy, ...]) -> str:
    """What would mend a member that falls short, in words."""
    if not other:
        return ""
    said = [
        f"{r.tube} holds there with a margin of {100 * r.margin:+.0f} % by a trial calculation "
        f"({r.mass:+.2f} kg, twin included"
        + (f"; {r.others} others would then fall short" if r.others else "")
        + ")"
        for r in other
    ]
    return f"another tube ({'; '.join(said)}), a brace that shortens or relieves it, or less load"


def _points(k: Known, pieces: tuple[int, ...]) -> Line:
    g = k.model.geometry
    joints = [int(g.ends[pieces[0], 0]), *(int(g.ends[p, 1]) for p in pieces)]
    return tuple((float(x), float(y), float(z)) for x, y, z in g.position[joints])


FIGURES = (
    ("axial", "axial force, tension positive", "force"),
    ("shear", "largest transverse force", "force"),
    ("torsion", "torsion", "torque"),
    ("start", "bending moment at the start", "torque"),
    ("end", "bending moment at the end", "torque"),
    ("span", "largest bending moment between", "torque"),
    ("stress", "peak equivalent stress", "stress"),
)


def member_results(
    k: Known, number: int, every: tuple[Figures | None, ...], governing: int, slender: float
) -> tuple[Result, ...]:
    """A member's results: utilisation in every case, and figures in the case that governs."""
    line = k.model.geometry.lines[number]
    name = f"{WORD}.member.{line.id}"
    used = tuple(
        Result(
            f"{name}.case.{case.id}",
            f"{line.title}: utilisation, {case.title}",
            f.utilisation if f else None,
            "share",
            absent="" if f else "the case has no answer",
        )
        for case, f in zip(k.model.cases, every, strict=True)
    )
    fixed = (
        Result(f"{name}.length", f"{line.title}: length", line.length, "length"),
        Result(f"{name}.slenderness", f"{line.title}: slenderness KL/r", slender, "ratio"),
    )
    most = every[governing] if governing >= 0 else None
    if most is None:
        return (*fixed, *used)
    when = k.model.cases[governing].title
    shown_ = tuple(
        Result(f"{name}.{word}", f"{line.title}: {title}, {when}", getattr(most, word), kind)
        for word, title, kind in FIGURES
    )
    return (*fixed, *used, *shown_)


# ------------------------------------------------------------------------ all


def _detail(
    k: Known,
    members: tuple[MemberLine, ...],
    criticals: tuple[Check | None, ...],
    other: dict[int, tuple[Remedy, ...]],
) -> Detail:
    governing = next((n for n in _by_margin(k) if k.worst(n)), None)
    w = k.worst(governing) if governing is not None else None
    line = k.model.geometry.lines[governing] if governing is not None else None
    return Detail(
        members,
        case_lines(k, members, criticals),
        sanity(k),
        shown(k),
        tuple(r for some in other.values() for r in some),
        next((m for m in members if line and m.id == line.id), None),
        steps(k, governing, w) if governing is not None and w else (),
        (),
        sum(k.model.geometry.declared.tolist()),
        len(k.model.geometry.ends),
    )


def _results(detail: Detail) -> tuple[Result, ...]:
    """Every number that the page or another reader of the evaluation may want."""
    checks = (c for m in detail.members for c in (m.check.demand, m.check.capacity))
    cases = (c.moved for c in detail.cases)
    criticals = (r for c in detail.cases if c.critical for r in (c.critical.capacity,))
    spaces = (r for s in detail.spaces for r in (s.before, *s.after))
    members = (r for m in detail.members for r in m.results)
    return (*detail.glance, *cases, *criticals, *spaces, *checks, *members)
