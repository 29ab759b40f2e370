"""The whole frame: symmetry, rotation, units, an independent program, clearances, other tubes."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from generator.evaluation import evaluate
from generator.frame import lanczos
from generator.frame.model import Array
from generator.results import as_data, as_text
from generator.subjects import cage_solve
from generator.subjects.cage_clearance import Body, nearest, surrounded
from generator.subjects.cage_geometry import expand
from generator.subjects.cage_model import columns_of, model_of
from generator.subjects.subject import Given
from tests.generator.subjects.cage_builds import NO_WELD, cage, detail, figures, outcome, solve
from tests.generator.subjects.scenes import DAY, check

EXAMPLE = Path(__file__).parents[3] / "example_build"
PLACES = {
    "foot": (2.0, 0.3, 0.1),
    "top": (2.0, 0.25, 0.9),
    "front": (1.0, 0.25, 0.7),
    "nose": (0.8, 0.3, 0.1),
}
PAIRS = (("foot", "top"), ("top", "front"), ("front", "nose"), ("foot", "front"), ("foot", "nose"))
ACROSS = (("foot", "foot"), ("top", "top"), ("front", "front"), ("nose", "nose"))


def written(at: Array, unit: str = "m", by: float = 1.0) -> str:
    return ", ".join(f"{float(c) * by!r} {unit}" for c in at)


def both_sides(
    turn: Array, force: Array, unit: str = "m", by: float = 1.0, newton: str = "N"
) -> str:
    """The frame with both sides typed, turned by a rotation, in units of one's choice."""
    nodes = {}
    for name, (x, y, z) in PLACES.items():
        nodes[name] = written(turn @ (x, y, z), unit, by)
        nodes[f"{name}_r"] = written(turn @ (x, -y, z), unit, by)
    members = [
        f"{{id: {a}_{b}{s}, from: {a}{s}, to: {b}{s}, tube: t}}"
        for a, b in PAIRS
        for s in ("", "_r")
    ]
    members += [f"{{id: across_{a}, from: {a}, to: {a}_r, tube: t}}" for a, _ in ACROSS]
    members += ["{id: brace, from: foot, to: top_r, tube: t}"]
    size = float(np.linalg.norm(force)) * (1.0 if newton == "N" else 1 / 4.4482216152605)
    x, y, z = (float(c) for c in turn @ force)
    load = f"{{at: [top], force: {size!r} {newton}, direction: {{x: {x!r}, y: {y!r}, z: {z!r}}}}}"
    return cage(
        nodes,
        members,
        (f"{{id: c, criterion: ultimate, factor: 1.2, loads: [{load}]}}",),
        supports=("{nodes: [foot, foot_r, nose, nose_r]}",),
        more=(NO_WELD,),
    )


STRAIGHT = np.eye(3)
FORCE = np.array((3e3, 9e3, -15e3))


def used(folder: Path, text: str) -> dict[str, float]:
    folder.mkdir(exist_ok=True)
    found = solve(folder, text)
    return {m.id: figures(found, m.id).utilisation for m in detail(found).members}


# ------------------------------------------------------------------ what must not matter


@settings(deadline=None, max_examples=8)
@given(st.floats(-3, 3), st.floats(-1.5, 1.5), st.floats(-3, 3))
def test_turning_the_whole_description_changes_nothing(a: float, b: float, c: float) -> None:
    """A frame and its load turned together bear the same: strength knows no direction.

    Tolerance: local axes, and so the order of sums, change with the turn.
    """
    import tempfile

    def about(axis: int, angle: float) -> Array:
        i, j = (k for k in range(3) if k != axis)
        turn = np.eye(3)
        turn[i, i] = turn[j, j] = math.cos(angle)
        turn[i, j], turn[j, i] = -math.sin(angle), math.sin(angle)
        return turn

    turn = about(0, a) @ about(1, b) @ about(2, c)
    with tempfile.TemporaryDirectory() as folder:
        before = used(Path(folder) / "a", both_sides(STRAIGHT, FORCE))
        after = used(Path(folder) / "b", both_sides(turn, FORCE))
    assert after == pytest.approx(before, rel=1e-7)


