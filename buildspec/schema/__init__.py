"""The schemas of the description: one file a section, put together here and nowhere listed.

A section is added by adding `<word>.schema.json` here and `<word>.py` beside the other sections.

Keywords of our own, beside those of JSON Schema 2020-12 (an editor passes over them):

- `x-kind`: the kind of a quantity; `x-least`, `x-most` (inclusive) and `x-above` (exclusive): its
  bounds in SI; `x-stated`: a decision, which nobody measures; `x-basis`: how a value of this
  property is known where nothing says so; `x-assumed`: the value and its source that the program
  supplies where none is written, with `asks` where that flatters the vehicle and somebody has to state it;
- `x-table`: an array that may be the name of a CSV file; `x-unique`: the key by which no two
  entries may agree; `x-acyclic`: the key under which entries name others, without a circle;
- `x-refers`: the list (or lists, `*` for every entry) whose ids a text or key must be one of;
  `x-counts`: the list that has as many entries as this number says;
- `x-file`: a text that names a file of the build folder which proves something;
- `x-always`: a section that is filled also where it is not written.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

Schema = Mapping[str, Any]

FORMAT = 1
"""The version of the description's format that this program reads."""

_SUFFIX = ".schema.json"
_SHARED = "quantities"


@functools.cache
def words() -> tuple[str, ...]:
    """The words of all sections, sorted."""
    names = (f.name for f in files(__name__).iterdir() if f.name.endswith(_SUFFIX))
    return tuple(sorted(n.removesuffix(_SUFFIX) for n in names if n != _SHARED + _SUFFIX))


@functools.cache
def load(word: str) -> Schema:
    """The schema of the section `word`, or the shared one, `quantities`.

    References into a section's own `$defs` are written out, so that whoever walks a schema meets
    only references to quantities.
    """
    schema: dict[str, Any] = json.loads(_text(word))
    if word == _SHARED:
        return schema
    own = schema.pop("$defs", {})
    written_out: Schema = _inlined(schema, own)
    return written_out


def _text(word: str) -> str:
    return files(__name__).joinpath(word + _SUFFIX).read_text("utf-8")


def _inlined(schema: Any, own: Mapping[str, Any]) -> Any:
    if isinstance(schema, list):
        return [_inlined(entry, own) for entry in schema]
    if not isinstance(schema, dict):
        return schema
    ref = schema.get("$ref")
    if isinstance(ref, str) and ref.startswith("#/$defs/"):
        rest = {key: value for key, value in schema.items() if key != "$ref"}
        schema = {**own[ref.removeprefix("#/$defs/")], **rest}
    return {key: _inlined(value, own) for key, value in schema.items()}


@functools.cache
def top() -> Schema:
    """The schema of `build.yaml`: the format's number and every section."""
    sections = {word: {"$ref": word + _SUFFIX, **_heading(load(word))} for word in words()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Build",
        "description": "One vehicle, described once. A section may stand in its own file instead.",
        "type": "object",
        "additionalProperties": False,
        "required": ["format"],
        "properties": {
            "format": {
                "title": "Format",
                "description": "The version of this format.",
                "const": FORMAT,
                "examples": [FORMAT],
            },
            **sections,
        },
    }


def _heading(schema: Schema) -> dict[str, Any]:
    return {name: schema[name] for name in ("title", "description")}


def assembled() -> dict[str, str]:
    """Every schema file by its name, `build.schema.json` included: what an editor needs."""
    texts = {word + _SUFFIX: _text(word) for word in (*words(), _SHARED)}
    texts["build" + _SUFFIX] = json.dumps(top(), indent=2, ensure_ascii=False) + "\n"
    return texts


def quantity_kind(schema: Schema) -> str | None:
    """The kind of quantity a property holds, or None where it holds something else."""
    ref = schema.get("$ref")
    return _referred_kind(ref) if isinstance(ref, str) else None


@functools.cache
def _referred_kind(ref: str) -> str | None:
    head, _, name = ref.partition("#/$defs/")
    if head != _SHARED + _SUFFIX:
        return None
    kind: str = load(_SHARED)["$defs"][name]["x-kind"]
    return kind


def resolved(schema: Schema) -> Schema:
    """The schema a section's `$ref` leads to, or the schema itself."""
    ref = str(schema.get("$ref", ""))
    if ref.endswith(_SUFFIX):
        return load(ref.removesuffix(_SUFFIX))
    return schema


def child(schema: Schema, step: str | int) -> Schema | None:
    """The schema one step down, of a property, another key or an entry; None if unknown."""
    here = resolved(schema)
    if quantity_kind(schema):
        here = load(_SHARED)["$defs"]["spread"]
    if isinstance(step, int):
        return here.get("items")
    if step in here.get("properties", {}):
        found: Schema = here["properties"][step]
        return found
    other = here.get("additionalProperties")
    return other if isinstance(other, Mapping) else None


def at(path: tuple[str | int, ...]) -> Schema | None:
    """The schema that governs the place `path` of a description, or None."""
    schema: Schema | None = top()
    for step in path:
        schema = child(schema, step) if schema is not None else None
    return schema
