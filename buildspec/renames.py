"""Giving a record another id, so that a later description can be compared with an earlier one."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from buildspec.plain import Address, find
from buildspec.references import governed
from buildspec.schema import top


class RenameError(Exception):
    """A record cannot be renamed as asked; the message says why."""


def address_of(data: Any, dotted: str) -> Address:
    """The address of the record with this dotted id. RenameError where there is none."""
    steps = tuple(int(s) if s.isdigit() else s for s in dotted.split("."))
    try:
        find(data, steps)
    except KeyError:
        raise RenameError(f"the earlier description has no `{dotted}`") from None
    return steps


def renamed(data: Any, old: str, new: str) -> Any:
    """A copy of `data` with the record `old` called `new`, and all that refers to it.

    Both are dotted ids that differ in their last part only. RenameError where they are not, where
    `old` is not there, or where `new` is there already.
    """
    address = address_of(data, old)
    place, _, name = new.rpartition(".")
    if place != old.rpartition(".")[0] or not name:
        raise RenameError(f"`{old}` and `{new}` differ in more than their last part")
    changed = copy.deepcopy(data)
    holder, step = find(changed, address[:-1]), str(address[-1])
    if isinstance(holder, list):
        if any(isinstance(e, Mapping) and e.get("id") == name for e in holder):
            raise RenameError(f"the earlier description has a `{new}` already")
        find(changed, address)["id"] = name
    else:
        if name in holder:
            raise RenameError(f"the earlier description has a `{new}` already")
        _rename_key(holder, step, name)
    _rename_references(changed, place, step, name)
    return _rename_texts(changed, old, new)


def _rename_key(holder: dict[str, Any], old: str, new: str) -> None:
    """The same mapping with one key called otherwise, in its order."""
    items = [(new if key == old else key, value) for key, value in holder.items()]
    holder.clear()
    holder.update(items)


def _rename_references(data: Any, place: str, old: str, new: str) -> None:
    """Whatever must name an entry of the list at `place`."""
    found = [
        (path, "x-refers-key" in schema)
        for path, schema, value in governed(top(), data, ())
        if value == old and _leads_to(schema, place)
    ]
    for path, is_key in found:
        holder = find(data, path[:-1])
        if is_key:
            _rename_key(holder, str(path[-1]), new)
        else:
            holder[path[-1]] = new


def _leads_to(schema: Mapping[str, Any], place: str) -> bool:
    target = schema.get("x-refers", schema.get("x-refers-key", ()))
    return any(_same(p, place) for p in ((target,) if isinstance(target, str) else target))


def _same(pattern: str, place: str) -> bool:
    steps, fixed = place.split("."), pattern.split(".")
    return len(steps) == len(fixed) and all(
        f in ("*", s) for f, s in zip(fixed, steps, strict=True)
    )


def _rename_texts(value: Any, old: str, new: str) -> Any:
    """Texts that are the dotted id itself, or one of something in the record."""
    if isinstance(value, dict):
        return {key: _rename_texts(inner, old, new) for key, inner in value.items()}
    if isinstance(value, list):
        return [_rename_texts(inner, old, new) for inner in value]
    if isinstance(value, str) and (value == old or value.startswith(f"{old}.")):
        return new + value[len(old) :]
    return value
