"""Publishing killed at any moment: the public folder is as before or complete, and nothing else."""

from __future__ import annotations

import datetime
import multiprocessing
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from generator.revisions import public as place
from generator.revisions.publish import Order, publish
from tests.generator.revisions.repositories import issue, start
from tests.generator.revisions.test_publish import content, site

FORK = multiprocessing.get_context("fork")  # the modules are there already: many trials in a second
TODAY = datetime.date(2026, 11, 25)
EVENTS = ("open", "os.", "shutil.", "subprocess.")


class Scene:
    """A repository with revisions, a public folder with the first, and what it is to become."""

    def __init__(self, root: Path) -> None:
        self.folder = start(root / "team")
        for number in range(1, 6):
            issue(self.folder, number, f"40{number - 1} lb", f"40{number} lb")
        self.public = root / "host" / "public"
        publish(Order(self.folder, self.public, TODAY, revision="rev-1"), make=site)
        (self.public / "CNAME").write_text("not ours, and to be kept", "utf-8")
        self.before = content(self.public)
        shutil.copytree(self.public, root / "saved")
        publish(Order(self.folder, root / "saved", TODAY, all=True), make=site)
        self.after = content(root / "saved")

    def reset(self) -> None:
        """The public folder with the first revision alone, and nothing beside it."""
        shutil.rmtree(self.public.parent, ignore_errors=True)
        self.public.mkdir(parents=True)
        for name, data in self.before.items():
            (self.public / name).parent.mkdir(parents=True, exist_ok=True)
            (self.public / name).write_bytes(data)

    def run(self, first: Callable[[], None] = lambda: None) -> None:
        """What a publisher's process does."""
        first()
        publish(Order(self.folder, self.public, TODAY, all=True), make=site)

    def check(self) -> bool:
        """Whether it is complete; it must be that, or as before. Every digest must stand."""
        found = content(self.public)
        assert found in (self.before, self.after)
        for entry in place.read_record(self.public).issues:
            assert place.changed(self.public, entry) == ""
        return found == self.after


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    """One scene for all trials."""
    return Scene(tmp_path_factory.mktemp("killed"))


def _counting(until: int, seen: list[int] | None = None) -> Callable[[], None]:
    """Counts what the process does with files, and kills it without warning at the number given."""
    done = [0]

    def hook(event: str, _: object) -> None:
        if event.startswith(EVENTS):
            done[0] += 1
            if seen is not None:
                seen[0] = done[0]
            if done[0] == until:
                os.kill(os.getpid(), signal.SIGKILL)

    return lambda: sys.addaudithook(hook)


def _steps(scene: Scene) -> int:
    """How many steps a whole publishing takes."""
    scene.reset()
    reader, writer = FORK.Pipe(duplex=False)

    def count() -> None:
        seen = [0]
        scene.run(_counting(-1, seen))
        writer.send(seen[0])

    child = FORK.Process(target=count)
    child.start()
    steps = int(reader.recv())
    child.join()
    assert scene.check()
    return steps


def test_killed_at_a_hundred_steps_it_is_as_before_or_complete(scene: Scene) -> None:
    steps = _steps(scene)
    assert steps > 300
    random.seed(20261125)
    moments = sorted({*random.sample(range(1, steps), 94), *range(steps - 6, steps)})
    complete = []
    for moment in moments:
        scene.reset()
        child = FORK.Process(target=scene.run, args=(_counting(moment),))
        child.start()
        child.join()
        assert child.exitcode == -signal.SIGKILL
        complete.append(scene.check())
    assert complete == sorted(complete), "once complete, it stays complete"
    assert {*complete} == {False, True}, "the moments lie on both sides of the one that counts"
    scene.reset()
    for moment in moments[40:50]:  # here what they leave behind heaps up
        child = FORK.Process(target=scene.run, args=(_counting(moment),))
        child.start()
        child.join()
        scene.check()
    scene.run()
    assert scene.check()
    left = [p.name for p in scene.public.parent.iterdir()]
    assert left == ["public"], "the next writer clears what killed ones left"


def test_killed_at_random_times_it_is_as_before_or_complete(scene: Scene) -> None:
    scene.reset()
    begun = time.perf_counter()
    scene.run()
    whole = time.perf_counter() - begun
    killed = 0
    for share in (n / 30 for n in range(30)):
        scene.reset()
        child = FORK.Process(target=scene.run)
        child.start()
        time.sleep(share * whole)
        child.kill()
        child.join()
        killed += child.exitcode == -signal.SIGKILL
        scene.check()
    assert killed > 10


def test_killed_while_making_the_first_there_is_nothing_yet(scene: Scene, tmp_path: Path) -> None:
    def run() -> None:
        _counting(60)()
        publish(Order(scene.folder, tmp_path / "new", TODAY, all=True), make=site)

    child = FORK.Process(target=run)
    child.start()
    child.join()
    assert child.exitcode == -signal.SIGKILL
    assert not (tmp_path / "new").exists()
    assert publish(Order(scene.folder, tmp_path / "new", TODAY, all=True), make=site).written
    assert [p.name for p in tmp_path.iterdir()] == ["new"]


def test_two_publishers_at_once_do_not_disturb_each_other(scene: Scene) -> None:
    """Each either publishes or is told that another is at work; the result is complete."""
    scene.reset()

    def run() -> None:
        try:
            scene.run()
        except place.PublishError as error:
            os._exit(7 if "is being written by another marginbook" in str(error) else 8)

    children = [FORK.Process(target=run) for _ in range(6)]
    for child in children:
        child.start()
    for child in children:
        child.join()
    codes = [child.exitcode for child in children]
    assert set(codes) <= {0, 7}
    assert 0 in codes
    assert scene.check()
