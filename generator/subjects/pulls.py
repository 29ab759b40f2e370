"""Pulls of parachutes on the axles: what the tires must hold sideways wherever in their cones they point."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from generator.subjects.stability_wind import Footing

Axles = tuple[float, float]
"""A figure of the front and of the rear axle."""


@dataclass(frozen=True, slots=True)
class Pull:
    """A force in N anywhere within `cone`, rad, of straight aft. It acts `station` m behind the front axle,
    `height` m above the ground and `offset` m to the right of the CG.
    """

    force: float
    cone: float
    station: float
    height: float
    offset: float

    @property
    def aft(self) -> float:
        """Its part along the vehicle on the rim of the cone, N."""
        return self.force * math.cos(self.cone)

    @property
    def across(self) -> float:
        """Its part across the vehicle on the rim of the cone, N."""
        return self.force * math.sin(self.cone)


@dataclass(frozen=True, slots=True)
class Side:
    """What an axle must hold sideways, and the load it stands on then, both in N."""

    need: float
    load: float

    def used(self, friction: float) -> float:
        """The part of the grip that is used; endless where the axle carries nothing."""
        grip = friction * self.load
        return self.need / grip if grip > 0.0 else math.inf if self.need > 0.0 else 0.0


def lifted(pulls: Iterable[Pull], wheelbase: float) -> Axles:
    """What pulls straight up their cones take off the front and the rear axle, N."""
    known = tuple(pulls)
    rear = sum(p.across * p.station for p in known) / wheelbase
    return sum(p.across for p in known) - rear, rear


def round_the_rim(
    pulls: Iterable[Pull], level: Axles, wheelbase: float, friction: float
) -> tuple[Side, Side]:
    """Front and rear axle, each where pulls that point one way round the rims of their cones use most of its grip.

    `level` are the axle loads in N with the pulls neither up nor down. A pull to the side and up takes
    load off the very tires that hold it: with the load N, straight to the side D, straight up U, the
    worst is D/√(N² − U²). Moments are about the front axle, on the CG's plane; both senses of the side
    count, whichever way an attachment is off that plane.
    """
    known = tuple(pulls)
    around = np.radians(np.arange(360.0))
    side = sum(p.across for p in known) * np.sin(around)
    turned = sum(p.across * p.station for p in known) * np.sin(around)
    rear = (turned - sum(p.aft * p.offset for p in known)) / wheelbase
    worst = []
    for need, at_rest, up in zip(
        (np.abs(side - rear), np.abs(rear)), level, lifted(known, wheelbase), strict=True
    ):
        load = np.maximum(at_rest - up * np.cos(around), 0.0)
        grip = friction * load
        bare = np.where(need > 0.0, np.inf, 0.0)
        used = np.where(grip > 0.0, need / np.where(grip > 0.0, grip, 1.0), bare)
        n = int(
            np.lexsort((need, used))[-1]
        )  # of several without any grip, the one with most to hold
        worst.append(Side(float(need[n]), float(load[n])))
    return worst[0], worst[1]


def over_the_rim(
    pulls: Iterable[Pull], level: Axles, wheelbase: float, on: Footing
) -> tuple[float, float]:
    """Overturning and righting moment, N·m, where pulls that point one way round the rims come nearest to tipping.

    A pull to the side at its height turns the vehicle about the line through the outer wheels, and one that
    points up as well takes load off them. The tires hold the side, so that nothing of it moves the vehicle.
    """
    known = tuple(pulls)
    around = np.radians(np.arange(360.0))
    up, side = np.cos(around), np.sin(around)
    turned = sum(p.across * p.height for p in known) * side
    raised = sum(p.across * p.offset for p in known) * up
    loads = [load - off * up for load, off in zip(level, lifted(known, wheelbase), strict=True)]
    worst, most = (0.0, math.inf), -math.inf
    for sign, outer in ((1.0, on.right), (-1.0, on.left)):
        pairs = zip(loads, outer, strict=True)
        righting = sum(n * sign * (y - on.gravity) for n, y in pairs) + sign * raised
        over = np.maximum(sign * turned, 0.0)
        used = np.where(righting > 0.0, over / np.where(righting > 0.0, righting, 1.0), np.inf)
        n = int(used.argmax())
        if used[n] > most:
            worst, most = (float(over[n]), float(righting[n])), float(used[n])
    return worst
