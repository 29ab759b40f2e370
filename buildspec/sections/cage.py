"""The section `cage`: the frame of tubes around the driver, its loads, and what is prescribed.

Joints are declared: tubes meet where they name the same one, never because they end near each
other. `cage_lines` puts the twins of the other side in and traces the bent tubes, `cage_problems`
says what a schema cannot.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Basis, Quantity
from buildspec.sections.cage_problems import look
from buildspec.sections.named import Named

Forming = Literal["seamless", "drawn over mandrel", "welded"]
Pinned = Literal["start", "end", "both"]
HeldBy = Literal["supports", "inertia"]
WallUsed = Literal["nominal", "measured", "least"]
Beams = Literal["timoshenko", "euler"]
Held = Literal["fixed", "pinned"]
Motion = Literal["x", "y", "z", "turn_x", "turn_y", "turn_z"]
Criterion = Literal["yield", "ultimate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """A joint. `mirror` None follows the section."""

    id: str
    x: Quantity
    y: Quantity
    z: Quantity
    mirror: bool | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube(Named):
    """A size of round tube. `material` is the id of one of the section's, or of the table's."""

    id: str
    title: str = ""
    outer: Quantity
    wall: Quantity
    wall_tolerance: Quantity | None = None
    measured_wall: Quantity | None = None
    material: str
    forming: Forming | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material(Named):
    """A material of the team's own."""

    id: str
    title: str = ""
    modulus: Quantity
    poisson: Quantity
    density: Quantity
    yield_strength: Quantity
    ultimate_strength: Quantity
    welded_yield: Quantity | None = None
    welded_ultimate: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Member(Named):
    """A straight tube between two joints."""

    id: str
    title: str = ""
    from_: str
    to: str
    tube: str
    group: str = ""
    pinned: Pinned | None = None
    mirror: bool | None = None
    effective_length: Quantity | None = None
    measured_wall: Quantity | None = None
    measured_wall_twin: Quantity | None = None
    inspection_hole: Quantity | None = None
    inspection_hole_twin: Quantity | None = None
    basis: Basis | None = None
    source: str = ""

    @property
    def through(self) -> tuple[str, ...]:
        """The joints it goes through."""
        return (self.from_, self.to)


@dataclass(frozen=True, slots=True, kw_only=True)
class Path(Named):
    """A bent tube: straight legs between the joints `through`, with a bend where they turn."""

    id: str
    title: str = ""
    through: tuple[str, ...]
    radius: Quantity
    tube: str
    group: str = ""
    pinned: Pinned | None = None
    mirror: bool | None = None
    thinning: Quantity | None = None
    effective_length: Quantity | None = None
    measured_wall: Quantity | None = None
    measured_wall_twin: Quantity | None = None
    inspection_hole: Quantity | None = None
    inspection_hole_twin: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """Joints that are held; `motions` goes before `held`; with neither, all six motions are."""

    nodes: tuple[str, ...]
    held: Held | None = None
    motions: tuple[Motion, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeSet(Named):
    """Joints under one name."""

    id: str
    title: str = ""
    nodes: tuple[str, ...]
    twins: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A point of the vehicle: x aft, y to the driver's right, z up."""

    x: Quantity
    y: Quantity
    z: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """Parts along the axes; only their ratio counts, and what is not given is 0."""

    x: Quantity | None = None
    y: Quantity | None = None
    z: Quantity | None = None

    @property
    def parts(self) -> tuple[float, float, float]:
        """The three numbers."""
        x, y, z = (0.0 if q is None else q.si for q in (self.x, self.y, self.z))
        return x, y, z


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One force: `force`, or `factor` × the weight of `condition` or `items`, or × a `result`,
    or a `part` of a shipped load case. `shares` has an entry for each of `at`, or is empty.
    """

    at: tuple[str, ...]
    shares: tuple[Quantity, ...] = ()
    force: Quantity | None = None
    condition: str = ""
    items: tuple[str, ...] = ()
    result: str = ""
    part: str = ""
    factor: Quantity | None = None
    direction: Direction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase(Named):
    """Forces that act together, and what they are held against."""

    id: str
    title: str = ""
    text: str = ""
    shipped: str = ""
    loads: tuple[Load, ...]
    criterion: Criterion | None = None
    factor: Quantity
    weight: bool = False
    held_by: HeldBy | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weld:
    """Joints that are not welded, or that have strengths of their own."""

    nodes: tuple[str, ...]
    welded: bool = True
    yield_strength: Quantity | None = None
    ultimate_strength: Quantity | None = None
    zone: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mass(Named):
    """What is fixed to the frame: `mass`, or that of `items`, or the rest of a condition."""

    id: str
    title: str = ""
    at: tuple[str, ...]
    shares: tuple[Quantity, ...] = ()
    mass: Quantity | None = None
    items: tuple[str, ...] = ()
    rest_of: str = ""
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A size that is allowed: at least this diameter with at least this wall, of one of `materials`, or
    of any where there are none."""

    outer: Quantity
    wall: Quantity
    materials: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Prescription:
    """What the rule sheet asks of every tube of some groups."""

    id: str
    groups: tuple[str, ...]
    sizes: tuple[Size, ...] = ()
    wall_tolerance: Quantity | None = None
    materials: tuple[str, ...] = ()
    forming: tuple[Forming, ...] = ()
    longest: Quantity | None = None
    least_bend: Quantity | None = None
    wall_measured: bool = False
    inspection_hole: Quantity | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Helmet:
    """The helmet as a ball; without x, y, z and radius it is the one of the section `driver`."""

    x: Quantity | None = None
    y: Quantity | None = None
    z: Quantity | None = None
    radius: Quantity | None = None
    padding: Quantity
    clearance: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Space(Named):
    """A ball (`centre`, `radius`) or a box (`least`, `most`) that no tube may enter."""

    id: str
    title: str = ""
    centre: Point | None = None
    radius: Quantity | None = None
    least: Point | None = None
    most: Point | None = None
    clearance: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cage:
    """The section as a whole."""

    mirror: bool = False
    nodes: tuple[Node, ...]
    tubes: tuple[Tube, ...]
    materials: tuple[Material, ...] = ()
    members: tuple[Member, ...] = ()
    paths: tuple[Path, ...] = ()
    wall_used: WallUsed | None = None
    beams: Beams = "timoshenko"
    held_by: HeldBy = "supports"
    supports: tuple[Support, ...] = ()
    masses: tuple[Mass, ...] = ()
    node_sets: tuple[NodeSet, ...] = ()
    load_cases: tuple[LoadCase, ...]
    effective_length: Quantity
    weld_share: Quantity
    weld_zone: Quantity
    welds: tuple[Weld, ...] = ()
    prescribed: tuple[Prescription, ...] = ()
    helmet: Helmet | None = None
    keep_out: tuple[Space, ...] = ()
    baseline: str = ""
    mass_items: tuple[str, ...] = ()
    mass_difference: Quantity
    feed_mass: bool = False

    @property
    def every_tube(self) -> tuple[Member | Path, ...]:
        """The straight tubes, then the bent ones, without twins."""
        return (*self.members, *self.paths)


def problems(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """What a schema cannot say."""
    yield from look(section, build)
