"""Body sizes beside what a published survey prints."""

from __future__ import annotations

import pytest

from generator.formulas import reach as f
from generator.tables.bodies import bodies
from tests.published.row import Row, disagreements

COURSE = "City University of Hong Kong, online course of anthropometry, estimates of British adults aged 19 to 65: "
GRIP = COURSE + "dimension 25, shoulder-grip length"
BREADTH = (
    COURSE
    + "dimension 17, shoulder breadth (bideltoid), and its correction for heavy outdoor clothing"
)
PRINTED = {
    "British men, 5th percentile": (610, 420),
    "British men, 50th percentile": (665, 465),
    "British men, 95th percentile": (715, 510),
    "British women, 5th percentile": (555, 355),
    "British women, 50th percentile": (600, 395),
}

EXACT = "printed to 5 mm, and kept as printed"

ROWS: tuple[Row, ...] = (
    *(
        Row(
            case=f"{name}: shoulder-grip length",
            source=GRIP,
            status="read",
            printed=grip,
            closed_form=None,
            ours=1000.0 * bodies()[name]["reach"].si,
            tolerance=1e-9,
            reason=EXACT,
            unit="mm",
        )
        for name, (grip, _) in PRINTED.items()
    ),
    *(
        Row(
            case=f"{name}: shoulder breadth, with what heavy clothing adds",
            source=BREADTH,
            status="read",
            printed=wide + 40.0,
            closed_form=wide + 40.0,
            ours=1000.0
            * f.clothed_breadth(
                bare=bodies()[name]["breadth"].si, clothing=bodies()[name]["clothing"].si
            ),
            tolerance=1e-9,
            reason=EXACT,
            unit="mm",
        )
        for name, (_, wide) in PRINTED.items()
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_agrees_with_what_is_printed(row: Row) -> None:
    assert disagreements(row) == ()
