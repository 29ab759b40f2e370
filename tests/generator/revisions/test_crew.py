"""Work done by several processes: in order, with what fails, and nobody left when the publisher is gone."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from generator.revisions import crew
from generator.revisions.stage import PublishError
from tests.generator.revisions import crews


def test_products_come_in_the_order_of_the_work(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "processors", lambda: 2)
    with crew.each(crews.slow_first, [(n,) for n in range(4)]) as products:
        found = list(products)
    assert [number for number, _ in found] == [0, 1, 2, 3]
    assert os.getpid() not in {process for _, process in found}


@pytest.mark.parametrize(("alone", "processors"), [(True, 2), (False, 1)])
def test_one_processor_or_work_of_ones_own_stays_in_this_process(
    alone: bool, processors: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(crew, "processors", lambda: processors)
    with crew.each(crews.slow_first, [(1,), (2,)], alone=alone) as products:
        assert {process for _, process in products} == {os.getpid()}


def test_what_fails_there_is_raised_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "processors", lambda: 2)
    with (
        pytest.raises(OSError, match="No space left") as caught,
        crew.each(crews.failing, [(0,), (1,), (2,)]) as products,
    ):
        list(products)
    assert (caught.value.errno, caught.value.filename) == (28, "somewhere")
    with (
        pytest.raises(PublishError, match="ended from outside"),
        crew.each(crews.ended, [(1,), (1,)]) as products,
    ):
        list(products)


HELD = """
import sys, time
from generator.revisions import crew
from tests.generator.revisions import crews
if __name__ == "__main__":
    crew.processors = lambda: 2
    with crew.each(crews.writing, [(sys.argv[1],), (sys.argv[2],)]) as products:
        list(products)
"""


def test_nobody_writes_for_a_publisher_that_was_killed(tmp_path: Path) -> None:
    script = tmp_path / "held.py"
    script.write_text(HELD, "utf-8")
    paths = (tmp_path / "one", tmp_path / "two")
    root = Path(__file__).parents[3]
    held = subprocess.Popen(
        [sys.executable, script, *paths], cwd=root, env={**os.environ, "PYTHONPATH": str(root)}
    )
    try:
        _until(lambda: all(p.is_file() and p.stat().st_size > 0 for p in paths))
    finally:
        held.kill()
        held.wait()
    time.sleep(0.5)
    sizes = [p.stat().st_size for p in paths]
    time.sleep(0.5)
    assert [p.stat().st_size for p in paths] == sizes


def _until(true: Callable[[], bool]) -> None:
    for _ in range(600):
        if true():
            return
        time.sleep(0.1)
    raise AssertionError("it never came")
