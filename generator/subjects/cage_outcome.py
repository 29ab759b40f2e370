"""The subject `cage` put together: model, answer, judgement, page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import both
from buildspec.sections.cage import Cage
from generator.subjects import (
    cage_bends,
    cage_conformance,
    cage_equivalence,
    cage_inertia,
    cage_loads,
    cage_mass,
    cage_questions,
    cage_stock,
    cage_tables,
    cage_unanswered,
)
from generator.subjects.cage_cases import case_lines, sanity, sanity_results
from generator.subjects.cage_checks import (
    Known,
    critical_checks,
    governed,
    ids_of,
    member_check,
)
from generator.subjects.cage_detail import DIGITS, Detail, Figures, Line, MemberLine, Remedy
from generator.subjects.cage_doubts import doubts
from generator.subjects.cage_equivalence import Row
from generator.subjects.cage_mass import Weighed
from generator.subjects.cage_members import (
    WORD,
    figures,
    most_of,
    reasons,
    strengths,
    worsts,
)
from generator.subjects.cage_model import model_of, solved
from generator.subjects.cage_remedies import remedies, rows
from generator.subjects.cage_rooms import shown
from generator.subjects.cage_said import assumptions, cautions
from generator.subjects.cage_solve import ILL, TRUSTED
from generator.subjects.cage_steps import steps
from generator.subjects.cage_strength import begins
from generator.subjects.subject import Given
from generator.vocabulary import Check, Outcome, Requirement, Result, WorkedStep

FEWER = 10
"""Members that the table shows at once; the others stand folded below."""


def outcome(cage: Cage, build: Build, given: Given) -> Outcome:
    """Everything about the cage."""
    k = known(cage, build, given)
    rules = cage_conformance.requirements(cage, k.model.geometry, k.model.stock)
    tubes = cage_mass.weighed(cage, k.model.geometry, k.model.stock, build)
    detail = _detail(k, rules, tubes)
    return Outcome(
        WORD,
        results=_rested(k, _results(detail)),
        checks=_checks(detail),
        steps=(*detail.steps, *detail.other_steps),
        cautions=(
            *cautions(k),
            *cage_inertia.cautions(k.model.cases, k.model.frame, build, given),
        ),
        assumptions=(
            *assumptions(),
            *cage_stock.assumptions(cage, k.model.geometry, k.model.stock),
            *cage_bends.assumptions(k.model),
            *cage_loads.assumptions(cage),
            *cage_questions.assumptions(cage),
            *cage_inertia.assumptions(k.model.cases),
            *cage_mass.assumptions(cage, tubes.total, build),
        ),
        open_items=(
            *tubes.open_items,
            *cage_questions.open_items(cage, build, _nominal(k)),
            *cage_unanswered.open_items(detail),
        ),
        requirements=rules,
        detail=detail,
        problems=tuple(cage_loads.stray_results(cage, build, given)),
        tables=cage_tables.tables(detail),
    )


def _nominal(k: Known) -> tuple[str, ...]:
    """The names of the sizes of whose walls nobody knows more than what they are sold as."""
    sizes = cage_stock.nominal_sizes(k.model.cage, k.model.geometry, k.model.stock)
    return tuple(k.model.stock.tubes[word].name for word in sizes)


def _rested(k: Known, results: Iterable[Result]) -> tuple[Result, ...]:
    """The results, with what the whole frame rests on where they do not say what they rest on."""
    behind = k.ids.behind
    rooms = tuple(dict.fromkeys((*behind, *(i for s in k.model.spaces for i in s.inputs))))
    room = f"{WORD}.clearance."
    return tuple(
        r if r.inputs else _resting(r, rooms if r.id.startswith(room) else behind) for r in results
    )


def _resting(r: Result, inputs: tuple[str, ...]) -> Result:
    return Result(r.id, r.title, r.value, r.kind, r.standard_uncertainty, r.absent, inputs)


def _checks(detail: Detail) -> tuple[Check, ...]:
    """Members by margin, then spaces, then critical loads."""
    return (
        *(m.check for m in detail.members),
        *(s.check for s in detail.spaces),
        *(c.critical for c in detail.cases if c.critical),
    )


def known(cage: Cage, build: Build, given: Given) -> Known:
    """The description solved, with the spread of its margins."""
    model = model_of(cage, build, given)
    found = solved(model)
    s = strengths(model, found)
    k = Known(
        model,
        found,
        s,
        worsts(model, s),
        most_of(model, s.use),
        reasons(model, s, found),
        ids_of(model),
        build.system,
    )
    return replace(k, doubts=doubts(k))


def _by_margin(k: Known) -> list[int]:
    """Numbers of members, those used most first."""
    used = [w.utilisation if (w := k.worst(n)) else 0.0 for n in range(len(k.model.geometry.lines))]
    return sorted(range(len(used)), key=lambda n: (-round(used[n], DIGITS), n))


def _force_steps(k: Known) -> Iterator[WorkedStep]:
    """How forces come about, each named with its case: several come from one mass."""
    return (
        replace(p.step, title=f"{case.title}: {p.step.title}")
        for case in k.model.cases
        for p in case.pulls
        if p.step
    )


# ------------------------------------------------------------------------ members


def member_lines(
    k: Known, rules: tuple[Requirement, ...], other: dict[int, tuple[Remedy, ...]]
) -> tuple[MemberLine, ...]:
    """Every member for the table, least margin first."""
    of: dict[str, list[Requirement]] = {}
    for rule in rules:
        of.setdefault(rule.id.split(".")[2], []).append(rule)
    computed = zip(k.model.geometry.lines, _computed(k), strict=True)
    made = [
        _member(k, n, known, tuple(of.get(line.id, ())), other.get(n, ()))
        for n, (line, known) in enumerate(computed)
    ]
    return tuple(sorted(made, key=_rank))


class _Computed(NamedTuple):
    """What is computed of one member: its middle line, slenderness, and figures in every case."""

    line: Line
    slender: float
    figures: tuple[Figures | None, ...]


def _computed(k: Known) -> list[_Computed]:
    """What is computed of every member."""
    g = k.model.geometry
    ends = g.ends.tolist()
    slender = np.maximum.reduceat(k.s.has.slender, begins(g.line)).tolist()
    paths = ([ends[of.pieces[0]][0], *(ends[p][1] for p in of.pieces)] for of in g.lines)
    lines = (g.position[path] for path in paths)
    return list(map(_Computed, lines, slender, figures(k.model, k.s)))


def _rank(member: MemberLine) -> tuple[int, float, str]:
    order = {"short": 0, "open": 1, "holds": 2}[member.check.verdict]
    margin = member.check.margin
    return order, math.inf if margin is None else round(margin, DIGITS), member.id


def _member(
    k: Known,
    number: int,
    known: _Computed,
    rules: tuple[Requirement, ...],
    other: tuple[Remedy, ...],
) -> MemberLine:
    line, w = k.model.geometry.lines[number], k.worst(number)
    bent = w is not None and bool(k.model.geometry.bend[w.piece])
    said = governed(k, number, w) if w else ""
    check = member_check(k, number, said, closes(other, k.system, bent=bent))
    at_most = w.case if w else -1
    return MemberLine(
        line.id,
        line.title,
        line.twin_of,
        line.group,
        k.model.stock.tubes[line.tube].name,
        known.line,
        line.length,
        known.slender,
        known.figures,
        at_most,
        k.model.cases[at_most].title if w else "",
        said,
        check,
        rules,
        member_results(k, number, known.figures, at_most, known.slender),
        other,
    )


def closes(other: tuple[Remedy, ...], system: System, *, bent: bool) -> str:
    """What would mend a member that falls short, in a bend or not, in words."""
    if not other:
        return ""
    said = [
        f"{r.tube} holds there with a margin of {100 * r.margin:+.0f} % by a trial calculation, "
        f"{'+' if r.mass > 0.0 else ''}{both(r.mass, 'mass', system, figures=2)}, twin included"
        + (f", and {r.others} others would then fall short" if r.others else "")
        + (", and it would depart from what is prescribed" if r.departs else "")
        for r in other
    ]
    wider = "a larger bend radius, " if bent else ""
    return f"another tube ({'; '.join(said)}), {wider}a brace that shortens or relieves it, or less load"


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
    """A member's results: utilisation and axial force in every case, and every figure in the case that
    governs. All figures of all cases would be some thousands: they are in the table to be downloaded.
    """
    line, behind = k.model.geometry.lines[number], k.ids.behind
    name, said = f"{WORD}.member.{line.id}", f"{line.title}: slenderness KL/r"
    fixed = (
        Result(f"{name}.length", f"{line.title}: length", line.length, "length", inputs=behind),
        Result(f"{name}.slenderness", said, slender, "ratio", inputs=behind),
    )
    most = every[governing] if governing >= 0 else None
    in_cases = _in_cases(k, name, line.title, every)
    if most is None:
        return (*fixed, *in_cases)
    when = k.model.cases[governing].title
    shown_ = (
        Result(f"{name}.{word}", f"{line.title}: {title}, {when}", value, kind, inputs=behind)
        for (word, title, kind), value in zip(FIGURES, most[: len(FIGURES)], strict=True)
    )
    return (*fixed, *in_cases, *shown_)


def _in_cases(
    k: Known, name: str, title: str, every: tuple[Figures | None, ...]
) -> Iterator[Result]:
    """A member's utilisation in every case, and its axial force where the case has an answer."""
    behind = k.ids.behind
    for case, f in zip(k.model.cases, every, strict=True):
        own, said = f"{name}.case.{case.id}", f"{title}: utilisation, {case.title}"
        if f is None:
            yield Result(own, said, None, "share", 0.0, "the case has no answer", behind)
            continue
        yield Result(own, said, f.utilisation, "share", inputs=behind)
        said = f"{title}: axial force, tension positive, {case.title}"
        yield Result(f"{own}.axial", said, f.axial, "force", inputs=behind)


