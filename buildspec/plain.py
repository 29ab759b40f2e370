"""Plain data by address: the same entry of a list is found by its id wherever it stands."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Address = tuple[str | int, ...]
"""Keys, ids of list entries (or their numbers, where they have none), from the top down."""

Edit = Literal["set", "add", "drop", "order"]


@dataclass(frozen=True, slots=True)
class Patch:
    """One edit of plain data.

    `set` replaces what stands at `address`, `add` puts something there (in a list behind the
    first of the entries `after` that is there, else at the front), `drop` takes it out, and
    `order` sorts the list there as `value`, a list of ids, says.
    """

    edit: Edit
    address: Address
    value: Any = None
    after: tuple[str, ...] = ()


def entry_ids(entries: object) -> list[str] | None:
    """The ids of a list's entries, or None where not all have one of their own."""
    if not isinstance(entries, list):
        return None
    names = [e.get("id") if isinstance(e, Mapping) else None for e in entries]
    found = [n for n in names if isinstance(n, str)]
    return found if len(found) == len(set(found)) == len(entries) else None


def spoken(name: str) -> str:
    """An id as it is read on a page: `fire_handle` → `fire handle`."""
    return name.replace("_", " ")


def called(entry: Any) -> str:
    """What an entry of a list is called: its name or title, or else its id in words."""
    own = (getattr(entry, field, "") for field in ("name", "title"))
    return next((words for words in own if words), "") or spoken(str(entry.id))


def step_into(data: Any, step: str | int) -> Any:
    """What stands one step below `data`. KeyError where nothing does."""
    if isinstance(data, list):
        return data[_number(data, step)]
    if isinstance(data, Mapping) and step in data:
        return data[step]
    raise KeyError(step)


def find(data: Any, address: Address) -> Any:
    """What stands at `address`. KeyError where nothing does."""
    for step in address:
        data = step_into(data, step)
    return data


def patched(data: Any, patches: Iterable[Patch]) -> Any:
    """A copy of `data` with the patches made. KeyError where one does not fit."""
    changed = copy.deepcopy(data)
    for patch in patches:
        _patch(changed, patch)
    return changed


def _patch(data: Any, patch: Patch) -> None:
    if patch.edit == "order":
        ranks = {name: n for n, name in enumerate(patch.value)}
        entries = find(data, patch.address)
        entries.sort(key=lambda e: ranks.get(e["id"], len(ranks)))
        return
    holder, step = find(data, patch.address[:-1]), patch.address[-1]
    if patch.edit == "drop":
        del holder[_number(holder, step) if isinstance(holder, list) else step]
    elif patch.edit == "add" and isinstance(holder, list):
        holder.insert(_behind(holder, patch.after), copy.deepcopy(patch.value))
    else:
        place = _number(holder, step) if isinstance(holder, list) else step
        holder[place] = copy.deepcopy(patch.value)


def _number(entries: list[Any], step: str | int) -> int:
    if isinstance(step, int):
        if step >= len(entries):
            raise KeyError(step)
        return step
    for number, entry in enumerate(entries):
        if isinstance(entry, Mapping) and entry.get("id") == step:
            return number
    raise KeyError(step)


def _behind(entries: list[Any], names: tuple[str, ...]) -> int:
    """The place behind the first of the names that is there, or the front."""
    for name in names:
        try:
            return _number(entries, name) + 1
        except KeyError:
            continue
    return 0