def test_units_change_nothing(tmp_path: Path) -> None:
    metric = used(tmp_path / "a", both_sides(STRAIGHT, FORCE))
    inches = used(tmp_path / "b", both_sides(STRAIGHT, FORCE, "in", 1 / 0.0254, "lbf"))
    assert inches == pytest.approx(metric, rel=1e-9)


def test_a_mirrored_frame_is_the_frame_with_both_sides_typed(tmp_path: Path) -> None:
    nodes = {n: written(np.array(at)) for n, at in PLACES.items()}
    members = [f"{{id: {a}_{b}, from: {a}, to: {b}, tube: t}}" for a, b in PAIRS]
    members += [f"{{id: across_{a}, from: {a}, to: {a}_twin, tube: t}}" for a, _ in ACROSS]
    members += ["{id: brace, from: foot, to: top_twin, tube: t, mirror: false}"]
    x, y, z = FORCE
    load = f"{{at: [top], force: {float(np.linalg.norm(FORCE))!r} N, direction: {{x: {x}, y: {y}, z: {z}}}}}"
    text = cage(
        nodes,
        members,
        (f"{{id: c, criterion: ultimate, factor: 1.2, loads: [{load}]}}",),
        supports=("{nodes: [foot, foot_twin, nose, nose_twin]}",),
        more=(NO_WELD, "mirror: true"),
    )
    mirrored = {n.replace("_twin", "_r"): u for n, u in used(tmp_path / "a", text).items()}
    assert mirrored == pytest.approx(used(tmp_path / "b", both_sides(STRAIGHT, FORCE)), rel=1e-9)


def test_a_load_from_the_other_side_finds_the_other_side(tmp_path: Path) -> None:
    """Without the one-sided brace, mirroring the load mirrors every utilisation."""
    text = both_sides(STRAIGHT, FORCE).replace(
        "    - {id: brace, from: foot, to: top_r, tube: t}\n", ""
    )
    other = text.replace("{at: [top],", "{at: [top_r],").replace("y: 9000.0", "y: -9000.0")
    assert other != text
    a, b = used(tmp_path / "a", text), used(tmp_path / "b", other)

    def across(name: str) -> str:
        return (
            name
            if name.startswith("across")
            else name.removesuffix("_r")
            if name.endswith("_r")
            else f"{name}_r"
        )

    assert {across(n): u for n, u in b.items()} == pytest.approx(a, rel=1e-9)


# ------------------------------------------------------------------ critical loads of bends


def test_chords_need_no_quarters() -> None:
    """The example's critical loads with its bends' chords whole and in quarters, to 1e-4, the same
    place or its twin moves most, and every section has the same forces in second order."""
    reading = read_folder(EXAMPLE)
    assert reading.build is not None
    section = reading.build.section(Cage)
    assert section is not None
    model = model_of(
        section, reading.build, Given(DAY, evaluate(reading.build, as_of=DAY).outcomes)
    )
    shares = model.zones.width / model.geometry.true_length[:, None]
    bend = model.geometry.bend
    assert bend.any()
    whole, quartered = (
        cage_solve.answer(
            model.frame,
            model.setups,
            cage_solve.About(shares, chord, columns_of(model.geometry), model.name),
        )
        for chord in (bend, np.zeros_like(bend))
    )
    for a, b in zip(whole.cases, quartered.cases, strict=True):
        assert a.critical is not None
        assert b.critical is not None
        assert a.critical.factor == pytest.approx(b.critical.factor, rel=1e-4)
        places = (whole.fine.nodes[a.critical.node], quartered.fine.nodes[b.critical.node])
        assert np.abs(places[0]) == pytest.approx(np.abs(places[1]), abs=1e-12)
        assert a.forces is not None
        assert b.forces is not None
        for kind in (slice(3), slice(3, 6)):  # forces, moments: to 1e-5 of the largest
            one, two = a.forces[..., kind], b.forces[..., kind]
            assert one == pytest.approx(two, abs=1e-5 * np.abs(two).max())


