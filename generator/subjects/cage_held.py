"""What is solved of a load case: the frame with its supports, or its inertia in their place, and loads."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from generator.frame.inertia import Relief, relieved
from generator.frame.model import (
    Array,
    Flags,
    Frame,
    Indices,
    Loads,
    Refusal,
    no_points,
    with_weight,
)
from generator.frame.stiffness import Members


@dataclass(frozen=True, eq=False)
class Setup:
    """One load case in SI, on the frame's joints.

    nodal (n, 6) N, N·m; field (3,) m/s² on every mass; factor: the load's required factor;
    ultimate: whether yielding is permitted; held (n, 6): the supports, None: none, the load is
    balanced by the frame's and the joints' own inertia.
    """

    nodal: Array
    field: Array
    factor: float
    ultimate: bool
    held: Flags | None


@dataclass(frozen=True, eq=False)
class Held:
    """The frame with the supports of each case; its loads, in balance with inertia in the cases `eased`
    (k,), of which relief tells how."""

    frame: Frame
    loads: Loads
    eased: Indices
    relief: Relief | None


def held_by(frame: Frame, setups: tuple[Setup, ...], members: Members) -> Held | Refusal:
    """The frame with the supports of these cases, or with its inertia in balance with their loads."""
    loads, eased = as_written(frame, setups), np.flatnonzero([s.held is None for s in setups])
    held = np.array([frame.held if s.held is None else s.held for s in setups])
    relief = None
    if len(eased):
        own = Loads(loads.nodal[eased], loads.line[eased], loads.field[eased], no_points())
        found = relieved(frame, own, members)
        if isinstance(found, Refusal):
            return found
        relief, held[eased] = found, found.frame.held
        for part, balanced in (
            (loads.nodal, found.loads.nodal),
            (loads.line, found.loads.line),
            (loads.field, found.loads.field),
        ):
            part[eased] = balanced
    if (held == held[0]).all():
        held = held[0]
    frame = replace(frame, held=held)
    return Held(frame, with_weight(frame, loads), eased, relief)


def as_written(frame: Frame, setups: tuple[Setup, ...]) -> Loads:
    """The cases' loads as written."""
    nodal = np.array([s.nodal for s in setups]).reshape(len(setups), len(frame.nodes), 6)
    field = np.array([s.field for s in setups]).reshape(len(setups), 3)
    line = np.zeros((len(setups), len(frame.ends), 2, 3))
    return Loads(nodal, line, field, no_points())


def factored(loads: Loads, setups: tuple[Setup, ...]) -> Loads:
    by = np.array([s.factor for s in setups])
    return replace(
        loads,
        nodal=loads.nodal * by[:, None, None],
        line=loads.line * by[:, None, None, None],
        field=loads.field * by[:, None],
    )
