"""A check names every value that moves it, and no value that cannot: by trying on the demonstration."""

from __future__ import annotations

import functools

import pytest

from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.subjects import SUBJECTS
from generator.subjects.subject import Subject
from tests.generator.influence import DAY, example, kinds, moved, unnamed

RUN = ("mass", "air", "speed", "parachutes", "stopping", "stability")
PERSON = ("mass", "egress", "fire", "gear", "clock", "reach", "vents", "rotating")
"""Subjects evaluated together: the others take nothing from them, and would only cost time."""
OF_RUN = (
    "venue.temperature",
    "vehicle.target_speed",
    "datum.ground",
    "aero.drag_coefficient",
    "course.run_up",
    "course.head_wind",
    "drive.engine.shift_at",
    "drive.wheel_inertia",
    "mass.items.frame_nose.z",
    "mass.limits.cg_share.most",
    "mass.weighings.first_weighing.lifts.front_27in.reading",
    "mass.weighings.first_weighing.scales.pad_3.reading",
    "parachutes.canopies.high.mass",
    "parachutes.canopies.high.attach.z",
    "parachutes.canopies.high.delay",
    "parachutes.canopies.low.speed",
    "stopping.deploy.second.below",
    "stopping.deploy.second.backup",
    "stopping.brakes.below",
    "stopping.late_by",
    "wheels.positions.front_left.x",
)
OF_CAGE = (
    "cage.nodes.stay_foot.x",
    "cage.tubes.main.wall",
    "cage.paths.main_hoop.radius",
    "cage.masses.rest.shares.0",
    "cage.weld_share",
    "cage.keep_out.left_knee.radius",
    "mass.items.frame_nose.mass",
)


@functools.cache
def before(words: tuple[str, ...]) -> tuple[Evaluation, tuple[Subject, ...]]:
    subjects = load_subjects(words)
    return evaluate(example(), as_of=DAY, subjects=subjects), subjects


@pytest.mark.parametrize("name", OF_RUN)
def test_a_run_and_its_stop_name_what_moves_them(name: str) -> None:
    assert unnamed(before(RUN)[0], name, before(RUN)[1]) == ()


@pytest.mark.parametrize("name", OF_CAGE)
def test_a_tube_names_every_value_that_shares_the_loads_out(name: str) -> None:
    words = ("mass", "air", "speed", "parachutes", "cage")
    assert unnamed(before(words)[0], name, before(words)[1]) == ()


def own() -> tuple[str, ...]:
    """Every third kind of value of what surrounds the driver."""
    known = kinds(example())
    words = {"egress", "driver", "fire", "gear", "clock", "controls", "vents", "rotating", "wheels"}
    return tuple(name for name in known.values() if name.split(".", 1)[0] in words)[::3]


@pytest.mark.parametrize("name", own())
def test_what_surrounds_the_driver_names_what_moves_it(name: str) -> None:
    assert unnamed(before(PERSON)[0], name, before(PERSON)[1]) == ()


def test_a_value_that_cannot_move_a_check_leaves_its_digest() -> None:
    """A parachute that has failed, a brake that has failed and a pull that is not late cannot count."""
    first, subjects = before(RUN)
    for name, checks in (
        ("parachutes.canopies.low.wake_loss", ("stopping.check.without_low",)),
        ("parachutes.canopies.high.wake_loss", ("stopping.check.without_high",)),
        ("stopping.brakes.torque", ("stopping.check.without_brakes",)),
        ("stopping.late_by", ("stopping.check.works", "stopping.check.without_brakes")),
        ("drive.engine.final_drive", ("parachutes.check.low.lines",)),
    ):
        after = evaluate(moved(first.build, name), as_of=DAY, subjects=subjects)
        seen = {c.id: c.fingerprint for c in first.checks}
        now = {c.id: c.fingerprint for c in after.checks}
        for check in checks:
            assert seen[check] == now[check], (name, check)
        assert seen != now, name  # it counts elsewhere


def test_every_subject_is_looked_at_somewhere() -> None:
    """What is left out computes no check: work, proof, rules and the sheet."""
    assert {*SUBJECTS} - {*RUN, *PERSON, "cage"} == {"plan", "evidence", "rules", "inspection"}
