"""The subject `cage`: the frame around the driver, solved tube by tube.

The work is in the modules `cage_…`; they load a matrix library, and are loaded only where a
description has a cage.
"""

from __future__ import annotations

from buildspec.build import Build
from buildspec.sections.cage import Cage
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Everything about the cage, or None where the description has no `cage`."""
    section = build.section(Cage)
    if section is None:
        return None
    from generator.subjects.cage_outcome import outcome  # noqa: PLC0415  (loads scipy)

    return outcome(section, build, given)


SUBJECT = Subject(
    word="cage",
    title="Cage",
    purpose="Whether the tubes around the driver hold under each load case, by how much, and where "
    "they would give first; beside it, and apart, whether they match what is prescribed.",
    evaluate=evaluate,
    needs=("mass", "parachutes"),
)
