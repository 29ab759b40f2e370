"""Critical loads against every eigenvalue of the whole frame in pieces, found at once by LAPACK.

The search never looks at that matrix: it sees pieces from the whole frame's joints, and proves that
it missed nothing. Here it is assembled in full from the members' own matrices, and solved by scipy.
"""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import eigh

from generator.frame import buckling, tubes
from generator.frame.buckling import Critical, critical_loads, criticals
from generator.frame.lanczos import Largest
from generator.frame.model import Array, Frame, Loads, no_loads
from generator.frame.plan import motions_of
from generator.frame.recover import piece_tension
from generator.frame.solve import Ready, ready, solve
from generator.frame.stiffness import bowing, followed, members_of
from generator.frame.subdivide import Split, split
from generator.frame.tubes import finely
from tests.generator.frame.frames import (
    FIXED,
    PINNED,
    chain_of,
    held,
    nodal,
    solution,
    some_loads,
    tower,
)
from tests.generator.frame.frames import (
    tubes as tubes_of,
)

CLOSE = 2e-7
"""The shape that a factor is read from is right to some four digits, the factor to their square; the
pieces themselves make it 5e-4 too high."""


def whole(split_: Split, tension: Array) -> tuple[Array, Array]:
    """Elastic and geometric stiffness of all free motions of a split frame, assembled one by one."""
    frame = split_.frame
    members = members_of(frame)
    bow = members.turn.transpose(0, 2, 1) @ followed(members, bowing(frame, members)) @ members.turn
    size = 6 * len(frame.nodes)
    elastic, geometric = np.diag(frame.spring.ravel()), np.zeros((size, size))
    for at, stiff, own, force in zip(
        motions_of(frame.ends), members.world, bow, tension, strict=True
    ):
        elastic[np.ix_(at, at)] += stiff
        geometric[np.ix_(at, at)] += force * own
    free = np.flatnonzero(~frame.held.ravel())
    return elastic[np.ix_(free, free)], geometric[np.ix_(free, free)]


def least(split_: Split, case: int) -> float:
    """The least critical factor by all eigenvalues."""
    tension = piece_tension(split_, solution(solve(split_.whole, split_.whole_loads)))[case]
    elastic, geometric = whole(split_, tension)
    scale = 1.0 / np.sqrt(np.diag(elastic))
    pair = np.outer(scale, scale)
    value = eigh(-geometric * pair, elastic * pair, eigvals_only=True)[-1]
    return float(1.0 / value) if value > 0.0 else np.inf


def agrees(split_: Split, close: float = CLOSE) -> None:
    found = critical_loads(split_)
    assert isinstance(found, tuple)
    for case, one in enumerate(found):
        assert one is not None
        assert one.factor == pytest.approx(least(split_, case), rel=close)


