"""How far off a clearance may be: the body, the tube that comes nearest, and how far that moves."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from buildspec.sections.cage import Node
from generator.checks import probability_short
from generator.frame.model import Array
from generator.subjects.cage_checks import Known
from generator.subjects.cage_clearance import Body, Nearest
from generator.subjects.cage_spaces import Space
from generator.vocabulary import Result

Loose = Mapping[str, Array]
"""Standard uncertainties (3,) in m of the joints that have any, by their ids."""


def loose(k: Known) -> Loose:
    """The joints of which somebody says that they may be elsewhere."""
    off = {f"cage.nodes.{node.id}": _off(node) for node in k.model.cage.nodes}
    return {name: by for name, by in off.items() if by.any()}


def doubt(
    k: Known, space: Space, body: Body, near: tuple[Nearest, Nearest], of: tuple[int, Loose]
) -> float:
    """Standard uncertainty in m of a clearance, first order; `near`: without load and in a case; `of`: that
    case, −1 for none, and the joints that may be elsewhere. A movement grows with the case's forces,
    which are taken as off together."""
    (before, now), (case, joints) = near, of
    member = int(k.model.geometry.line[k.found.piece[now.segment]])
    outer = k.model.stock.tubes[k.model.tube(member)].outer.standard_uncertainty / 2.0
    moved = abs(now.gap - before.gap) * (k.model.cases[case].spread if case >= 0 else 0.0)
    place = _place(k, member, _toward(body, now), joints) if joints else 0.0
    return math.hypot(space.spread, place, outer, moved)


def likelier(asked: Result, gaps: tuple[tuple[float, float, int], ...]) -> tuple[float | None, int]:
    """How likely the clearance asked for is not left in the case in which that is likeliest, and which
    case that is; `gaps`: the clearance in a case, how far it may be off, and the case."""
    found = [
        (probability_short(asked, Result("", "", gap, "length", off), 1.0) or 0.0, case)
        for gap, off, case in gaps
    ]
    probability, case = max(found, key=lambda one: one[0])
    return (probability or None), case


def _toward(body: Body, near: Nearest) -> Array:
    """The way from the body to the tube, a unit vector; every way at once where the tube is inside."""
    off = np.array(near.at) - body.centre
    away = off - np.clip(off, -body.half, body.half)
    far = float(np.linalg.norm(away))
    return away / far if far > 0.0 else np.ones(3)


def _place(k: Known, member: int, way: Array, joints: Loose) -> float:
    """How far a tube may be off along `way`: as its joint that is known least."""
    g = k.model.geometry
    names = (g.refs[g.joint(name)] for name in g.lines[member].own.through)
    off = (joints[name] for name in names if name in joints)
    return max((float(np.linalg.norm(way * by)) for by in off), default=0.0)


def _off(node: Node) -> Array:
    return np.array([q.standard_uncertainty for q in (node.x, node.y, node.z)])
