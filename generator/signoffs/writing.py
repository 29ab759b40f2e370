"""Appending a record to `signoffs.yaml` without disturbing a line of what stands there."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import yaml

from buildspec.documents import Document, read_yaml
from buildspec.scalars import resolve

HEAD = """# yaml-language-server: $schema=./.schema/signoffs.schema.json
#
# What reviewers said of parts of the design, and what they saw when they said it. `marginbook sign`
# appends to this file; nothing in it is ever rewritten. Answers to comments: `marginbook sign
# FOLDER --answers RECORD --by NAME --note TEXT`.

"""
_TOP = re.compile(r"^[^\s#-]", re.MULTILINE)
_FILE = "signoffs.yaml"


class AppendError(Exception):
    """The file cannot be appended to without rewriting it; the message says what to do."""


def appended(text: str, key: str, entry: Mapping[str, Any]) -> str:
    """The text with `entry` as the last of the list `key`; every other character stays.

    AppendError where that cannot be done, which is proven by reading the new text again.
    """
    old = _read(text)
    if old.problems:
        raise AppendError(f"{_FILE} cannot be read: {old.problems[0].message}")
    data = old.data if isinstance(old.data, dict) else {}
    if old.data is not None and not isinstance(old.data, dict):
        raise AppendError(f"{_FILE} does not hold keys; it should begin with `records:`")
    new = _with_entry(text, key, entry, data)
    wanted = {**data, key: [*(data.get(key) or ()), dict(entry)]}
    if _read(new).problems or _read(new).data != wanted:
        raise AppendError(
            f"`{key}` in {_FILE} is written in a form that cannot be appended to; write it as a "
            "list with one `- ` a line, or put this entry in yourself:\n"
            + _dumped(entry, "  ").rstrip()
        )
    return new


def _read(text: str) -> Document:
    return read_yaml(text, _FILE)


def _with_entry(text: str, key: str, entry: Mapping[str, Any], data: Mapping[str, Any]) -> str:
    end = "\r\n" if "\r\n" in text else "\n"
    if not data.get(key):
        return _with_list(text, key, entry, data, end)
    start = re.search(rf"^{key}:", text, re.MULTILINE)
    if start is None:
        return text
    follows = _TOP.search(text, start.end())
    stop = follows.start() if follows else len(text)
    body = text[start.end() : stop]
    kept = _content_end(body)
    indent = re.search(r"^( *)- ", body, re.MULTILINE)
    made = _dumped(entry, indent[1] if indent else "  ").replace("\n", end)
    before = text[: start.end() + kept]
    return before + ("" if before.endswith("\n") else end) + made + text[start.end() + kept :]


def _with_list(
    text: str, key: str, entry: Mapping[str, Any], data: Mapping[str, Any], end: str
) -> str:
    """The text with a list that was not there, or that was empty."""
    made = f"{key}:\n{_dumped(entry, '  ')}".replace("\n", end)
    if key in data:
        return re.sub(
            rf"^{key}:[ \t]*(\[[ \t]*\])?[ \t]*(\r?\n|\Z)",
            lambda _: made,
            text,
            count=1,
            flags=re.M,
        )
    if not text.strip():
        return HEAD + made
    gap = "" if text.endswith(("\n", "\r")) else end
    return f"{text}{gap}{end}{made}"


def _content_end(body: str) -> int:
    """Where the list's last line ends: comments at the margin below it belong to what follows."""
    lines = body.splitlines(keepends=True)
    while len(lines) > 1 and (not lines[-1].strip() or lines[-1].startswith("#")):
        lines.pop()
    return sum(map(len, lines))


class _Dumper(yaml.SafeDumper):
    """Writes texts so that the description's own reader takes them for texts."""

    def ignore_aliases(self, data: Any) -> bool:
        """The reader takes none."""
        return True


def _text(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    plain = resolve(text) == text
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if plain else "'")


_Dumper.add_representer(str, _text)


def _dumped(entry: Mapping[str, Any], indent: str) -> str:
    """The entry as YAML, one key a line, as a list's item."""
    text: str = yaml.dump(
        [dict(entry)],
        Dumper=_Dumper,
        allow_unicode=True,
        sort_keys=False,
        width=2**20,
        default_flow_style=False,
    )
    return "".join(f"{indent}{line}" for line in text.splitlines(keepends=True))
