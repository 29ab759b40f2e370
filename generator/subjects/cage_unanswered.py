"""Load cases without an answer, as open items: one for each reason, with everything that waits for it.

Every tube and space that could not be judged stays a check of its own; sixty items that say the same
would hide the one thing there is to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set

from generator.subjects.cage_detail import CaseLine, Detail
from generator.subjects.cage_members import WORD
from generator.vocabulary import Check, OpenItem


def open_items(detail: Detail) -> Iterator[OpenItem]:
    """One item for the cases that lack an answer for the same reason."""
    alike: dict[str, list[CaseLine]] = {}
    for case in detail.cases:
        if case.why:
            alike.setdefault(case.why, []).append(case)
    tubes = _open((m.check for m in detail.members), detail.told)
    titles = {f"{case.title} has no answer" for cases in alike.values() for case in cases}
    spaces = _open((s.check for s in detail.spaces), titles)
    for why, cases in alike.items():
        yield _item(why, cases, tubes, spaces)


def _open(checks: Iterable[Check], reasons: Set[str]) -> tuple[str, ...]:
    """The ids of those that are open for one of these reasons."""
    return tuple(c.id for c in checks if c.verdict == "open" and c.reason in reasons)


def _item(
    why: str, cases: list[CaseLine], tubes: tuple[str, ...], spaces: tuple[str, ...]
) -> OpenItem:
    criticals = (c.critical for c in cases if c.critical)
    own = tuple(check.id for check in criticals if check.verdict == "open")
    counts = ((len(tubes), "tube"), (len(spaces), "space"))
    waiting = " and ".join(f"{n} {word}{'s' * (n > 1)}" for n, word in counts if n)
    wait = "waits" if len(tubes) + len(spaces) == 1 else "wait"
    said = f", and {waiting} {wait} for it" if waiting else ""
    return OpenItem(
        f"{WORD}.case.{cases[0].id}.open",
        WORD,
        "open",
        f"{'; '.join(case.title for case in cases)}: no answer{said}",
        f"remove what stands in the way: {why}",
        (*own, *tubes, *spaces),
        f"{WORD}.load_cases.{cases[0].id}",
    )
