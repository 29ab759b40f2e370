"""Where a page of the team's embeds a result, and whether what it names exists.

Light on purpose: `check` looks at the pages too, and loads nothing that draws or renders.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping

from buildspec.build import Page
from buildspec.diagnostics import Diagnostic, Place
from generator.evaluation import Evaluation

CODE = re.compile(r"(?P<tick>`+).*?(?P=tick)")
_EMBED = re.compile(r"\{\{(?P<body>[^{}\n]*)\}\}")
_CALL = re.compile(r"\s*(?P<name>value|check|chart)\(\s*\"(?P<id>[^\"]*)\"\s*\)\s*")
_FENCE = re.compile(r"\s{0,3}(?:```|~~~)")
_HELP = (
    'write `{{ value("ID") }}`, `{{ check("ID") }}` or `{{ chart("ID") }}`, '
    "with an id in double quotes"
)

Trouble = tuple[str, str]
"""What is wrong with an embedding, and what to do."""


def lines(text: str) -> Iterator[tuple[int, str, bool]]:
    """Every line with its number from 1, and whether it stands in a fenced block of code."""
    fenced = False
    for number, line in enumerate(text.split("\n"), 1):
        fence = bool(_FENCE.match(line))
        yield number, line, fenced or fence
        fenced ^= fence


def embeddings(line: str) -> Iterator[re.Match[str]]:
    """What a line embeds, outside of code."""
    code = [m.span() for m in CODE.finditer(line)]
    for match in _EMBED.finditer(line):
        if not any(start <= match.start() < end for start, end in code):
            yield match


def call(match: re.Match[str]) -> tuple[str, str] | None:
    """Name (`value`, `check` or `chart`) and id of an embedding; None where it has not the form."""
    found = _CALL.fullmatch(match["body"])
    return (found["name"], found["id"]) if found else None


def wrong_form(match: re.Match[str]) -> Trouble:
    """What is said of an embedding that has not the form."""
    return f"`{match[0]}` is not a way to embed a result", _HELP


def in_the_middle(match: re.Match[str], line: str) -> Trouble | None:
    """A chart is a block: it takes a line of its own."""
    if line.strip() == match[0]:
        return None
    return "a chart stands in the middle of a line", "give it a line of its own"


def unknown(what: str, dotted: str, known: Mapping[str, object] | list[str]) -> Trouble:
    """What is said of an id that leads nowhere."""
    close = difflib.get_close_matches(dotted, list(known), n=1, cutoff=0.6)
    if close:
        return f"there is no {what} `{dotted}`", f"did you mean `{close[0]}`?"
    if not known:
        return f"there is no {what} `{dotted}`", f"this build has no {what} yet"
    return (
        f"there is no {what} `{dotted}`",
        f"an id looks like `{next(iter(known))}`; results.json lists them all",
    )


def problem(page: Page, number: int, match: re.Match[str], trouble: Trouble) -> Diagnostic:
    """The trouble of an embedding as a problem at its place."""
    place = Place(page.place.file, number, match.start() + 1, len(match[0]))
    return Diagnostic("page.embed", trouble[0], place, trouble[1])


def stray_embeddings(evaluation: Evaluation) -> Iterator[Diagnostic]:
    """Every embedding of the team's pages that would keep the site from being written.

    Of a chart the id is not looked at: what charts there are is known once they are drawn.
    """
    results = [r.id for o in evaluation.outcomes.values() for r in o.results]
    known = {
        "value": [*evaluation.build.quantities, *results],
        "check": [c.id for c in evaluation.checks],
    }
    sets = {what: frozenset(ids) for what, ids in known.items()}
    for page in evaluation.build.pages:
        for number, line, code in lines(page.text):
            for match in () if code else embeddings(line):
                named = call(match)
                trouble = wrong_form(match) if named is None else None
                if named and named[0] == "chart":
                    trouble = in_the_middle(match, line)
                elif named and named[1] not in sets[named[0]]:
                    trouble = unknown(*named, known[named[0]])
                if trouble:
                    yield problem(page, number, match, trouble)
