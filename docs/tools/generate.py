"""Write the pages of the manual that are made from the program itself.

    python docs/tools/generate.py            write docs/reference/ and docs/published-checks.md
    python docs/tools/generate.py --check    say what is out of date, and exit 1 if anything is

The reference comes from the schemas, the table of units, the command line and the small wrong
descriptions that the tests keep; the published checks come from the rows of tests/published/.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))  # the tree beside this file, not a copy that may be installed

import tests.published  # noqa: E402
from buildspec.kinds import KINDS, Kind  # noqa: E402
from buildspec.quantities import from_si  # noqa: E402
from buildspec.schema import load, quantity_kind, top, words  # noqa: E402
from generator.cli import _parser  # noqa: E402
from generator.evaluation import load_subjects  # noqa: E402
from generator.results import schema as results_schema  # noqa: E402
from tests.published.row import Row  # noqa: E402

DOCS = ROOT / "docs"
MADE = "<!-- Made by docs/tools/generate.py. Change what it is made from, and run it again. -->"

Schema = Mapping[str, Any]
TYPES = {
    "object": "a group of keys",
    "array": "a list",
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "`true` or `false`",
}
PUBLISHED_INTRODUCTION = (
    "What the program computes beside what others have published. Each row is also a test, which "
    "fails when a figure of ours leaves its tolerance, to either side.",
    "",
    "*Printed* is the figure as its source prints it, *closed form* the same worked by hand from "
    "the inputs, *ours* what the program says. *Status* says whether the printed figure was read "
    "in its source, read in a transcription of it, or comes from memory; *derived* is one that "
    "follows from stated assumptions alone.",
)
PARTS = {"how-to": "how to describe it", "why": "why it computes so"}
BOUNDS = {
    "minimum": "at least",
    "maximum": "at most",
    "x-least": "at least",
    "x-most": "at most",
    "x-above": "above",
}


def pages() -> dict[str, str]:
    """Every generated page: its path below docs/, and its text."""
    made = {f"reference/{word}.md": section_page(word, load(word)) for word in words()}
    made["reference/index.md"] = front_page(top(), words())
    made["reference/subjects.md"] = subjects_page()
    made["reference/quantities.md"] = quantities_page()
    made["reference/commands.md"] = commands_page()
    made["reference/results.md"] = results_page()
    made["reference/problems.md"] = problems_page(ROOT / "tests" / "specs" / "bad")
    made["published-checks.md"] = published_page()
    return {path: f"{text.rstrip()}\n\n{MADE}\n" for path, text in made.items()}


# ------------------------------------------------------------------------------- schemas


def front_page(schema: Schema, words: Sequence[str]) -> str:
    """The reference's front page: what a build folder holds, and the sections."""
    lines = [
        "# Reference",
        "",
        "A build folder holds `build.yaml` and, beside it, whatever that file does not hold "
        "itself: a section may stand in `build.yaml` under its word, or alone in a file of that "
        "name (`mass.yaml` for `mass`). In both places is an error.",
        "",
        "| in the folder | is |",
        "|---|---|",
        "| `build.yaml` | `format: 1` and any section |",
        "| `<word>.yaml` | one section, without its word on top |",
        "| `*.csv` | a table that a section names |",
        "| `pages/*.md` | pages the team writes itself |",
        "| `.schema/` | the schemas, for an editor's help; `marginbook new` writes them |",
        "",
        "## Sections",
        "",
        "| section | holds |",
        "|---|---|",
    ]
    lines += [
        f"| [`{word}`]({word}.md) | {cell(schema['properties'][word]['description'])} |"
        for word in words
    ]
    lines += [
        "",
        "Also: [the subjects](subjects.md), [quantities and their units](quantities.md), "
        "[commands](commands.md), [problems it reports](problems.md), "
        "[results.json](results.md).",
    ]
    return "\n".join(lines)


