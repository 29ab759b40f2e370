"""The one place for what became of older formats of the description.

When a change breaks descriptions that were right before, raise `FORMAT` in `buildspec.schema` by one,
add the step from the old format to `MIGRATIONS`, and keep a folder in the old format under
`tests/specs/old/`. Old descriptions, and old revisions, then go on being read: each step takes a
document as it was written and gives it as the next format would have it. Every value keeps the place
it was written at, so that a problem still points at its line.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from buildspec.documents import Document, Path
from buildspec.schema import FORMAT

Migration = Callable[[Document], Document]

MIGRATIONS: Mapping[int, Migration] = {}
"""The step from each older format to the one after it; format 1 is the first there is."""


def migrated(
    document: Document, migrations: Mapping[int, Migration] = MIGRATIONS, to: int = FORMAT
) -> Document:
    """The document in format `to`, if it is in an older one; any other is handed back as it is."""
    given = document.data.get("format") if isinstance(document.data, dict) else None
    if not isinstance(given, int) or isinstance(given, bool) or not 1 <= given < to:
        return document
    for step in range(given, to):
        document = migrations[step](document)
    return replace(document, data={**_mapping(document.data), "format": to})


def moved(document: Document, old: Path, new: Path) -> Document:
    """The document with what stood at `old` at `new` instead, and its places with it.

    The same document where nothing stands at `old`. The mapping that `new` ends in is made if needed.
    """
    data = copy.deepcopy(document.data)
    holder = _at(data, old[:-1])
    if not isinstance(holder, dict) or old[-1] not in holder:
        return document
    value = holder.pop(str(old[-1]))
    target: Any = data
    for step in new[:-1]:
        target = target.setdefault(step, {}) if isinstance(target, dict) else target[step]
    target[new[-1]] = value
    return replace(
        document,
        data=data,
        keys={_under(path, old, new): place for path, place in document.keys.items()},
        values={_under(path, old, new): spot for path, spot in document.values.items()},
        broken=frozenset(_under(path, old, new) for path in document.broken),
    )


def _under(path: Path, old: Path, new: Path) -> Path:
    return (*new, *path[len(old) :]) if path[: len(old)] == old else path


def _at(data: Any, path: Path) -> Any:
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _mapping(data: object) -> dict[str, Any]:
    assert isinstance(data, dict)
    return data
