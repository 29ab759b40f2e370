"""Schemas, records and the kinds of quantity say the same; editors get what they need."""

from __future__ import annotations

import dataclasses
import enum
import json
import typing
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
import referencing
from jsonschema import Draft202012Validator
from referencing.jsonschema import DRAFT202012

from buildspec import references, validate
from buildspec.fill import hints, key_of, plain_hint
from buildspec.kinds import KINDS
from buildspec.quantities import Quantity, Reading, read
from buildspec.schema import assembled, load, quantity_kind, top, words
from buildspec.sections import class_name, records
from buildspec.values import Value, read_value

Schema = Mapping[str, Any]


def properties(schema: Schema, name: str) -> Iterator[tuple[str, Schema]]:
    """Every property, entry and other key of a schema, with its dotted name."""
    yield name, schema
    for key, inner in schema.get("properties", {}).items():
        yield from properties(inner, f"{name}.{key}")
    for key in ("items", "additionalProperties"):
        if isinstance(schema.get(key), Mapping):
            yield from properties(schema[key], f"{name}[]")


EVERY = [pair for word in words() for pair in properties(load(word), word)]
IDS = [name for name, _ in EVERY]


def test_every_schema_has_its_record_and_the_other_way_round() -> None:
    assert set(records()) == set(words())
    assert [class_name(w) for w in ("mass", "weigh_bridge")] == ["Mass", "WeighBridge"]


@pytest.mark.parametrize("word", sorted(set(words()) - {"units"}))
def test_schema_and_record_have_the_same_names(word: str) -> None:
    compare(load(word), records()[word], word)


def compare(schema: Schema, record: type, name: str) -> None:
    """Names, and what is required, agree all the way down."""
    fields = {key_of(f.name): f for f in dataclasses.fields(record)}
    assert set(fields) == set(schema["properties"]), name
    for key, inner in schema["properties"].items():
        field = fields[key]
        has_default = (
            field.default is not dataclasses.MISSING
            or field.default_factory is not dataclasses.MISSING
        )
        must_come = key in schema.get("required", ()) or "x-assumed" in inner
        assert must_come != has_default, f"{name}.{key}: required, or with a default?"
        compare_hint(inner, hints(record)[field.name], f"{name}.{key}")


def compare_hint(schema: Schema, hint: Any, name: str) -> None:
    hint = plain_hint(hint)
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if quantity_kind(schema):
        assert hint is Quantity, name
    elif dataclasses.is_dataclass(hint):
        compare(schema, typing.cast(type, hint), name)
    elif origin is tuple:
        assert "array" in schema["type"], name
        compare_hint(schema["items"], arguments[0], f"{name}[]")
    elif origin is typing.Literal:
        assert list(schema["enum"]) == list(arguments), name
    elif origin is not None and issubclass(origin, Mapping):
        compare_hint(schema["additionalProperties"], arguments[1], f"{name}[]")
    elif isinstance(hint, type) and issubclass(hint, enum.Enum):
        assert sorted(schema["enum"]) == sorted(hint), name
    else:
        plain = {str: "string", int: "integer", bool: "boolean", float: "number"}
        kind = schema.get("type")
        first = kind[0] if isinstance(kind, list) else kind
        assert "enum" in schema or first == plain.get(hint, "string"), name


def test_a_default_in_the_schema_is_the_default_of_the_record() -> None:
    for word in sorted(set(words()) - {"units"}):
        for record, schema in pairs(records()[word], load(word)):
            for field in dataclasses.fields(record):
                stated = schema["properties"][key_of(field.name)].get("default")
                if stated is not None:
                    assert field.default == stated, f"{record.__name__}.{field.name}"


def pairs(record: type, schema: Schema) -> Iterator[tuple[type, Schema]]:
    """Every record below a section with its schema."""
    yield record, schema
    for name, written in hints(record).items():
        inner = schema["properties"][key_of(name)]
        hint = plain_hint(written)
        several = typing.get_origin(hint) is tuple
        below = typing.get_args(hint)[0] if several else hint
        if dataclasses.is_dataclass(below) and below is not Quantity:
            yield from pairs(typing.cast(type, below), inner["items"] if several else inner)


@pytest.mark.parametrize(("name", "schema"), EVERY, ids=IDS)
def test_every_property_explains_itself(name: str, schema: Schema) -> None:
    assert schema["title"]
    assert schema["description"].endswith(".")
    simple = schema.get("type") not in ("object", "array", ["array", "string"])
    if simple and name != "units":
        assert schema["examples"], name