# ------------------------------------------------------------------ what is not solved


def test_a_search_that_does_not_end_leaves_the_case_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lanczos, "ROUNDS", 1)
    monkeypatch.setattr(lanczos, "STEPS", 3)
    monkeypatch.setattr(lanczos, "SMALL", 0)
    found = solve(tmp_path, both_sides(STRAIGHT, FORCE))
    got = check(found, "cage.check.member.brace")
    assert got.verdict == "open"
    assert "did not end" in got.reason
    assert check(found, "cage.check.critical.c").verdict == "open"


def test_a_frame_of_too_many_pieces_is_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cage_solve, "MOST_PIECES", 5)
    got = check(solve(tmp_path, both_sides(STRAIGHT, FORCE)), "cage.check.member.brace")
    assert got.verdict == "open"
    assert "straight pieces" in got.reason


def test_a_solution_that_does_not_balance_is_not_believed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With no error at all allowed, rounding itself is a doubt: nothing is decided then."""
    monkeypatch.setattr(cage_solve, "TRUSTED", 0.0)
    found = solve(tmp_path, both_sides(STRAIGHT, FORCE))
    verdicts = {c.verdict for c in found.checks}
    assert verdicts == {"open"}
    assert "cannot be trusted" in check(found, "cage.check.member.brace").reason
    assert outcome(found).by_id["cage.sanity.c.gap"].value is not None


# ------------------------------------------------------------------ clearances

coordinate = st.floats(-1.0, 1.0)
point = st.tuples(coordinate, coordinate, coordinate).map(np.array)


@settings(deadline=None)
@given(point, point, point, st.tuples(*[st.floats(0.0, 0.4)] * 3).map(np.array))
def test_the_gap_is_the_least_over_the_tube(a: Array, b: Array, centre: Array, half: Array) -> None:
    """Against a bounded search of scipy's along the same line, and never more than sampled."""
    body = Body(centre, half, 0.05)
    ((found,),) = nearest([body], np.array([[a, b]]), np.array([[0, 1]]), np.array([0.02]))

    def distance(s: float) -> float:
        over = np.maximum(np.abs(a + s * (b - a) - centre) - half, 0.0)
        return float(np.linalg.norm(over)) - 0.07

    sampled = min(distance(s) for s in np.linspace(0, 1, 201))
    best = min(float(minimize_scalar(distance, bounds=(0, 1), method="bounded").fun), sampled)
    assert found.gap == pytest.approx(best, abs=2e-5)
    assert found.gap <= sampled + 1e-9


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(point, point), min_size=2, max_size=12), point)
def test_looking_only_near_misses_no_tube(lines: list[tuple[Array, Array]], centre: Array) -> None:
    places = np.array([p for line in lines for p in line])
    ends = np.arange(len(places)).reshape(-1, 2)
    radius = np.linspace(0.01, 0.05, len(ends))
    body = Body(centre, np.zeros(3), 0.1)
    far = Body(centre + 1.0, np.array((0.1, 0.2, 0.3)), 0.0)
    whole = [one.gap for (one,) in nearest([body, far], places[None], ends, radius)]
    each = [
        [n.gap for (n,) in nearest([body, far], places[None], ends[i : i + 1], radius[i : i + 1])]
        for i in range(len(ends))
    ]
    assert whole == pytest.approx(np.min(each, axis=0), abs=1e-9)


def beside(force: str, keep_out: str, *more: str) -> str:
    """A cantilever of 1 m along x, pushed down at its tip, and something to keep clear of."""
    return cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, from: a, to: b, tube: t}",),
        (f"{{id: c, loads: [{{at: [b], force: {force}, direction: {{z: -1}}}}]}}",),
        supports=("{nodes: [a]}",),
        more=(NO_WELD, *more, f"keep_out: [{keep_out}]"),
    )


