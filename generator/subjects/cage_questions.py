"""What a cage leaves unsaid and its verdicts rest on: how it is held, and where the helmet is."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.build import Build
from buildspec.sections.cage import Cage, Support
from buildspec.sections.driver import Driver
from generator.vocabulary import Assumption, OpenItem

WORD = "cage"


def assumptions(cage: Cage) -> Iterable[Assumption]:
    """Supports of which nobody says how they hold."""
    for support in _unsaid(cage):
        yield Assumption(
            f"{WORD}.assumption.held.{'.'.join(support.nodes)}",
            f"{', '.join(support.nodes)}: how they are held is not stated, and they are taken as built in, all six "
            "motions held. Thin sheet and a bolt hold no moment: state `held: pinned` there.",
            WORD,
            "the program's rule",
        )


def open_items(cage: Cage, build: Build) -> Iterable[OpenItem]:
    """What somebody has to say before the verdicts can be relied on."""
    unsaid = tuple(_unsaid(cage))
    if unsaid:
        names = ", ".join(name for support in unsaid for name in support.nodes)
        yield OpenItem(
            f"{WORD}.held",
            WORD,
            "assumed",
            f"How the cage is held at {names} is still assumed: built in",
            "state `held: fixed` or `held: pinned`, or the `motions` held, at each of `cage.supports`",
            ref="cage.supports",
        )
    nominal = _nominal(cage)
    if nominal:
        yield OpenItem(
            f"{WORD}.walls",
            WORD,
            "assumed",
            f"The nominal wall of {', '.join(nominal)} is computed with; the mill may have delivered less",
            "measure the wall (`measured_wall`) or state the mill's `wall_tolerance`; `wall_used: nominal` says "
            "that the nominal one is meant",
            ref=f"{WORD}.tubes",
        )
    if cage.helmet is None:
        yield _helmet(build)


def _nominal(cage: Cage) -> tuple[str, ...]:
    """The sizes whose nominal wall counts though nobody asked for it."""
    bare = {t.id: t.name for t in cage.tubes if not (t.wall_tolerance or t.measured_wall)}
    if cage.wall_used is not None:
        return ()
    used = (own.tube for own in cage.every_tube if own.measured_wall is None)
    return tuple(bare[word] for word in dict.fromkeys(used) if word in bare)


def _unsaid(cage: Cage) -> Iterable[Support]:
    """Supports without `held` and `motions`, where any case is held by them."""
    by_them = any((case.held_by or cage.held_by) == "supports" for case in cage.load_cases)
    return (s for s in cage.supports if by_them and not (s.held or s.motions))


def _helmet(build: Build) -> OpenItem:
    driver = build.section(Driver)
    known = driver is not None and driver.helmet is not None
    return OpenItem(
        f"{WORD}.helmet",
        WORD,
        "missing",
        "Nothing says how far the tubes come toward the helmet under load",
        "add `helmet` with its `clearance` to the cage: its place is that of the section `driver`"
        if known
        else "describe the helmet, its padding and the clearance it needs under `cage.helmet`",
        ref="cage",
    )
