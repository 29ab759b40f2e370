"""Odd but sound cages: whatever can be read can be evaluated, and says so where it has no answer."""

from __future__ import annotations

import datetime
import random
import warnings
from pathlib import Path

from buildspec.read import read_folder
from generator.evaluation import Evaluation, evaluate, load_subjects

DAY = datetime.date(2026, 5, 1)
HEAD = """format: 1
vehicle: {name: Wren}
mass:
  items: [{id: car, name: Car, mass: 500 kg, x: 1 m, y: 0 m, z: 1 m}]
  conditions: [{id: run}]
  design_condition: run
cage:
  tubes:
    - {id: t, outer: 40 mm, wall: 2 mm, wall_tolerance: 10 %, material: 4130_normalized}
    - {id: u, outer: 30 mm, wall: 2 mm, wall_tolerance: 10 %, material: 6061_t6}
  helmet: {x: 0.5 m, y: 0 m, z: 0.5 m, radius: 150 mm, clearance: 20 mm}
"""
ALL_HELD = """
  nodes: [{id: a, x: 0 m, y: 0 m, z: 0 m}, {id: b, x: 1 m, y: 0 m, z: 0 m}]
  members: [{id: one, from: a, to: b, tube: t}]
  supports: [{nodes: [a, b]}]
  load_cases: [{id: one, weight: true, loads: [{at: [b], force: 1 kN, direction: {z: -1}}]}]
"""
HARDLY_PRESSED = """
  mirror: true
  wall_used: measured
  nodes: [{id: a, x: 0.6 m, y: 0.2 m, z: 0 m}, {id: b, x: 0 m, y: 0.2 m, z: 0.7 m}]
  members: [{id: one, from: a, to: a_twin, tube: t}, {id: two, from: a, to: b, tube: t}]
  supports: [{nodes: [b, a], held: pinned}]
  masses: [{id: rest, at: [a, b], rest_of: run}]
  load_cases:
    - {id: one, weight: true, loads: [{at: [a], force: 1 N, direction: {z: -1}}]}
    - {id: two, held_by: inertia, loads: [{at: [a], force: 1 N, direction: {x: 1, z: -1}}]}
"""
ROLLING_BAR = """
  nodes: [{id: a, x: 0 m, y: 0 m, z: 0 m}, {id: b, x: 1 m, y: 0 m, z: 0 m}]
  members: [{id: one, from: a, to: b, tube: t}]
  held_by: inertia
  load_cases: [{id: one, loads: [{at: [b], force: 1 kN, direction: {z: -1}}]}]
"""


def evaluated(folder: Path, text: str) -> Evaluation | None:
    """The evaluation of a description, None where it has errors; every warning is an error."""
    (folder / "build.yaml").write_text(HEAD + text, "utf-8")
    build = read_folder(folder).build
    if build is None:
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return evaluate(build, as_of=DAY, subjects=load_subjects(("mass", "cage")))


def test_a_frame_that_cannot_move_has_an_answer(tmp_path: Path) -> None:
    found = evaluated(tmp_path, ALL_HELD)
    assert found is not None
    members = [c for c in found.outcomes["cage"].checks if ".check.member." in c.id]
    assert [c.verdict for c in members] == ["holds"]


def test_a_frame_that_is_hardly_pressed_has_a_critical_load(tmp_path: Path) -> None:
    """Its supports leave it a turn, and a newton in the roll presses next to nothing."""
    found = evaluated(tmp_path, HARDLY_PRESSED)
    assert found is not None
    checks = {c.id: c for c in found.outcomes["cage"].checks}
    assert checks["cage.check.critical.two"].verdict == "holds"
    assert "is free to move along x" in checks["cage.check.critical.one"].reason


def test_a_bar_alone_cannot_be_held_by_inertia(tmp_path: Path) -> None:
    """All its mass is on one line, so nothing resists its spinning about itself: open, with the reason."""
    found = evaluated(tmp_path, ROLLING_BAR)
    assert found is not None
    check = next(c for c in found.outcomes["cage"].checks if ".check.member." in c.id)
    assert check.verdict == "open"
    assert "too few masses, or all on one line" in check.reason


def random_cage(seed: int) -> str:
    """Joints on a grid, joined at random into one frame, with or without twins, pins and a bend."""
    r = random.Random(seed)
    names = [f"n{i}" for i in range(r.randint(2, 7))]
    spots = [(x, y, z) for x in (0, 0.3, 0.6, 1) for y in (0, 0.2, 0.4) for z in (0, 0.3, 0.7)]
    at = dict(zip(names, r.sample(spots, len(names)), strict=True))
    mirror = r.random() < 0.6
    off = [n for n in names if at[n][1]]

    def name() -> str:
        chosen = r.choice(names)
        return f"{chosen}_twin" if mirror and chosen in off and r.random() < 0.25 else chosen

    pairs = {(r.choice(names[:i]), names[i]) for i in range(1, len(names))}
    pairs |= {(a, b) for a, b in ((name(), name()) for _ in range(r.randint(0, 6))) if a != b}
    pairs |= {(off[0], f"{off[0]}_twin")} if mirror and off else set()
    nodes = [f"{{id: {n}, x: {x} m, y: {y} m, z: {z} m}}" for n, (x, y, z) in at.items()]
    pins = [r.choice(("", "", "", ", pinned: start", ", pinned: both")) for _ in pairs]
    members = [
        f"{{id: m{i}, from: {a}, to: {b}, tube: {r.choice('tu')}{pin}}}"
        for i, ((a, b), pin) in enumerate(zip(sorted(pairs), pins, strict=True))
    ]
    cases = [
        f"{{id: c{i}, held_by: {r.choice(('supports', 'inertia'))}, loads: [{{at: [{name()}], "
        f"force: {r.choice(('1 N', '1 kN', '900 kN'))}, direction: {{x: {i}, z: -1}}}}]}}"
        for i in range(2)
    ]
    return f"""
  mirror: {str(mirror).lower()}
  wall_used: {r.choice(("nominal", "least", "measured"))}
  beams: {r.choice(("timoshenko", "euler"))}
  nodes: [{", ".join(nodes)}]
  members: [{", ".join(members)}]
  supports: [{{nodes: [{name()}, {name()}, {name()}], held: {r.choice(("fixed", "pinned"))}}}]
  masses: [{{id: rest, at: [{name()}, {name()}], rest_of: run}}]
  load_cases: [{", ".join(cases)}]
"""


def test_whatever_can_be_read_can_be_evaluated(tmp_path: Path) -> None:
    """Two hundred random cages; a good part of them is sound enough to be read."""
    found = [evaluated(tmp_path, random_cage(seed)) for seed in range(200)]
    read = [e for e in found if e is not None]
    assert len(read) >= 50
    for evaluation in read:
        checks = evaluation.outcomes["cage"].checks
        assert all(c.reason for c in checks if c.verdict == "open")
        assert {c.verdict for c in checks} <= {"holds", "short", "open"}