def test_the_clearance_shrinks_by_what_the_tube_moves(tmp_path: Path) -> None:
    """A cantilever bends toward a ball beside its tip: FL³/3EI less than unloaded."""
    ball = "{id: ball, centre: {x: 1 m, y: 0 m, z: -100 mm}, radius: 40 mm, clearance: 10 mm}"
    text = beside("200 N", ball, "beams: euler")
    found = solve(tmp_path, text)
    d = 1.75 * 0.0254
    second = math.pi * (d**4 - (d - 2 * 0.095 * 0.0254) ** 4) / 64
    moved = 200.0 / (3 * 29000 * 6894757.293168 * second)
    before = outcome(found).by_id["cage.clearance.ball.unloaded"].value
    after = outcome(found).by_id["cage.clearance.ball.case.c"].value
    assert before == pytest.approx(0.06 - d / 2, abs=1e-9)
    assert after is not None
    assert before is not None
    assert before - after == pytest.approx(moved, rel=2e-3)  # the tip also comes nearer by turning
    got = check(found, "cage.check.clearance.ball")
    assert got.verdict == "holds"
    assert got.margin == pytest.approx(after / 0.01 - 1)


def test_a_box_that_a_tube_runs_through_is_short_in_every_case(tmp_path: Path) -> None:
    box = (
        "{id: box, least: {x: 400 mm, y: -10 mm, z: -10 mm}, "
        "most: {x: 500 mm, y: 10 mm, z: 10 mm}, clearance: 1 mm}"
    )
    text = beside("200 N", box)
    got = check(solve(tmp_path, text), "cage.check.clearance.box")
    assert got.verdict == "short"
    assert got.capacity.value == pytest.approx(-1.75 * 0.0254 / 2)


def test_beyond_strength_nothing_bounds_the_movement(tmp_path: Path) -> None:
    """A tube over its limit makes a clearance open that the elastic shape would still keep."""
    ball = "{id: ball, centre: {x: 1 m, y: 0 m, z: -500 mm}, radius: 40 mm, clearance: 10 mm}"
    text = beside("1500 N", ball)
    got = check(solve(tmp_path, text), "cage.check.clearance.ball")
    assert got.verdict == "open"
    assert "over its limit" in got.reason
    assert got.closes == f"let no tube be over its limit: {got.reason}"
    said = re.search(
        r"in the case c: .*?([\d.]+) mm\b.* by the elastic calculation", got.basis_of_verdict
    )
    assert said is not None
    d = 1.75 * 25.4
    second = math.pi * (d**4 - (d - 2 * 0.095 * 25.4) ** 4) / 64
    moved = 1500.0 * 1000.0**3 / (3 * 29000 * 6.894757293168 * second)  # FL³/3EI, N and mm
    # the ball and its radius; 1.5 mm: shear, the turn of the tip, three figures
    assert float(said[1]) == pytest.approx(500.0 - 40.0 - d / 2 - moved, abs=1.5)


CROSS = {
    "a": (0.0, 0.0, 0.0),
    "f": (0.5, 0.0, 0.0),
    "g": (-0.5, 0.0, 0.0),
    "l": (0.0, -0.3, 0.0),
    "r": (0.0, 0.3, 0.0),
    "b": (0.0, 0.0, 1.0),
    "s": (0.0, 0.2, 1.0),
    "t": (0.0, -0.2, 1.0),
    "u": (0.0, 0.2, 1.2),
    "v": (0.0, -0.2, 1.2),
}


def on_a_cross(who: str, at: str) -> str:
    """A post of 1 m on a heavy cross, pushed at its top, where many joints are; nothing holds it."""
    return cage(
        {name: written(np.array(place)) for name, place in CROSS.items()},
        [
            f"{{id: {a}{b}, from: {a}, to: {b}, tube: t}}"
            for a, b in ("af", "ag", "al", "ar", "ab", "bs", "bt", "su", "tv")
        ],
        ("{id: c, held_by: inertia, loads: [{at: [b], force: 400 N, direction: {x: 1}}]}",),
        more=(
            NO_WELD,
            "beams: euler",
            f"masses: [{{id: {who}, at: [{at}], mass: 4000 kg}}, {{id: rest, at: [l, r], mass: 2000 kg}}]",
            "keep_out: [{id: ball, centre: {x: 300 mm, y: 0 m, z: 1 m}, radius: 100 mm, clearance: 10 mm}]",
        ),
    )


