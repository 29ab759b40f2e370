"""The same work on several things, by as many processes as there are processors.

The processes share nothing, so that what each makes does not depend on the others. They end with the one
that started them, however that ends: nobody writes for a publisher who is gone.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.connection import wait
from typing import TypeVar

from generator.revisions.stage import PublishError

MOST = 4
"""Processes at most: each takes some 300 MB."""
T = TypeVar("T")


@contextmanager
def each(
    work: Callable[..., T], given: Sequence[tuple[object, ...]], *, alone: bool = False
) -> Iterator[Iterator[T]]:
    """What `work`, a function of some module, makes of each of `given`, in their order.

    In this process where it is to be `alone`, or where there is only one thing to do or one processor.
    What fails in another process is raised here.
    """
    count = 1 if alone else min(len(given), processors(), MOST)
    if count < 2:
        yield (work(*one) for one in given)
        return
    pool = ProcessPoolExecutor(
        count, mp_context=multiprocessing.get_context("spawn"), initializer=_end_with_parent
    )
    try:
        waiting = [pool.submit(work, *one) for one in given]
        yield (one.result() for one in waiting)
    except BrokenProcessPool:
        raise PublishError("a process that made a part of it was ended from outside") from None
    finally:
        pool.shutdown(cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def first_process() -> bool:
    """Whether this process is nobody's helper, and may start helpers of its own."""
    return multiprocessing.parent_process() is None


def _end_with_parent() -> None:
    """Watch the process that started this one, and end when it does."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_watch, args=(parent.sentinel,), daemon=True).start()


def _watch(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)