def section_page(word: str, schema: Schema) -> str:
    """The page of one section: every key, table by table."""
    lines = [
        f"# {word}",
        "",
        schema["description"],
        "",
        f"Stands in `build.yaml` under `{word}:`, or alone in `{word}.yaml`.",
    ]
    if "enum" in schema:
        lines += ["", f"One of {words_of(schema['enum'])}. Left out: `{schema['default']}`."]
    for place, part in objects(word, schema):
        lines += ["", f"## `{place}`", ""]
        if place != word:
            lines += [part["description"], ""]
        lines += key_table(part)
    return "\n".join(lines)


def objects(place: str, schema: Schema) -> Iterator[tuple[str, Schema]]:
    """Every part of a section that has keys, outermost first, with its dotted place."""
    if "properties" in schema:
        yield place, schema
        for name, part in schema["properties"].items():
            yield from objects(f"{place}.{name}", part)
    elif "items" in schema:
        yield from objects(f"{place}[]", schema["items"])


def key_table(schema: Schema) -> list[str]:
    """The keys of one object as a table."""
    required = set(schema.get("required", ()))
    lines = ["| key | is | takes | if left out | example |", "|---|---|---|---|---|"]
    for name, part in schema["properties"].items():
        lines.append(
            f"| `{name}` | {cell(part.get('description', ''))} | {takes(part)} | "
            f"{left_out(part, name in required)} | {example(part)} |"
        )
    return lines


def takes(schema: Schema) -> str:
    """What a key takes, in words: kind, bounds, choices, references."""
    said = [kind_of(schema), *bounds(schema)]
    if "x-refers" in schema.get("items", {}):
        said.append(f"each the id of one in {places_of(schema['items'])}")
    if "x-refers" in schema:
        said.append(f"the id of one in {places_of(schema)}")
    if schema.get("x-table"):
        said.append("or the name of a CSV file")
    if schema.get("x-stated"):
        said.append("a decision")
    return ", ".join(said)


def kind_of(schema: Schema) -> str:
    """The kind of value a key takes."""
    if kind := quantity_kind(schema):
        return f"[{cell(KINDS[kind].words)}](quantities.md#{anchor(kind)})"
    if "enum" in schema:
        return f"one of {words_of(schema['enum'])}"
    if "const" in schema:
        return f"`{schema['const']}`"
    types = schema.get("type", ["anything"])
    types = [types] if isinstance(types, str) else types
    if schema.get("format") == "date":
        return "a date"
    if schema.get("x-table"):
        types = ["array"]
    return " or ".join(TYPES.get(t, t) for t in types)


def bounds(schema: Schema) -> Iterator[str]:
    """The bounds of a value. Those of a quantity are in SI in the schema, and printed in its metric unit."""
    kind = quantity_kind(schema)
    unit = KINDS[kind].prints[1] if kind else ""
    for key, said in BOUNDS.items():
        if key not in schema:
            continue
        if kind and unit and (schema[key] != 0 or kind == "temperature"):
            number = f"{round(from_si(schema[key], kind, unit), 2):.10g}"
            yield f"{said} {number}{'' if unit == '°' else ' '}{unit}"
        else:
            yield f"{said} {schema[key]}"


def places_of(schema: Schema) -> str:
    """The lists that a reference may point into."""
    refers = schema["x-refers"]
    return " or ".join(f"`{r}`" for r in ([refers] if isinstance(refers, str) else refers))


def left_out(schema: Schema, required: bool) -> str:
    """What happens where a key is left out."""
    if required:
        return "**required**"
    if assumed := schema.get("x-assumed"):
        return f"`{assumed['value']}`, assumed: {cell(assumed['source'])}"
    if "default" in schema:
        return f"`{json.dumps(schema['default']).strip(chr(34))}`"
    return "stays empty"


def example(schema: Schema) -> str:
    """The first example, as it would be written."""
    found = schema.get("examples", ())
    if not found:
        return ""
    first = found[0]
    return code(first if isinstance(first, str) else json.dumps(first, ensure_ascii=False))