def test_movements_are_seen_from_what_carries_the_driver(tmp_path: Path) -> None:
    """Seen from the cross, the top moves by F h³ / 3EI of the post and F h² L / 6EI of the two arms that
    turn with its foot, each an L long cantilever from the tip's point of view; the many joints at the top
    change nothing. Within 1 % of the movement: the post has some mass of its own.
    """
    found = solve(tmp_path, on_a_cross("driver", "f, g, l, r"))
    d = 1.75 * 0.0254
    bend = 29000 * 6894757.293168 * math.pi * (d**4 - (d - 2 * 0.095 * 0.0254) ** 4) / 64
    moved = 400.0 / (3 * bend) + 400.0 * 0.5 / (6 * bend)
    before = outcome(found).by_id["cage.clearance.ball.unloaded"].value
    after = outcome(found).by_id["cage.clearance.ball.case.c"].value
    assert before == pytest.approx(0.2 - d / 2, abs=1e-9)
    assert after is not None
    assert before is not None
    assert before - after == pytest.approx(moved, rel=1e-2)
    assert check(found, "cage.check.clearance.ball").verdict == "holds"


@pytest.mark.parametrize(("who", "at"), [("ballast", "f, g, l, r"), ("driver", "f, a, g")])
def test_without_a_seat_no_movement_under_inertia_is_known(
    tmp_path: Path, who: str, at: str
) -> None:
    """Nobody carries the driver, or joints on one line do, about which the seat could turn."""
    got = check(solve(tmp_path, on_a_cross(who, at)), "cage.check.clearance.ball")
    assert got.verdict == "open"
    assert "carry `driver` or `seat`" in got.reason


@pytest.mark.parametrize(
    ("height", "verdict"), [(0.5, "holds"), (0.65, "holds"), (0.67, "open"), (1.5, "open")]
)
def test_a_helmet_that_stands_out_of_the_tubes_is_open(
    tmp_path: Path, height: float, verdict: str
) -> None:
    """Its top slopes from 0.7 m at x = 1 m to 0.9 m at 2 m: at 1.3 m a ball of 0.1 m fits under 0.76 m."""
    text = both_sides(STRAIGHT, FORCE / 100) + (
        f"  helmet: {{x: 1.3 m, y: 0 m, z: {height} m, radius: 0.1 m, padding: 1 mm, clearance: 1 mm}}\n"
    )
    got = check(solve(tmp_path, text), "cage.check.clearance.helmet")
    assert got.verdict == verdict
    assert ("not inside the tubes" in got.reason) == (verdict == "open")


@settings(deadline=None)
@given(point)
def test_what_a_box_of_joints_surrounds(at: Array) -> None:
    corners = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-0.5, 0.5)])
    assert surrounded(at[None], corners.astype(float)) == bool(abs(at[2]) <= 0.5)
    assert not surrounded(at[None], corners[corners[:, 2] > 0].astype(float))  # all in one plane


# ------------------------------------------------------------------ other tubes, spread


RACK = tuple(
    f"{{id: {name}, outer: {outer} in, wall: {wall} in, material: steel}}"
    for name, outer, wall in (
        ("t", 1.25, 0.065),
        ("thin", 1.625, 0.049),
        ("next", 1.375, 0.083),
        ("more", 1.5, 0.095),
        ("most", 1.75, 0.12),
    )
)