# ------------------------------------------------------------------------ all


def _detail(k: Known, rules: tuple[Requirement, ...], tubes: Weighed) -> Detail:
    ranked = _by_margin(k)
    over = tuple(n for n in ranked if (w := k.worst(n)) and w.utilisation > 1.0)
    other = _against_rules(k, remedies(k, over))
    members = member_lines(k, rules, other)
    first = ranked[0]
    w = k.worst(first)
    name = k.model.geometry.lines[first].id
    return Detail(
        members=members,
        cases=case_lines(k, members, critical_checks(k)),
        sanity=sanity(k),
        spaces=shown(k),
        remedies=rows(k, other),
        governing=next((m for m in members if w and m.id == name), None),
        steps=steps(k, first, w) if w and w.utilisation > 0.0 else (),
        other_steps=(*_force_steps(k), *tubes.steps),
        joints=sum(k.model.geometry.declared.tolist()),
        pieces=len(k.model.geometry.ends),
        fewer=FEWER,
        rest=max(len(members) - FEWER, 0),
        short=sum(m.check.verdict == "short" for m in members),
        undecided=sum(m.check.verdict == "open" for m in members),
        departs=sum(m.conformance == "departs" for m in members),
        equivalence=cage_equivalence.rows(k.model.cage, k.model.stock),
        equivalent=cage_equivalence.SAID,
        weighed=tubes,
        trusted=TRUSTED,
        ill=ILL,
    )