# ------------------------------------------------------------------------------ subjects


def subjects_page() -> str:
    """Every subject in the order of the site, what it is for, and where the manual speaks of it."""
    lines = [
        "# Subjects",
        "",
        "A subject is one page of calculation. The site has a page for each one that the "
        "description describes.",
        "",
        "| subject | shows | in this manual |",
        "|---|---|---|",
    ]
    for subject in load_subjects():
        links = [
            f"[{title}](../{part}/{subject.word}.md)"
            for part, title in PARTS.items()
            if (DOCS / part / f"{subject.word}.md").is_file()
        ]
        lines.append(
            f"| **{cell(subject.title)}** (`{subject.word}`) | {cell(subject.purpose)} | "
            f"{', '.join(links) or '—'} |"
        )
    return "\n".join(lines)


# ---------------------------------------------------------------------------- quantities


def quantities_page() -> str:
    """Kinds of quantity with their units, and the keys of the long form."""
    spread = load("quantities")["$defs"]["spread"]
    lines = [
        "# Quantities and units",
        "",
        "A quantity is text, `1.75 in`, or a group of keys that says what is known about it:",
        "",
        "```yaml",
        "radius: {value: 12.3 in, plus_minus: 0.1 in, basis: measured, source: tape}",
        "```",
        "",
        "Fractions of an inch are read as the trade writes them: `5/8 in`, `1 5/8 in`, `1-5/8 in`. "
        "A number has a decimal point, never a comma. A unit is never left out.",
        "",
        "## Keys of the long form",
        "",
        *key_table(spread),
        "",
        "## Units",
        "",
        "The unit printed first is that of `units`; the other follows in parentheses.",
        "",
    ]
    for kind in KINDS.values():
        heading = f"### {kind.name.capitalize()} {{ #{anchor(kind.name)} }}"
        lines += [heading, "", *unit_table(kind), ""]
    return "\n".join(lines)


def unit_table(kind: Kind) -> list[str]:
    """The units of a kind, with other spellings that are read."""
    printed = " or ".join(dict.fromkeys(p or "a plain number" for p in kind.prints))
    lines = [f"Printed in {printed}.", "", "| unit | also read |", "|---|---|"]
    for unit in kind.units:
        also = ", ".join(code(a) for a in unit.aliases) or "—"
        lines.append(f"| {code(unit.symbol) if unit.symbol else 'a plain number'} | {also} |")
    return lines


# ------------------------------------------------------------------- commands and results


def commands_page() -> str:
    """The help of every command, as the program prints it."""
    os.environ["COLUMNS"] = "88"  # argparse wraps to the terminal otherwise
    os.environ["NO_COLOR"] = "1"
    parser = _parser()
    lines = [
        "# Commands",
        "",
        "`marginbook --help` says the same.",
        "",
        "```text",
        parser.format_help().rstrip(),
        "```",
    ]
    choices = next(a.choices for a in parser._actions if isinstance(a.choices, dict))
    for name, command in choices.items():
        lines += [
            "",
            f"## `marginbook {name}`",
            "",
            "```text",
            command.format_help().rstrip(),
            "```",
        ]
    return "\n".join(lines)


def results_page() -> str:
    """The parts of results.json, from its schema."""
    whole = results_schema()
    lines = [
        "# results.json",
        "",
        "`marginbook build` writes it beside the pages, and `marginbook check --json` prints "
        "it. Every value is in SI. A figure that is absent is `null` with a reason beside it; "
        "there is no NaN and no infinity in it.",
        "",
        *plain_table(whole),
    ]
    for name, part in whole.get("$defs", {}).items():
        if "properties" in part:
            lines += [
                "",
                f"## {name.replace('_', ' ').capitalize()}",
                "",
                cell(part.get("description", "")),
                "",
                *plain_table(part),
            ]
    return "\n".join(lines)