def hoop(chords: int, pieces: int) -> Split:
    """A bent hoop on two feet with a brace to its top, its chords left whole."""
    angle = np.linspace(0.0, np.pi, chords + 1)
    arch = np.stack((0.5 * np.cos(angle), 0.0 * angle, 1.0 + 0.5 * np.sin(angle)), axis=1)
    feet = np.array(((0.5, 0, 0), (-0.5, 0, 0), (0.0, 1.2, 0.0)))
    nodes = np.vstack((arch, feet))
    last = chords + 1
    ends = [(i, i + 1) for i in range(chords)]
    ends += [(last, 0), (chords, last + 1), (last + 2, chords // 2)]
    frame = tubes_of(nodes, np.array(ends))
    frame = held(frame, **{f"n{last}": FIXED, f"n{last + 1}": PINNED, f"n{last + 2}": PINNED})
    loads = no_loads(frame, 3)
    loads.nodal[:, chords // 2, :3] = ((0, 0, -5e3), (2e3, 1e3, -3e3), (0, -4e3, 0))
    kept = np.arange(len(ends)) < chords
    return split(frame, loads, pieces, kept)


@pytest.mark.parametrize("seed", range(6))
def test_towers_under_loads_of_all_sorts(seed: int) -> None:
    """Line loads among them, so that axial force varies along tubes; released ends at random."""
    rng = np.random.default_rng(seed)
    frame = tower(2)
    bent = rng.random((len(frame.ends), 2)) < 0.15
    frame.released[:, :, 1:] = bent[:, :, None]
    frame = dataclasses.replace(frame, second_y=frame.second_y * rng.uniform(0.3, 1, len(bent)))
    agrees(split(frame, some_loads(frame, 3, force=2e3)))


@pytest.mark.parametrize("seed", [9, 15, 51, 229])
def test_a_mode_just_below_a_tube_that_buckles_by_itself(seed: int) -> None:
    """Tubes ten times as soft one way as the other. Beside its own load such a tube hides all else from
    the joints: these four were left open. Tolerance: the pieces make a load five times as much too high."""
    rng = np.random.default_rng(1000 + seed)
    frame = tower(1 + seed % 2)
    bent = rng.random((len(frame.ends), 2)) < 0.2 * (seed % 3)
    frame.released[:, :, 1:] = bent[:, :, None]
    soft = {k: getattr(frame, k) * rng.uniform(0.1, 1, len(bent)) for k in ("second_y", "second_z")}
    frame = dataclasses.replace(frame, **soft)
    agrees(split(frame, some_loads(frame, 3, seed, force=2e3)), close=1e-4)


@pytest.mark.parametrize("chords", [5, 12])
@pytest.mark.parametrize("pieces", [4, 5])
def test_a_hoop_whose_chords_stay_whole(chords: int, pieces: int) -> None:
    agrees(hoop(chords, pieces))


@pytest.mark.parametrize("stiff", [1.0, 1e2, 1e4, 1e6])
def test_a_slender_tube_between_joints_that_hardly_move(stiff: float) -> None:
    """The stiffer its neighbours, the nearer it comes to where it buckles between ends that are held,
    where what the joints see of it leaps: the hardest case of the search, and its limit."""
    frame = chain_of(((0, 0, 0), (0, 0, 1), (0, 0, 2), (0, 0, 3)), area=1e6, torsion=1e2)
    by = np.array((stiff, 1.0, stiff))
    second = {k: getattr(frame, k) * by for k in ("second_y", "second_z", "torsion")}
    frame = held(dataclasses.replace(frame, **second), n0=FIXED, n3=(1, 1, 0, 1, 1, 1))
    agrees(split(frame, nodal(frame, (3, (0, 0, -1)))))


def square() -> Split:
    """A column as stiff both ways: its two least critical loads are one."""
    frame = held(chain_of(((0, 0, 0), (0, 0, 1)), area=1e6, torsion=1e2), n0=FIXED)
    return split(frame, nodal(frame, (1, (0, 0, -1))))


def between() -> Split:
    """A column whose ends neither turn nor sway: what buckles is between its joints alone."""
    frame = held(
        chain_of(((0, 0, 0), (0, 0, 1)), area=1e6, torsion=1e2), n0=FIXED, n1=(1, 1, 0, 1, 1, 1)
    )
    return split(frame, nodal(frame, (1, (0, 0, -1))))


def test_two_modes_of_one_load() -> None:
    agrees(square())


def fine_of(split_: Split) -> tuple[tubes.Fine, Array]:
    of = ready(split_.whole)
    assert isinstance(of, Ready)
    tension = piece_tension(split_, solution(solve(split_.whole, split_.whole_loads)))
    return finely(split_, of), tension


@pytest.mark.parametrize("share", [0.5, 0.999, 0.99999, 1.00001, 1.001, 3.0])
def test_what_is_proven_is_true(share: float) -> None:
    """Factorised tangents and signs of eliminated pivots against the eigenvalues of the whole: just
    below and just above the critical load, and far beyond it."""
    towers = split(tower(2), some_loads(tower(2), 3, force=2e3))
    for parts in (hoop(5, 4), square(), between(), towers):
        fine, tension = fine_of(parts)
        for case in range(len(tension)):
            by = share * least(parts, case)
            tangent = fine.tangent(tension[case : case + 1] * by, exact=False)
            elastic, geometric = whole(parts, by * tension[case])
            truly = np.linalg.eigvalsh(elastic + geometric)[0] > 0.0
            assert truly == (share < 1.0)
            assert tubes.resists(fine, tangent, fine.plan.sets(np.array([case]))).tolist() == [
                truly
            ]


def test_a_shape_that_misses_the_least_load_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search is given the shape of the second mode: proof fails below it, and the search goes on to
    the first. A column twice as stiff one way as the other has them at 1 and 2."""
    frame = held(
        chain_of(((0, 0, 0), (0, 0, 1)), area=1e6, torsion=1e2, second_y=1.0, second_z=2.0),
        n0=FIXED,
    )
    parts = split(frame, nodal(frame, (1, (0, 0, -1))))
    fine, tension = fine_of(parts)
    true, proven = buckling.largest, []

    def wrongly(*given: object) -> Largest:
        out = true(*given)  # type: ignore[arg-type]
        if proven:
            return out
        second = np.isin(fine.plan.free % 6, (0, 4)) * 1.0
        return Largest(out.value / 1.95, second[None], out.found)

    def recorded(*given: object) -> Array:
        proven.append(resists(*given))  # type: ignore[arg-type]
        return proven[-1]

    resists = buckling.resists
    monkeypatch.setattr(buckling, "largest", wrongly)
    monkeypatch.setattr(buckling, "resists", recorded)
    found = criticals(fine, tension)[0]
    assert isinstance(found, Critical)
    assert found.factor == pytest.approx(least(parts, 0), rel=CLOSE)
    assert [p.tolist() for p in proven] == [[False], [True]]


def test_without_proof_there_is_no_number(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tangent that never counts as one that stands leaves every case open."""
    monkeypatch.setattr(buckling, "resists", lambda *given: np.zeros(len(given[2]), dtype=bool))
    fine, tension = fine_of(hoop(5, 4))
    assert criticals(fine, tension) == (None, None, None)


def test_loads_that_only_pull_have_no_critical_load() -> None:
    frame: Frame = held(chain_of(((0, 0, 0), (0, 0, 1)), area=1e6, torsion=1e2), n0=FIXED)
    loads: Loads = nodal(frame, (1, (0, 0, 1)))
    fine, tension = fine_of(split(frame, loads))
    found = criticals(fine, tension)[0]
    assert found is not None
    assert found.factor == np.inf


def test_a_small_frame_is_solved_without_scipy() -> None:
    """Loading it takes longer than solving the frame: only big frames and mechanisms need it."""
    code = (
        "import sys; from tests.generator.frame.frames import some_loads, tower\n"
        "from generator.frame.buckling import critical_loads\n"
        "from generator.frame.figures import figures\n"
        "from generator.frame.inertia import relieved\n"
        "from generator.frame.second_order import second_order\n"
        "from generator.frame.solve import solve\n"
        "from generator.frame.subdivide import split\n"
        "frame = tower(3); loads = some_loads(frame, 2)\n"
        "figures(frame, loads, solve(frame, loads)); relieved(frame, loads)\n"
        "parts = split(frame, loads); second_order(parts); critical_loads(parts)\n"
        "print(any(m.startswith('scipy') for m in sys.modules))"
    )
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == "False", done.stderr