def _against_rules(k: Known, other: dict[int, tuple[Remedy, ...]]) -> dict[int, tuple[Remedy, ...]]:
    """The sizes that hold, with whether they are among those prescribed: the two stand side by side."""
    named = {tube.name: tube for tube in k.model.cage.tubes}
    lines = k.model.geometry.lines

    def fits(n: int, r: Remedy) -> bool:
        return cage_conformance.allowed(k.model.cage, lines[n].group, named[r.tube])

    return {n: tuple(replace(r, departs=not fits(n, r)) for r in some) for n, some in other.items()}


def figures_of_size(row: Row) -> tuple[Result, ...]:
    """A size's figures and their ratios to the baseline's."""
    return (row.stiffness, row.yield_moment, row.ultimate_moment, row.line_mass, *row.ratios)


def _results(detail: Detail) -> tuple[Result, ...]:
    """Every number that the page or another reader of the evaluation may want."""
    checks = (r for c in _checks(detail) for r in (c.demand, c.capacity))
    cases = (
        r
        for c in detail.cases
        for r in (c.moved, c.added, c.sways, *c.accelerates, *(m.far for m in c.moves))
    )
    forces = (f.size for c in detail.cases for f in c.forces)
    spaces = (r for s in detail.spaces for r in (s.before, *s.after))
    sizes = (r for row in detail.equivalence for r in figures_of_size(row))
    members = (r for m in detail.members for r in m.results)
    solved_well = sanity_results(detail.sanity)
    return (
        *detail.weighed.results,
        *forces,
        *cases,
        *checks,
        *spaces,
        *members,
        *sizes,
        *solved_well,
    )
