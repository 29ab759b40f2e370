"""Plain data against the schemas: every mistake becomes a problem in our own words, at its place.

jsonschema walks the data; the keywords that need more than it says, and those of our own, are
here. Its messages never reach a user: each keyword has one sentence below.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import referencing
from jsonschema import validators
from jsonschema.exceptions import ValidationError
from jsonschema.validators import Draft202012Validator
from referencing.jsonschema import DRAFT202012

from buildspec.diagnostics import (
    MAX_MISTAKES,
    Diagnostic,
    Note,
    closest,
    listed,
    quoted,
    too_many,
)
from buildspec.documents import Document, Path
from buildspec.kinds import KINDS, System
from buildspec.quantities import Reading, read, show, unit_of
from buildspec.schema import Schema, at, load, quantity_kind, resolved, top, words
from buildspec.values import Flaw, Value, read_value

Found = Iterator[ValidationError]


Placed = tuple[Path, Diagnostic]


def validate(document: Document) -> tuple[Placed, ...]:
    """Every mistake in a description that the schemas can see, once each, with its path.

    An empty path says that looking ended early: then nothing is known of the rest.
    """
    problems: dict[Path, Diagnostic] = {}
    for error in _validator().iter_errors(document.data):
        path = tuple(error.absolute_path)
        if is_broken(document, path):
            continue
        keyword = str(error.validator)
        key = (*path, error.message) if keyword == "required" else path
        if key not in problems and (problem := _problem(keyword, error, document, path)):
            problems[key] = problem
        if len(problems) >= MAX_MISTAKES:
            problems[()] = too_many(document.place(path)._replace(width=1))
            break
    return tuple(problems.items())


def is_broken(document: Document, path: Path) -> bool:
    """Whether a problem with this value, or with what holds it, was reported already."""
    return any(path[:n] in document.broken for n in range(len(path) + 1))


def dotted(path: Path, data: object) -> str:
    """A path as its id: `mass.items.engine.mass`. An entry goes by its `id` where it has one."""
    steps = []
    for step in path:
        try:
            data = data[step]  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            data = None
        named = (
            isinstance(step, int) and isinstance(data, Mapping) and isinstance(data.get("id"), str)
        )
        steps.append(str(data["id"] if named and isinstance(data, Mapping) else step))
    return ".".join(steps)


# --------------------------------------------------------------------------------- keywords


@functools.cache
def _validator() -> Any:
    """The validator: draft 2020-12 with our keywords, and no schema but ours within reach."""
    resources = [(f"{w}.schema.json", _resource(load(w))) for w in (*words(), "quantities")]
    extend: Any = validators.extend  # its package gives it no types
    kind = extend(
        Draft202012Validator,
        {
            "$ref": _ref,
            "properties": _properties,
            "required": _required,
            "additionalProperties": _additional,
            "uniqueItems": _unique_items,
            "x-unique": _unique,
            "format": _format,
        },
    )
    registry: Any = referencing.Registry().with_resources(resources)
    return kind({k: v for k, v in top().items() if k != "$schema"}, registry=registry)


def _resource(schema: Schema) -> Any:
    """A schema without its `$schema`, which would call in a validator without our keywords."""
    return DRAFT202012.create_resource({k: v for k, v in schema.items() if k != "$schema"})


def _properties(validator: Any, properties: Schema, instance: Any, schema: Schema) -> Found:
    """The keys of a group; a quantity is looked at directly, which a long table feels."""
    for name, inner in properties.items() if isinstance(instance, Mapping) else ():
        if name not in instance:
            continue
        if quantity_kind(inner) is None:
            yield from validator.descend(instance[name], inner, path=name, schema_path=name)
        else:
            for mistake in _ref(validator, inner["$ref"], instance[name], inner):
                mistake.path.appendleft(name)
                yield mistake


def _ref(validator: Any, ref: str, instance: Any, schema: Schema) -> Found:
    """A reference; those to a quantity are checked as one, and give one mistake each."""
    kind = quantity_kind(schema)
    if kind is None:
        yield from Draft202012Validator.VALIDATORS["$ref"](validator, ref, instance, schema)
    elif isinstance(instance, Mapping) and not _is_plain(instance):
        mistakes = list(validator.descend(instance, load("quantities")["$defs"]["spread"]))
        yield from mistakes or _flaws(instance, kind, schema)
    elif isinstance(instance, bool) or not isinstance(instance, str | int | float | Mapping):
        yield _mistake("x-kind", _no_quantity(instance, kind))
    else:
        yield from _flaws(instance, kind, schema)


def _is_plain(instance: Mapping[str, Any]) -> bool:
    """Whether a mapping is a value and perhaps a spread, both as text: nothing to look at."""
    return (
        "value" in instance
        and instance.keys() <= {"value", "plus_minus"}
        and all(isinstance(part, str) for part in instance.values())
    )


def _flaws(instance: object, kind: str, schema: Schema) -> Found:
    value = read_value(instance, kind, schema)
    if not isinstance(value, Value):
        yield _mistake("x-kind", value, value.path)


def _no_quantity(instance: object, kind: str) -> Flaw:
    name = kind.replace(" ", "_")
    advice = str(load("quantities")["$defs"][name]["errorMessage"])
    if instance is None:
        return Flaw(
            (), "value.empty", f"{KINDS[kind].words} belongs here, and nothing is written", advice
        )
    return Flaw(
        (), "value.type", f"{KINDS[kind].words} belongs here, not {_called(instance)}", advice
    )


def _mistake(keyword: str, value: object, path: Path = (), message: str = "") -> ValidationError:
    """A mistake with what its sentence needs, which jsonschema carries along unread."""
    return ValidationError(message, validator=keyword, validator_value=value, path=path)


def _required(validator: Any, names: list[str], instance: Any, schema: Schema) -> Found:
    if isinstance(instance, Mapping):
        for name in names:
            if name not in instance:
                yield _mistake("required", name, (), name)


def _additional(validator: Any, other: Any, instance: Any, schema: Schema) -> Found:
    if other is not False:
        yield from Draft202012Validator.VALIDATORS["additionalProperties"](
            validator, other, instance, schema
        )
    elif isinstance(instance, Mapping):
        known = schema.get("properties", {})
        for name in instance:
            if name not in known:
                yield _mistake("additionalProperties", known, (name,))


def _unique(validator: Any, key: str, instance: Any, schema: Schema) -> Found:
    """No two entries of a list have the same `key`."""
    if isinstance(instance, list):
        values = [entry.get(key) if isinstance(entry, Mapping) else None for entry in instance]
        yield from (
            (_mistake("x-unique", (first, key), (number, key)))
            for first, number in _repeated(values)
        )


def _unique_items(validator: Any, wanted: bool, instance: Any, schema: Schema) -> Found:
    if wanted and isinstance(instance, list):
        yield from (
            _mistake("uniqueItems", first, (number,)) for first, number in _repeated(instance)
        )


def _repeated(values: list[Any]) -> Iterator[tuple[int, int]]:
    """Pairs (first, again) of places in a list where the same text stands."""
    seen: dict[str, int] = {}
    for number, value in enumerate(values):
        if isinstance(value, str) and seen.setdefault(value, number) != number:
            yield seen[value], number


def _format(validator: Any, name: str, instance: Any, schema: Schema) -> Found:
    if name == "date" and isinstance(instance, str) and not is_date(instance):
        yield _mistake("format", name)


def is_date(text: str) -> bool:
    """Whether a text is a date as ISO 8601 writes it, `2026-09-12`."""
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return bool(re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII))


# -------------------------------------------------------------------------------- sentences


def _problem(
    keyword: str, error: ValidationError, document: Document, path: Path
) -> Diagnostic | None:
    """The problem that a mistake is to a user, or None where another problem covers it."""
    say = _SENTENCES.get(keyword)
    if say is None:
        return Diagnostic(
            "value.unfit",
            "this value does not fit here",
            document.place(path),
            str(error.schema.get("description", "")) if isinstance(error.schema, Mapping) else "",
        )
    return say(error, document, path)


def _kind(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    flaw: Any = error.validator_value
    spot = document.values.get(path)
    place = (
        spot.part(flaw.start, flaw.end)
        if spot and spot.text and flaw.end > flaw.start
        else document.place(path)
    )
    return Diagnostic(flaw.code, flaw.message, place, _in_system(flaw.help, document, path))


def is_metric(document: Document) -> bool:
    """Whether the description prints SI units first."""
    return isinstance(document.data, Mapping) and document.data.get("units") == "si"


def _in_system(advice: str, document: Document, path: Path) -> str:
    """Advice whose example is in the units that the description prints first."""
    name = quantity_kind(at(path) or {}) or ""
    if name not in KINDS or not is_metric(document):
        return advice
    us, si = KINDS[name].prints
    plain = advice.replace(f"for example `12.5 {us}`", f"for example `12.5 {si}`")
    return re.sub("for example `([^`]+)`", lambda m: f"for example `{_metric(m[1], name)}`", plain)


def _missing(error: ValidationError, document: Document, path: Path) -> Diagnostic | None:
    name = error.message
    if is_broken(document, (*path, name)) or _misspelled(name, error):
        return None
    place = (
        document.place((*path, "id")) if (*path, "id") in document.values else document.place(path)
    )
    owner = quoted(dotted(path, document.data)) if path else "the description"
    advice = (
        f"fill in its cell in the column `{path[-1] if name == 'value' else name}`"
        if place.file.endswith(".csv")
        else f"add a line such as `{example_line(name, (*path, name), metric=is_metric(document))}`"
    )
    return Diagnostic("key.missing", f"{owner} has no {quoted(name)}", place, advice)


def _misspelled(name: str, error: ValidationError) -> bool:
    """Whether a key that is missing stands there misspelled, and is reported as that."""
    known = tuple(error.schema.get("properties", {})) if isinstance(error.schema, Mapping) else ()
    given: Any = error.instance
    return any(
        key not in known and not homes_of(key) and closest(key, known) == name for key in given
    )


def example_line(name: str, path: Path, *, metric: bool = False) -> str:
    """A line that gives the key at `path` a value, from its schema's first example.

    `metric` turns an example in customary units into SI.
    """
    schema = at(path) or {}
    if name == "value" and quantity_kind(at(path[:-1]) or {}):
        schema = at(path[:-1]) or {}
    examples = schema.get("examples") or resolved(schema).get("examples")
    if examples:
        kind = quantity_kind(schema)
        first = _metric(examples[0], kind) if kind and metric else examples[0]
        return f"{name}: {first if kind and isinstance(first, str) else _as_yaml(first)}"
    here = resolved(schema)
    inner = here.get("items") or here
    lines = [
        example_line(n, (*path, *((0,) if "items" in here else ()), n), metric=metric)
        for n in inner.get("required") or list(inner.get("properties", {}))[:2]
    ]
    body = "{" + ", ".join(lines) + "}"
    return f"{name}: [{body}]" if "items" in here else f"{name}: {body}"


def _metric(value: Any, kind: str) -> Any:
    """An example in SI, rounded; what is in SI already, or in no unit, stays."""
    reading = read(value, kind) if isinstance(value, str) else None
    if not isinstance(reading, Reading) or unit_of(kind, reading.unit).system != "us":
        return value
    shown = show(reading.si, kind, System.SI, figures=3)
    return f"{shown.number.replace(',', '').replace('−', '-')} {shown.unit}"


def _as_yaml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_as_yaml(v) for v in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{k}: {_as_yaml(v)}" for k, v in value.items()) + "}"
    return (
        f'"{value}"'
        if isinstance(value, str) and re.fullmatch(r"[\d.]+|.*[:#,\[\]{}].*", value)
        else str(value)
    )


def _plural(one: str, other: str) -> bool:
    """Whether two keys differ by a final s alone."""
    return one.removesuffix("s") == other.removesuffix("s")


def _unknown(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    known: Any = error.validator_value
    group: Any = error.instance
    name = str(path[-1])
    holder = quoted(dotted(path[:-1], document.data)) if path[:-1] else "a description"
    if path[-2:-1] == path[-1:] and len(path) == 2:
        return Diagnostic(
            "key.unknown",
            f"the file holds the section {quoted(name)} itself",
            document.key(path),
            f"take the line `{name}:` out, and indent the lines below it less",
        )
    homes = homes_of(name) or (() if path[:-1] else _sections_with(name))
    near = closest(name, tuple(known))
    if name in _SPREADS and "plus_minus" in known:
        near = "plus_minus"
    if homes and near and not _plural(name, near):
        near = None  # the very key exists elsewhere
    allowed = f"allowed here: {listed(known, 30)}"
    if name[:1].isdigit():
        advice = f"inside `{{ }}` a comma ends a value: {_torn(path[-1], group)}"
    elif near:
        advice = f"did you mean `{near}`?"
    elif homes:
        advice = f"{quoted(name)} belongs under {' or '.join(f'`{h}`' for h in homes)}"
    elif name in _PAGES and not path[:-1]:
        advice = _PAGES[name]
    elif " " in name and group[path[-1]] is None:
        advice = f"inside `{{ }}` a comma ends a value: {_torn(path[-1], group)}"
    else:
        advice = allowed
    return Diagnostic(
        "key.unknown", f"{holder} takes no {quoted(name)}", document.key(path), advice
    )


_SPREADS = frozenset({"±", "+/-", "+-", "tolerance", "uncertainty"})
"""What people call a spread."""


def _torn(key: str | int, group: Any) -> str:
    """How to write what a comma inside braces has torn apart, from its second part, `5 in` of `11,5 in`."""
    keys, name = list(group), str(key)
    first = str(group[keys[keys.index(key) - 1]]) if keys.index(key) else ""
    if not re.fullmatch(r"[+\-−]?\d+", first, re.ASCII):
        return "put the text that holds the comma in double quotes"
    if re.match(r"\d{3}(?!\d)", name, re.ASCII):
        return f"write `{first}{name}`, or `{first}.{name}` if the comma was a decimal one"
    return f"write `{first}.{name}` with a decimal point"


@functools.cache
def _homes() -> Mapping[str, tuple[str, ...]]:
    """Every key of the format with the places it belongs to, as a person would say them."""
    homes: dict[str, tuple[str, ...]] = {}
    todo: list[tuple[str, Schema]] = [(word, load(word)) for word in words()]
    while todo:
        place, schema = todo.pop(0)
        for name, inner in schema.get("properties", {}).items():
            homes[name] = (*homes.get(name, ()), place)
            todo.append((f"{place}.{name}", inner))
        if "items" in schema:
            todo.append((place, schema["items"]))
    return homes


def homes_of(name: str) -> tuple[str, ...]:
    """Where a key belongs, if that is clear: one or two places, or none."""
    homes = tuple(dict.fromkeys(_homes().get(name, ())))
    return homes if len(homes) <= 2 else ()


def _sections_with(name: str) -> tuple[str, ...]:
    """The one section that has the key itself, for a key with many homes further down."""
    sections = tuple(home for home in _homes().get(name, ()) if "." not in home)
    return sections if len(sections) == 1 else ()


_PAGES: Mapping[str, str] = {
    "plan": "the plan is made from `people` and `orders`, which belong under `rules`, and from "
    "`steps`, which belong under `rules.sheets.requirements`",
    "inspection": "the inspection sheets are made from `sheets`, which belong under `rules`",
}
"""Pages of the site that are no section of the description, and what they are made from."""


_TYPES: Mapping[str, str] = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "`true` or `false`",
    "array": "a list",
    "object": "a group of keys",
}


def _called(value: object) -> str:
    """What a value is, in words."""
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, Mapping):
        return "a group of keys"
    if isinstance(value, list):
        return "a list"
    return f"the number {value}" if isinstance(value, int | float) else f"the text {quoted(value)}"


def _type(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    wanted: Any = error.validator_value
    names = [wanted] if isinstance(wanted, str) else list(wanted)
    said = " or ".join(_TYPES[n] for n in names)
    place = document.place(path)
    name = quoted(
        path[-1]
        if path and isinstance(path[-1], str)
        else dotted(path, document.data) or "the file"
    )
    if error.instance is None:
        return Diagnostic(
            "value.empty",
            f"{name} is empty",
            place,
            f"write {said}, such as `{example_line(str(path[-1]), path, metric=is_metric(document))}`{_or_not(path)}"
            if path and isinstance(path[-1], str)
            else f"write {said}, or take the line out",
        )
    written = document.values[path].text if path in document.values else ""
    advice = _type_advice(names, error.instance, written, path, metric=is_metric(document))
    return Diagnostic(
        "value.type", f"{said} belongs here, not {_called(error.instance)}", place, advice
    )


def _type_advice(
    names: list[str], instance: object, written: str, path: Path, *, metric: bool
) -> str:
    if "string" in names and "array" not in names and not isinstance(instance, Mapping | list):
        if begun := _begun(written, path):
            return f"did you mean `{begun}`?"
        return f'put it in quotes: `"{written}"`'
    if "array" in names and isinstance(instance, str) and "string" not in names:
        return f"write `[{instance[:40]}]`"
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    if path and isinstance(path[-1], str):
        return f"for example `{example_line(name, path, metric=metric)}`"
    return f"for example `- {_entry_example(path, metric=metric)}`" if "object" in names else ""


def _begun(written: str, path: Path) -> str:
    """The one example of the schema that has what was written as a part, such as `4130`; or ""."""
    examples = (at(path) or {}).get("examples", []) if written else []
    words = (e for e in examples if isinstance(e, str) and e != written)
    found = [e for e in words if written in e.split("_")]
    return found[0] if len(found) == 1 else ""


def _entry_example(path: Path, *, metric: bool) -> str:
    """An entry of a list, as a person would begin it."""
    entry = resolved(at(path) or {})
    return (
        "{"
        + ", ".join(
            example_line(name, (*path, name), metric=metric) for name in entry.get("required", [])
        )
        + "}"
    )


def _or_not(path: Path) -> str:
    """That a line may be left out, where it may."""
    required = resolved(at(path[:-1]) or {}).get("required", [])
    return "" if path[-1] in required else "; or take the line out"


_SPOKEN: Mapping[str, str] = {"metric": "si", "imperial": "us", "customary": "us", "inch": "us"}
"""What people call a system of units, by its word."""


def _digits(text: str) -> list[str]:
    """The numbers in a word: where they differ, it is another word and not the same one misspelled."""
    return re.findall(r"\d+", text)


def _enum(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    allowed: Any = error.validator_value
    if error.instance is None:
        return Diagnostic(
            "value.empty",
            f"{quoted(path[-1])} is empty",
            document.place(path),
            f"write one of {listed(allowed)}; or take the line out",
        )
    near = closest(str(error.instance), tuple(str(a) for a in allowed))
    if near and _digits(near) != _digits(str(error.instance)):
        near = None  # `SFI 3.3/5` is no slip for `SFI 3.2A/5`, but another standard
    spoken = _SPOKEN.get(str(error.instance).casefold())
    near = near or (spoken if spoken in allowed else None)
    hint = f"did you mean `{near}`? " if near else ""
    said = quoted(error.instance) if isinstance(error.instance, str) else _called(error.instance)
    more = error.schema.get("errorMessage", "") if isinstance(error.schema, Mapping) else ""
    return Diagnostic(
        "value.choice",
        f"{said} is none of the words allowed here",
        document.place(path),
        f"{hint}allowed: {listed(allowed, 40)}{'; ' if more else ''}{more}",
    )


def _pattern(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    text = str(error.instance)
    if isinstance(error.schema, Mapping) and error.schema.get("x-table"):
        return Diagnostic(
            "value.table",
            f"a list belongs here, or the name of a CSV file, not {quoted(text)}",
            document.place(path),
            "write entries that begin with `- `, or a name such as `items.csv`",
        )
    if isinstance(error.schema, Mapping) and (said := error.schema.get("errorMessage")):
        return Diagnostic(
            "value.form", f"{quoted(text)} has not the form", document.place(path), said
        )
    slug = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")[:60]
    pattern = str(error.validator_value)
    hint = f", such as `{slug}`" if re.search(pattern, slug) else ""
    begin = "" if re.search(pattern, "1") else ", beginning with a letter"
    return Diagnostic(
        "value.id",
        f"{quoted(text)} is no usable id",
        document.place(path),
        f"use lower-case letters, digits and underscores{begin}{hint}",
    )


def _length(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    if not error.instance:
        return Diagnostic(
            "value.empty",
            f"{quoted(path[-1])} is empty",
            document.place(path),
            f"write a text, such as `{example_line(str(path[-1]), path, metric=is_metric(document))}`{_or_not(path)}",
        )
    return Diagnostic(
        "value.length",
        f"this text has {len(str(error.instance))} characters",
        document.place(path),
        f"at most {error.validator_value} are allowed",
    )


def _count(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    entries = len(error.instance) if isinstance(error.instance, list | dict) else 0
    few = error.validator == "minItems"
    bound = f"at {'least' if few else 'most'} {error.validator_value}"
    said = "no entries" if not entries else f"{entries} {'entry' if entries == 1 else 'entries'}"
    return Diagnostic(
        "value.count",
        f"{quoted(dotted(path, document.data))} has {said}",
        document.place(path),
        f"{bound} {'is' if error.validator_value == 1 else 'are'} needed"
        if few
        else f"{bound} are allowed",
    )


def _some_key(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    schema: Any = error.schema
    names = (
        [n for option in schema["anyOf"] for n in option["required"]]
        if "anyOf" in schema
        else list(schema["properties"])
    )
    inner = (
        document.place((*path, "id")) if (*path, "id") in document.values else document.place(path)
    )
    return Diagnostic(
        "key.missing",
        f"{quoted(dotted(path, document.data))} has none of {listed(names)}",
        inner,
        "give at least one of them",
    )


def _bound(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    word = {"minimum": "not be less than", "maximum": "not be more than"}[str(error.validator)]
    return Diagnostic(
        "value.range",
        f"{quoted(error.instance)} is out of range",
        document.place(path),
        f"this number must {word} {error.validator_value}",
    )


def _date(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    return Diagnostic(
        "value.date",
        f"{quoted(error.instance)} is no date",
        document.place(path),
        _date_advice(str(error.instance)),
    )


def _date_advice(text: str) -> str:
    """How to write a date; what was written, where it can be read in one way alone."""
    example = "write year, month and day, such as `2026-09-12`"
    if month := re.fullmatch(r"(\d{4})-(\d{2})|(\d{1,2})[./](\d{4})", text, re.ASCII):
        first = f"{month[1] or month[4]}-{(month[2] or month[3]).zfill(2)}-01"
        return f"{example}; for a month its first day, `{first}`" if is_date(first) else example
    parts = re.fullmatch(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})", text, re.ASCII)
    if not parts:
        return example
    day, month_, year = (n.zfill(2) for n in parts.groups())
    ways = [w for w in (f"{year}-{month_}-{day}", f"{year}-{day}-{month_}") if is_date(w)]
    said = " or ".join(f"`{w}`" for w in dict.fromkeys(ways))
    return f"write year, month and day: {said}" if said else example


def _same(error: Any, document: Document, path: Path) -> Diagnostic:
    value: Any = error.validator_value
    if error.validator == "x-unique":
        first, key = (*path[:-2], value[0], value[1]), str(path[-1])
        said = "id" if key == "id" else f"`{key}`"
        name = error.instance[path[-2]][key]
        return Diagnostic(
            "id.repeated",
            f"the {said} {quoted(name)} stands here a second time",
            document.place(path),
            "give every entry its own",
            (Note(document.place(first), "the first one"),),
        )
    return Diagnostic(
        "value.repeated",
        f"{quoted(error.instance[path[-1]])} stands here a second time",
        document.place(path),
        "name it once",
        (Note(document.place((*path[:-1], value)), "the first one"),),
    )


def _const(error: ValidationError, document: Document, path: Path) -> Diagnostic:
    return Diagnostic(
        "format.version",
        f"{quoted(path[-1])} must be {error.validator_value}",
        document.place(path),
        f"write `{path[-1]}: {error.validator_value}`",
    )


_SENTENCES: Mapping[str, Callable[[ValidationError, Document, Path], Diagnostic | None]] = {
    "x-kind": _kind,
    "required": _missing,
    "additionalProperties": _unknown,
    "type": _type,
    "enum": _enum,
    "pattern": _pattern,
    "minLength": _length,
    "maxLength": _length,
    "minItems": _count,
    "maxItems": _count,
    "minProperties": _some_key,
    "anyOf": _some_key,
    "minimum": _bound,
    "maximum": _bound,
    "format": _date,
    "x-unique": _same,
    "uniqueItems": _same,
    "const": _const,
}
"""One sentence a keyword; a test holds that no keyword of the schemas is without one."""
