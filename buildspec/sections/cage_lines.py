"""Where the tubes of a cage run: joints with their twins, and the middle lines of straight and bent tubes.

Geometry alone, in m. What is written is not always sound: `cage_problems` looks at the same lines and
says so; whoever computes takes them after that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage, Member, Node, Path

Array = NDArray[np.float64]

TWIN = "_twin"
"""What stands behind the name of a joint or tube on the other side."""
STRAIGHT = math.radians(1.0)
"""Where a bent tube turns by less it has no bend: the joint lies on it."""
CHORD = math.radians(90.0 / 16)
"""The most a tube turns from one chord of a bend to the next."""


@dataclass(frozen=True, eq=False)
class Joint:
    """A joint by its name, where it is written to be, and whether it is the other side's twin."""

    name: str
    node: Node
    at: Array
    twin: bool


@dataclass(frozen=True, eq=False)
class Course:
    """A tube through joints; `twin` where it is the one of the other side."""

    name: str
    own: Member | Path
    through: tuple[str, ...]
    twin: bool


def ref_of(own: Member | Path) -> str:
    """The id of a tube in the description."""
    return f"cage.{'paths' if hasattr(own, 'radius') else 'members'}.{own.id}"


@dataclass(frozen=True, eq=False)
class Bend:
    """The bend at the corner `number` of a course: its turn in rad, how far from the corner it
    begins and ends, its length along the middle line, and the points of that line from begin to
    end, (c + 1, 3) for c chords.
    """

    number: int
    turn: float
    tangent: float
    length: float
    points: Array

    @property
    def middle(self) -> Array:
        """The point halfway round."""
        return np.asarray(self.points[len(self.points) // 2])


def joints(cage: Cage) -> dict[str, Joint]:
    """Every joint by name: the written ones in their order, each followed by its twin.

    A name that is given twice keeps its first joint.
    """
    found: dict[str, Joint] = {}
    for node in cage.nodes:
        at = np.array([node.x.si, node.y.si, node.z.si])
        found.setdefault(node.id, Joint(node.id, node, at, False))
        if has_twin(node, cage.mirror):
            name = node.id + TWIN
            found.setdefault(name, Joint(name, node, at * (1.0, -1.0, 1.0), True))
    return found


def has_twin(node: Node, mirror: bool) -> bool:
    """Whether a joint has one on the other side: it is mirrored, and off the centre plane."""
    return (mirror if node.mirror is None else node.mirror) and node.y.si != 0.0


def other_side(name: str, found: Mapping[str, Joint]) -> str:
    """The joint on the other side, or the same where it has none."""
    if name in found and found[name].twin:
        return found[name].node.id
    twin = found.get(name + TWIN)
    return name + TWIN if twin is not None and twin.twin else name


def courses(cage: Cage, found: Mapping[str, Joint]) -> tuple[Course, ...]:
    """Every tube: members, then paths, each followed by its twin.

    A tube that is its own mirror image (on the centre plane, or from side to side) has no twin. Nor has
    one to a joint that is kept to its side, unless it says so itself: its twin would go across the
    plane to that very joint, and hold it from where nobody drew a tube.
    """
    made: list[Course] = []
    for own in cage.every_tube:
        made.append(Course(own.id, own, own.through, False))
        across = tuple(other_side(name, found) for name in own.through)
        mirrored = own.mirror
        if mirrored is None:
            mirrored = cage.mirror and not any(_one_sided(name, found) for name in own.through)
        if mirrored and not _same_tube(own.through, across):
            made.append(Course(own.id + TWIN, own, across, True))
    return tuple(made)


def _same_tube(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether two tubes go through the same joints, either way round; a ring may begin at any of them."""
    if one in (other, other[::-1]):
        return True
    if one[0] != one[-1]:
        return False
    ring, turned = one[:-1], (other[:-1], other[:0:-1])
    return any(ring == way[k:] + way[:k] for way in turned for k in range(len(way)))


def _one_sided(name: str, found: Mapping[str, Joint]) -> bool:
    """Whether a joint stands off the centre plane and has no other side."""
    return name in found and found[name].at[1] != 0.0 and other_side(name, found) == name


# ------------------------------------------------------------------------------------- bends


def turns(points: Array) -> Array:
    """How far a line through points (n, 3) turns at each inner one, (n − 2,) in rad."""
    along = points[1:] - points[:-1]
    a, b = along[:-1], along[1:]
    across = a[:, (1, 2, 0)] * b[:, (2, 0, 1)] - a[:, (2, 0, 1)] * b[:, (1, 2, 0)]
    return np.asarray(np.arctan2(np.sqrt((across**2).sum(axis=1)), (a * b).sum(axis=1)))


def sharp(points: Array) -> tuple[tuple[int, float], ...]:
    """The numbers of the points at which a line turns, and by how much, in rad."""
    return tuple((k + 1, float(turn)) for k, turn in enumerate(turns(points)) if turn > STRAIGHT)


def bends(points: Array, radius: float) -> tuple[Bend, ...]:
    """The bends of a line through points (n, 3), where it turns; `radius` > 0 to the middle line."""
    return tuple(_bend(points[k - 1 : k + 2], k, turn, radius) for k, turn in sharp(points))


def _bend(three: Array, number: int, turn: float, radius: float) -> Bend:
    """The bend between the legs from the first to the second of three points, and on to the third."""
    before, after = three[1] - three[0], three[2] - three[1]
    before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
    tangent = radius * math.tan(turn / 2)
    inward = (after - before) / np.linalg.norm(after - before)
    centre = three[1] + inward * (radius / math.cos(turn / 2))
    chords = 2 * math.ceil(turn / (2 * CHORD))
    angle = np.linspace(-turn / 2, turn / 2, chords + 1)[:, None]
    forward = (before + after) / np.linalg.norm(before + after)
    points = centre + radius * (np.sin(angle) * forward - np.cos(angle) * inward)
    return Bend(number, turn, tangent, radius * turn, points)


def misfit(points: Array, radius: float) -> tuple[int, float, float] | None:
    """The first leg that is too short for its bends: its number, what they take and what it has.

    None where every bend fits. A tube that turns straight back on itself fits nowhere.
    """
    need = np.zeros(len(points))
    turn = turns(points)
    need[1:-1] = np.where(turn > STRAIGHT, radius * np.tan(np.minimum(turn, 3.14) / 2), 0.0)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1)
    taken = need[:-1] + need[1:]
    for k in np.flatnonzero(taken > length * (1.0 + 1e-9)):
        return int(k), float(taken[k]), float(length[k])
    return None


# ------------------------------------------------------------------------ where joints come out

PASSES = 20
"""How often corners are placed anew where bent tubes end at one another's corners."""


def moved(cage: Cage, found: Mapping[str, Joint], of: tuple[Course, ...]) -> dict[str, Array]:
    """Where every joint is: a corner of a bent tube at the middle of its bend, others as written.

    A tube may end at the corner of another: its own bends then follow from where that has come.
    """
    at, left = {name: joint.at for name, joint in found.items()}, of
    for _ in range(PASSES):
        new = {c.through[b.number]: b.middle for c in left for b in bends_of(c, found, at)}
        far = {name for name, place in new.items() if np.abs(place - at[name]).max() > 1e-12}
        at |= new
        left = tuple(c for c in of if far & {c.through[0], c.through[-1]})
        if not left:
            break
    return at


def traced(course: Course, found: Mapping[str, Joint], at: Mapping[str, Array]) -> Array:
    """The points a course is drawn through, (n, 3): its ends where they are, its corners as written."""
    names = course.through
    inner = [found[name].at for name in names[1:-1]]
    return np.array([at[names[0]], *inner, at[names[-1]]])


def bends_of(
    course: Course, found: Mapping[str, Joint], at: Mapping[str, Array]
) -> tuple[Bend, ...]:
    """The bends of a course, none where it is a straight member."""
    radius = getattr(course.own, "radius", None)
    return () if radius is None else bends(traced(course, found, at), radius.si)
