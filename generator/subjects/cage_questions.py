"""What a cage leaves unsaid and its verdicts rest on: how it is held, and where the helmet is."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.build import Build
from buildspec.sections.cage import Cage, Support
from buildspec.sections.driver import Driver
from generator.subjects.cage_geometry import joint_called
from generator.vocabulary import Assumption, OpenItem

WORD = "cage"


def assumptions(cage: Cage) -> Iterable[Assumption]:
    """Supports of which nobody says how they hold."""
    for support in _unsaid(cage):
        yield Assumption(
            f"{WORD}.assumption.held.{'.'.join(support.nodes)}",
            f"{_names(support)}: how they are held is not stated, and they are taken as built in, all six "
            "motions held. Thin sheet and a bolt hold no moment: state `held: pinned` there.",
            WORD,
            "the program's rule",
        )


def open_items(cage: Cage, build: Build, nominal: tuple[str, ...]) -> Iterable[OpenItem]:
    """What somebody has to say before the verdicts can be relied on; `nominal`: names of the sizes of
    whose walls nobody knows more."""
    unsaid = tuple(_unsaid(cage))
    if unsaid:
        names = ", ".join(map(_names, unsaid))
        yield OpenItem(
            f"{WORD}.held",
            WORD,
            "assumed",
            f"How the cage is held at {names} is still assumed: built in",
            "state `held: fixed` or `held: pinned`, or the `motions` held, at each of `cage.supports`",
            ref="cage.supports",
        )
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


def _names(support: Support) -> str:
    """What its joints are called."""
    return ", ".join(map(joint_called, support.nodes))


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
