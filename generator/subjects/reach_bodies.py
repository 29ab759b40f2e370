"""The subject `reach`: the driver's own sizes where they are measured, else those of a survey's row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from buildspec.quantities import Quantity
from buildspec.sections.driver import Driver, Hand
from generator.formulas import reach as f
from generator.subjects.fire_records import slug
from generator.tables.bodies import bodies
from generator.vocabulary import Assumption, OpenItem, Result, WorkedStep
from generator.work import as_result, work

WORD = "reach"


def seated(driver: Driver) -> Driver:
    """The driver with the reaches of the survey's row where the description gives none."""
    row = driver.survey.reach if driver.survey else ""
    if not row:
        return driver
    taken = supplied(row, "reach")
    return replace(
        driver,
        left_reach=driver.left_reach or taken,
        right_reach=driver.right_reach or taken,
    )


def arm(driver: Driver, hand: Hand) -> Quantity:
    """How far a hand reaches from its shoulder. The reader lets no driver pass without."""
    found: Quantity | None = getattr(driver, f"{hand}_reach")
    if found is None:
        raise ValueError(f"the {hand} reach is neither measured nor taken from a survey")
    return found


def breadth(driver: Driver) -> tuple[Result, tuple[WorkedStep, ...]]:
    """Shoulder breadth in full gear: measured, else of the survey's row with what clothing adds."""
    title = "shoulder breadth in full gear"
    q, row = driver.breadth, driver.survey.breadth if driver.survey else ""
    if q is not None:
        return Result(q.id, title, q.si, "length", q.standard_uncertainty, inputs=(q.id,)), ()
    if not row:
        return Result("", title, None, "length", absent="driver.breadth is not stated"), ()
    step = work(
        f.clothed_breadth,
        f"{WORD}.breadth",
        "Shoulder breadth in full gear, by the survey",
        bare=supplied(row, "breadth"),
        clothing=supplied(row, "clothing"),
    )
    return as_result(step), (step,)


def supplied(row: str, word: str) -> Quantity:
    """A value of the table as a quantity that the program supplied."""
    return bodies()[row][word].quantity(f"{WORD}.survey.{slug(row)}.{word}")


def _used(driver: Driver) -> Iterable[tuple[str, str]]:
    """The rows and values of the table that took part."""
    survey = driver.survey
    if survey and survey.reach and not (driver.left_reach and driver.right_reach):
        yield survey.reach, "reach"
    if survey and survey.breadth and driver.breadth is None:
        yield from ((survey.breadth, "breadth"), (survey.breadth, "clothing"))


def assumptions(driver: Driver) -> Iterable[Assumption]:
    """The survey's values that took part."""
    words = {
        "reach": "reach from shoulder to grip",
        "breadth": "shoulder breadth, unclothed",
        "clothing": "what clothing adds to the shoulder breadth",
    }
    for row, word in _used(driver):
        q = supplied(row, word)
        yield Assumption(q.id, f"{row}: {words[word]}", WORD, q.source, q)


def open_items(driver: Driver) -> Iterable[OpenItem]:
    """That a survey's row stands for the driver."""
    rows = dict.fromkeys(row for row, _ in _used(driver))
    if rows:
        yield OpenItem(
            f"{WORD}.survey",
            WORD,
            "measurement",
            f"The driver is not measured; a survey stands for the body: {'; '.join(rows)}",
            "seat and belt the driver, measure, and state `left_reach`, `right_reach` and `breadth`",
            ref="driver.survey",
        )