@pytest.mark.parametrize(("name", "schema"), EVERY, ids=IDS)
def test_every_example_is_valid(name: str, schema: Schema) -> None:
    kind = quantity_kind(schema)
    for example in schema.get("examples", ()):
        if kind:
            assert isinstance(read_value(example, kind, schema), Value), (name, example)
        else:
            plain_validator(schema).validate(example)


@pytest.mark.parametrize(("name", "schema"), EVERY, ids=IDS)
def test_what_the_program_supplies_can_be_read(name: str, schema: Schema) -> None:
    assumed = schema.get("x-assumed")
    if assumed:
        kind = quantity_kind(schema)
        assert kind
        assert isinstance(read_value(assumed["value"], kind, schema), Value), name
        assert assumed["source"], name


@pytest.mark.parametrize(("name", "schema"), EVERY, ids=IDS)
def test_objects_are_closed_and_keep_to_what_editors_know(name: str, schema: Schema) -> None:
    assert not {"unevaluatedProperties", "prefixItems", "oneOf"} & set(schema), name
    if schema.get("type") == "object":
        assert "additionalProperties" in schema, name


def test_every_keyword_of_the_schemas_has_a_sentence() -> None:
    silent = {
        "$schema",
        "$ref",
        "title",
        "description",
        "examples",
        "default",
        "properties",
        "items",
        "propertyNames",
        "if",
        "then",
        "else",
        "allOf",
        "x-kind",
        "x-least",
        "x-most",
        "x-above",
        "x-stated",
        "x-assumed",
        "x-basis",
        "x-table",
        "x-always",
        "x-file",
        "errorMessage",
    }
    spoken = set(validate._SENTENCES) | set(references._LOOKS)
    used = {key for _, schema in EVERY for key in schema}
    assert used <= silent | spoken, used - silent - spoken


def plain_validator(schema: Schema) -> Draft202012Validator:
    """What an editor does: jsonschema alone, without our keywords."""
    resources = [
        (f"{w}.schema.json", DRAFT202012.create_resource(dict(load(w))))
        for w in (*words(), "quantities")
    ]
    registry: Any = referencing.Registry().with_resources(resources)
    return Draft202012Validator(dict(schema), registry=registry)


def test_the_schemas_are_valid_and_know_only_each_other() -> None:
    for text in assembled().values():
        Draft202012Validator.check_schema(json.loads(text))
    assert set(assembled()) == {f"{w}.schema.json" for w in (*words(), "quantities", "build")}
    assert "http" not in json.dumps({**top(), "$schema": ""})


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_quantities_schema_agrees_with_the_kinds(kind: str) -> None:
    schema = load("quantities")["$defs"][kind.replace(" ", "_")]
    known = KINDS[kind]
    assert schema["x-kind"] == kind
    assert known.words in schema["errorMessage"].lower()
    for unit in known.units:
        if unit.symbol not in ("", "%"):
            assert unit.symbol in schema["errorMessage"], unit.symbol
    for example in schema["examples"]:
        assert isinstance(read(example, kind), Reading)
    assert ("number" in schema["type"]) == (known.si == "1")


def test_no_kind_is_without_schema() -> None:
    kinds = {d["x-kind"] for d in load("quantities")["$defs"].values() if "x-kind" in d}
    assert kinds == set(KINDS)


@pytest.mark.parametrize(
    "raw",
    [
        {"value": "3 lb"},
        {"value": "3 lb", "plus_minus": "1 %", "basis": "measured"},
        "3 lb",
        {"value": "3 lb", "plus": "1 lb"},
        {"plus_minus": "1 lb"},
        {"value": "3 lb", "basis": "guess"},
        {"value": ["3 lb"]},
        {"value": "3 lb", "coverage": 0.1},
        ["3 lb"],
        None,
        True,
        3,
    ],
    ids=str,
)
def test_an_editor_and_the_program_agree_on_the_form(raw: object) -> None:
    """Our short cut past `$ref` accepts just the forms that the schema accepts."""
    from buildspec.documents import Document

    data = {
        "format": 1,
        "vehicle": {"name": "W"},
        "mass": {
            "items": [{"id": "a", "name": "A", "mass": raw, "x": "1 in", "z": "1 in"}],
            "conditions": [{"id": "c"}],
            "design_condition": "c",
        },
    }
    ours = validate.validate(Document(data))
    plain = list(plain_validator(top()).iter_errors(data))
    assert bool(ours) == bool(plain)