def plain_table(schema: Schema) -> list[str]:
    """The keys of an object of results.json, with what they hold."""
    return [
        "| key | holds |",
        "|---|---|",
        *(
            f"| `{name}` | {cell(part.get('description', part.get('title', '')))} |"
            for name, part in schema["properties"].items()
        ),
    ]


# ------------------------------------------------------------------------------ problems


_CODE = re.compile(r"\[([a-z][a-z0-9-]*\.[a-z0-9.-]+)\]")


def problems_page(folder: Path) -> str:
    """Every code that the wrong descriptions of the tests bring out, each with one example."""
    found: dict[str, str] = {}
    for expected in sorted(folder.glob("*/expected.txt")):
        text = expected.read_text("utf-8").rstrip()
        for name in dict.fromkeys(_CODE.findall(text)):
            if name not in found or len(text) < len(found[name]):
                found[name] = text
    lines = [
        "# Problems it reports",
        "",
        "A problem in a description has a code, a place, the line itself and what to do. All "
        "of them are reported at once. Below is each code with an example, as the program "
        "prints it.",
    ]
    for name in sorted(found):
        lines += ["", f"## `{name}`", "", "```text", found[name], "```"]
    return "\n".join(lines)


# ------------------------------------------------------------------------ published checks


def published_page() -> str:
    """The rows of tests/published/ as tables: printed, closed form, ours."""
    lines = ["---", "hide: [toc]", "---", "# Published checks", "", *PUBLISHED_INTRODUCTION]
    for word, rows in published():
        lines += [
            "",
            f"## {word.replace('_', ' ').capitalize()}",
            "",
            "| case | printed | closed form | ours | unit | tolerance | source | status |",
            "|---|---|---|---|---|---|---|---|",
        ]
        lines += [row_of(row) for row in rows]
    return "\n".join(lines)


def published() -> Iterator[tuple[str, Sequence[Row]]]:
    """The modules of tests/published/ that hold rows."""
    for module in sorted(m.name for m in pkgutil.iter_modules(tests.published.__path__)):
        rows = getattr(importlib.import_module(f"tests.published.{module}"), "ROWS", ())
        if rows:
            yield module.removeprefix("test_"), rows


def row_of(row: Row) -> str:
    """One row of a table."""
    printed = "—" if row.printed is None else f"{row.printed:.7g}"
    closed = "—" if row.closed_form is None else f"{row.closed_form:.7g}"
    within = "—" if row.printed is None else f"± {row.tolerance:.2g}: {cell(row.reason)}"
    return (
        f"| {cell(row.case)} | {printed} | {closed} | {row.ours:.7g} | "
        f"{cell(row.unit)} | {within} | {cell(row.source)} | {row.status} |"
    )


# -------------------------------------------------------------------------------- helpers


def cell(text: str) -> str:
    """Text that a table's cell can hold."""
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*")


def code(text: str) -> str:
    """Text as code in a table's cell."""
    return f"`{text}`".replace("|", "\\|")


def anchor(name: str) -> str:
    """The anchor of a kind of quantity."""
    return name.replace(" ", "-")


def words_of(values: Iterable[object]) -> str:
    """Choices as a list in words."""
    return ", ".join(f"`{v}`" for v in values)


def outdated() -> list[str]:
    """The generated pages that differ from those on disk, or stand there without being made."""
    made = pages()
    here = {f"reference/{p.name}" for p in (DOCS / "reference").glob("*.md")}
    differ = {
        path
        for path, text in made.items()
        if not (DOCS / path).is_file() or (DOCS / path).read_text("utf-8") != text
    }
    return sorted(differ | (here - set(made)))


def main(arguments: Sequence[str]) -> int:
    """Write the pages, or only look whether they are up to date."""
    if "--check" in arguments:
        stale = outdated()
        print("\n".join(f"out of date: docs/{path}" for path in stale) or "the manual is fresh")
        return 1 if stale else 0
    for path, text in pages().items():
        (DOCS / path).parent.mkdir(parents=True, exist_ok=True)
        (DOCS / path).write_text(text, "utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