def test_the_named_tube_holds_when_it_is_put_in(tmp_path: Path) -> None:
    """What it would take is tried: the description with that tube holds with that margin."""
    text = both_sides(STRAIGHT, 2 * FORCE)
    rack = "\n".join(f"    - {size}" for size in RACK)
    text = text.replace("    - {id: t, outer: 1.75 in, wall: 0.095 in, material: steel}", rack)
    found = solve(tmp_path, text)
    short = [m for m in detail(found).members if m.check.verdict == "short"]
    assert short
    named = [(m, r) for m in short for r in m.remedies]
    assert named
    titles = {size.split("id: ")[1].split(",")[0] for size in RACK}
    for number, (m, r) in enumerate(named[:3]):
        assert r.tube in titles
        folder = tmp_path / str(number)
        folder.mkdir()
        ends = f"{{id: {m.id},"
        line = next(x for x in text.splitlines() if ends in x)
        mended = solve(folder, text.replace(line, line.replace("tube: t}", f"tube: {r.tube}}}")))
        got = check(mended, f"cage.check.member.{m.id}")
        assert got.verdict == "holds"
        assert got.margin == pytest.approx(r.margin, abs=0.02)  # tried in first order


def test_the_spread_of_a_margin_is_that_of_its_inputs(tmp_path: Path) -> None:
    """A cantilever, determinate: half the difference of the margins with the value moved both ways.

    A mass of 1000 kg ± 6 % and a wall of 0.1 in ± 5 %, rectangular; first order against the
    description evaluated again with each moved by one standard deviation.
    """

    def text(mass: float, wall: float) -> str:
        size = (
            f"outer: 1.75 in, wall: {{value: {wall!r} in, plus_minus: 0.005 in}}, material: steel"
        )
        made = cage(
            {"a": "0 m, 0 m, 0 m", "b": "0.2 m, 0 m, 0 m"},
            ("{id: bar, from: a, to: b, tube: t}",),
            ("{id: c, loads: [{at: [b], items: [lump], factor: 0.2, direction: {z: -1}}]}",),
            supports=("{nodes: [a]}",),
            tubes=(f"{{id: t, {size}}}",),
        )
        weight = f"{{value: {mass!r} kg, plus_minus: 60 kg}}"
        item = f"{{id: lump, name: Lump, group: g, x: 1 m, y: 0 m, z: 1 m, mass: {weight}}}"
        more = "conditions: [{id: run, title: Run}]\n  design_condition: run\n"
        return f"{made}mass:\n  items:\n    - {item}\n  {more}"

    def margin(mass: float, wall: float, name: str) -> float:
        (tmp_path / name).mkdir()
        got = check(solve(tmp_path / name, text(mass, wall)), "cage.check.member.bar").margin
        assert got is not None
        return got

    got = check(solve(tmp_path, text(1000.0, 0.1)), "cage.check.member.bar")
    mass, wall = 60.0 / math.sqrt(3), 0.005 / math.sqrt(3)
    by_mass = (margin(1000 + mass, 0.1, "a") - margin(1000 - mass, 0.1, "b")) / 2
    by_wall = (margin(1000.0, 0.1 + wall, "c") - margin(1000.0, 0.1 - wall, "d")) / 2
    assert got.margin_uncertainty == pytest.approx(math.hypot(by_mass, by_wall), rel=0.01)


# ------------------------------------------------------------------ what leaves the program


def test_the_example_is_whole_in_json() -> None:
    reading = read_folder(EXAMPLE)
    assert reading.build is not None
    found = evaluate(reading.build, as_of=DAY)
    data = json.loads(as_text(as_data(found)))
    section = reading.build.section(Cage)
    assert section is not None
    lines = [line.id for line in expand(section).lines]
    ids = {c["id"] for c in data["checks"]}
    assert {f"cage.check.member.{name}" for name in lines} <= ids
    for case in section.load_cases:
        assert f"cage.check.critical.{case.id}" in ids
        assert all(f"cage.member.{name}.case.{case.id}" in data["values"] for name in lines)
    assert len(lines) >= 60


def test_without_a_cage_no_matrix_library_is_loaded(tmp_path: Path) -> None:
    """Whoever describes no cage pays nothing for it."""
    (tmp_path / "build.yaml").write_text("format: 1\nvehicle: {name: Wren}\n", "utf-8")
    code = (
        "import sys; from generator.cli import main; "
        f"main(['check', {str(tmp_path)!r}]); "
        "print('scipy.linalg' in sys.modules, 'generator.frame.solve' in sys.modules, file=sys.stderr)"
    )
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.stderr.strip().endswith("False False"), done.stderr
