"""The subject `rules`: every line of the rule sheets, with its conformance and the margins beside it.

It needs every other subject, since a line may compare any result.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from buildspec.build import Build
from buildspec.sections.rules import Rules, lines
from generator.rules.detail import detail
from generator.rules.judging import WORD, Done, judge
from generator.rules.strays import strays
from generator.rules.world import world
from generator.subjects import SUBJECTS
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Caution, Outcome

_AFTER = (WORD, "inspection")


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Judge every line; None where the description has no rule sheet."""
    section = build.section(Rules)
    if section is None:
        return None
    known = world(build, section, given.as_of, given.outcomes)
    progress = _progress(given)
    rules = tuple(judge(sheet, line, known, progress) for sheet, line in lines(section))
    return Outcome(
        WORD,
        cautions=(_caution(),),
        requirements=rules,
        detail=detail(known, {r.id: r for r in rules}, progress),
        problems=strays(known),
    )


def _progress(given: Given) -> Mapping[str, Done]:
    """How far the work on each line is, where the plan was evaluated."""
    plan = given.outcomes.get("plan")
    found = getattr(plan.detail, "progress", {}) if plan else {}
    return cast(Mapping[str, Done], found)


def _caution() -> Caution:
    return Caution(
        f"{WORD}.caution",
        "This is the team's memory aid, not a rulebook. The rulebook in force and the inspector decide: "
        "what conforms here may be judged otherwise there, and what is not listed here may be asked "
        "there. No margin excuses a departure, and no line that conforms says that a part holds.",
        WORD,
        hazard=True,
    )


SUBJECT = Subject(
    word=WORD,
    title="Requirements",
    purpose="What is asked of the vehicle, line by line: whether it applies, whether the vehicle "
    "conforms, and who says so. Margins stand beside and decide nothing here.",
    group="Inspection",
    evaluate=evaluate,
    needs=tuple(word for word in SUBJECTS if word not in _AFTER),
)
