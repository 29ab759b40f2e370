"""The page, the drawings and the table of the subject `cage`, as a reader finds them."""

from __future__ import annotations

import csv
import html
import io
import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as Tree

import numpy as np
import pytest

from buildspec.read import read_folder
from generator.charts.cage import STROKES, charts, grade
from generator.charts.cage_turning import HEIGHT, WIDTH, directions
from generator.compose import compose
from generator.downloads.cage import downloads
from generator.evaluation import Evaluation, evaluate
from generator.subjects.cage_cases import pointing, two
from generator.templates import powers
from tests.generator.subjects.cage_builds import NO_WELD, cage, detail, figures, outcome
from tests.generator.subjects.scenes import DAY, check, evaluated

EXAMPLE = Path(__file__).parents[3] / "example_build"
HOSTILE = "<script>alert(1)</script> \"&' ]]>"


@cache
def example() -> Evaluation:
    reading = read_folder(EXAMPLE)
    assert reading.build is not None
    return evaluate(reading.build, as_of=DAY)


@cache
def page() -> str:
    return compose(example()).files["docs/cage.md"].decode()


def section(title: str) -> str:
    """The text of one heading, up to the next."""
    found = re.search(
        rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", page(), re.DOTALL | re.MULTILINE
    )
    assert found is not None, title
    return found[1]


# ------------------------------------------------------------------ the page


@pytest.mark.parametrize(
    "title",
    [
        "At a glance",
        "The frame",
        "Tubes by margin",
        "What it would take",
        "Room around the driver",
        "Load cases",
        "What is prescribed",
        "Sizes beside the baseline, for information",
        "Mass of the tubes",
        "Whether to believe the solution",
        "Before anyone trusts a cage",
        "Worked steps",
        "Assumptions",
    ],
)
def test_every_part_is_there(title: str) -> None:
    assert len(section(title)) > 100


def test_tubes_stand_by_margin_and_none_is_left_out() -> None:
    ids = re.findall(r'<tr id="cage\.check\.member\.([a-z0-9_]+)"', section("Tubes by margin"))
    members = detail(example()).members
    assert ids == [m.id for m in members]
    for verdict in ("short", "holds"):  # twins differ by rounding, and stand in their own order
        margins = [
            round(m.check.margin, 7)
            for m in members
            if m.check.verdict == verdict and m.check.margin is not None
        ]
        assert margins == sorted(margins)


def test_the_top_names_the_tubes_that_fall_short() -> None:
    top = section("At a glance")
    short = [m for m in detail(example()).members if m.check.verdict == "short"]
    assert short
    assert all(f'{m.check.id}">{m.title}</a>' in top for m in short)


def test_each_case_lists_the_tubes_it_uses_most() -> None:
    """Most used first, as many as are listed, and none that is left out is used more: to seven digits,
    by which a tube and its twin are told apart."""
    members = detail(example()).members
    for number, case in enumerate(detail(example()).cases):
        listed = [f.utilisation for _, f in case.used_most]
        every = sorted(
            (m.figures[number].utilisation for m in members if m.figures[number]), key=float
        )  # type: ignore[union-attr]
        assert len(listed) == 10
        assert listed == pytest.approx(every[::-1][:10], abs=1e-7)
        table = re.search(
            rf'aria-label="Forces, {re.escape(case.title)}".*?</table>', page(), re.DOTALL
        )
        assert table is not None
        assert re.findall(r'<th scope="row">(?:<span hidden>␞</span>)?(.*?)</th>', table[0]) == [
            html.escape(m.title, quote=False) for m, _ in case.used_most
        ]


def test_nothing_is_folded_away_twice() -> None:
    """Whoever opens a fold finds what it holds, and no other fold."""
    depth = deepest = 0
    for tag in re.findall(r"<(/?)details\b", page()):
        depth += -1 if tag else 1
        deepest = max(deepest, depth)
    assert (depth, deepest) == (0, 1)


def test_a_case_says_where_it_pushes_in_words() -> None:
    forces = {case.id: [f.at for f in case.forces] for case in detail(example()).cases}
    assert forces["on_the_hoop"] == ["Top of the main hoop (3 joints)"]
    assert forces["belts"] == ["lap anchor, lap anchor (other side)", "harness mid"]
    shown = re.sub(r"<[^>]*>", " ", section("Load cases"))
    assert re.findall(r"\w*_twin\b", shown) == []


def test_conformance_is_a_column_of_its_own() -> None:
    """A tube that holds and departs shows both, and so does one that conforms and falls short."""
    rows = {
        m.id: re.search(rf'<tr id="cage.check.member.{m.id}".*?</tr>', page(), re.DOTALL)
        for m in detail(example()).members
    }
    seen = set()
    for m in detail(example()).members:
        row = rows[m.id]
        assert row is not None
        cells = re.findall(r"<td.*?</td>", row[0], re.DOTALL)
        assert m.check.verdict in cells[0]
        assert (m.conformance or "nothing prescribed") in cells[-1]
        seen.add((m.check.verdict, m.conformance))
    assert {("holds", "departs"), ("short", "conforms"), ("holds", "conforms")} <= seen


def test_what_is_computed_is_told_apart_from_what_a_crash_does() -> None:
    words = section("Before anyone trusts a cage")
    for said in (
        "procedure",
        "inspection",
        "impact",
        "Gussets",
        "Padding",
        "rulebook",
        "licensed engineer",
    ):
        assert said in words


def test_a_case_without_an_answer_says_why(tmp_path: Path) -> None:
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, from: a, to: b, tube: t}",),
        ("{id: c, loads: [{at: [b], force: 20 kN, direction: {x: 1}}]}",),
        supports=("{nodes: [a], motions: [x, y, z]}",),
    )
    made = compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode()
    assert "a support or a member is missing" in html.unescape(made)
    assert "0 of 1 load cases are believed" in made
    top = html.unescape(made[made.index("## At a glance") : made.index("## The frame")])
    assert "1 load case has no answer" in top
    assert "c: joint b is free to" in top or "c: joint a is free to" in top


def test_why_a_load_case_has_no_answer_is_said_once_and_not_at_every_tube(tmp_path: Path) -> None:
    text = cage(
        {"a": "0 m, 0 m, 0 m", **{f"b{n}": f"{n + 1} m, 0 m, 0 m" for n in range(12)}},
        (
            "{id: t0, from: a, to: b0, tube: t}",
            *tuple(f"{{id: t{n + 1}, from: b{n}, to: b{n + 1}, tube: t}}" for n in range(11)),
        ),
        ("{id: c, loads: [{at: [b3], force: 20 kN, direction: {z: 1}}]}",),
        supports=("{nodes: [a], motions: [x, y, z]}",),
        more=("helmet: {x: 2 m, y: 0 m, z: 0.5 m, radius: 100 mm, clearance: 10 mm}",),
    )
    made = html.unescape(compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode())
    rows = re.findall(r'<tr id="cage\.check\.member\..*?</tr>', made, re.DOTALL)
    assert len(rows) == 12
    assert all('has <a href="#cage.no_answer">no answer</a>' in row for row in rows)
    assert not any("is free to" in row for row in rows)
    assert '<p id="cage.no_answer">' in made
    assert "2 tubes more</summary>" in made  # no margin, so that none is larger
    room = re.search(r'<table class="mb-room".*?</table>', made, re.DOTALL)
    assert room is not None
    assert "no answer" not in room[0]
    assert "not known" in room[0]


def test_the_top_says_where_the_frame_buckles_too_early(tmp_path: Path) -> None:
    """A post of 1.5 m under four fifths of Euler's load: π² × 29000 × 0.1697 in⁴ / 59.06² in² = 13.9 kip."""
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "0 m, 0 m, 1.5 m"},
        ("{id: post, from: a, to: b, tube: t}",),
        (
            "{id: press, title: Pressed, loads: [{at: [b], force: 11100 lbf, direction: {z: -1}}]}",
            "{id: pull, title: Pulled, loads: [{at: [b], force: 11100 lbf, direction: {z: 1}}]}",
        ),
        supports=(
            "{nodes: [a], motions: [x, y, z, turn_z]}",
            "{nodes: [b], motions: [x, y]}",
        ),
    )
    made = compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode()
    (said,) = re.findall(r"<p>The frame buckles too early: (.*?)</p>", made)
    assert "Pressed</a>" in said
    assert "Pulled" not in said


def test_a_tube_and_its_twin_share_what_it_would_take() -> None:
    """They are changed together: every short tube is named, and no two rows say the same."""
    rows = detail(example()).remedies
    named = [name for r in rows for name in r.member.split("; ")]
    short = [m for m in detail(example()).members if m.check.verdict == "short"]
    assert sorted(named) == sorted(m.title for m in short for _ in m.remedies or (None,))
    assert any(f"{m.title}; {m.title}, other side" in section("What it would take") for m in short)
    assert len({(r.tube, r.margin, r.mass) for r in rows}) == len(rows)


def test_where_no_listed_tube_holds_the_page_says_so(tmp_path: Path) -> None:
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, title: The bar, from: a, to: b, tube: t}",),
        ("{id: c, loads: [{at: [b], force: 900 kN, direction: {x: 1}}]}",),
        supports=("{nodes: [a]}",),
        tubes=(
            "{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}",
            "{id: u, outer: 1.75 in, wall: 0.12 in, material: steel}",
        ),
    )
    made = compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode()
    assert "none of those listed and tried" in made


def test_a_size_that_holds_and_is_not_allowed_says_so(tmp_path: Path) -> None:
    """Wider and thinner it is lighter and holds, and the rule sheet asks for the wall of the other two."""
    rule = "{id: r, groups: [hoop], sizes: [{outer: 1.75 in, wall: 0.095 in}], source: sheet}"
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, title: The bar, from: a, to: b, tube: t, group: hoop}",),
        ("{id: c, loads: [{at: [b], force: 800 N, direction: {z: -1}}]}",),
        supports=("{nodes: [a], held: fixed}",),
        tubes=(
            "{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}",
            "{id: wide, title: Wide, outer: 2.5 in, wall: 0.06 in, material: steel}",
            "{id: thick, title: Thick, outer: 2 in, wall: 0.12 in, material: steel}",
        ),
        more=("weld_share: 85 %", f"prescribed: [{rule}]"),
    )
    found = evaluated(tmp_path, text, "cage")
    made = {r.tube: r.departs for r in detail(found).remedies}
    assert made == {"Wide": True, "Thick": False}
    page = compose(found).files["docs/cage.md"].decode()
    assert page.count("departs from what is prescribed</span>") == 1
    closes = check(found, "cage.check.member.bar").closes
    assert closes.index("Wide") < closes.index("it would depart") < closes.index("Thick")


def test_a_lighter_tube_is_lighter_by_what_it_is(tmp_path: Path) -> None:
    """1 m of tube: 0.284 lb/in³ times the difference of the sections, 0.106 in² here."""
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, title: The bar, from: a, to: b, tube: t}",),
        ("{id: c, loads: [{at: [b], force: 800 N, direction: {z: -1}}]}",),
        supports=("{nodes: [a]}",),
        tubes=(
            "{id: t, outer: 1 in, wall: 0.25 in, material: steel}",
            "{id: u, outer: 2 in, wall: 0.08 in, material: steel}",
        ),
    )
    made = compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode()
    (said,) = re.findall(r"lighter by (.*?)</td>", made)
    assert float(re.search(r">([\d.]+) lb", said.replace("(", ""))[1]) == pytest.approx(  # type: ignore[index]
        0.284 * np.pi / 4 * ((1 - 0.5**2) - (4 - 1.84**2)) * 39.37, abs=0.05
    )  # two figures are printed
    assert "−" not in said


def test_names_from_the_description_are_text(tmp_path: Path) -> None:
    title = HOSTILE.replace("\\", "").replace('"', '\\"')
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        (f'{{id: bar, title: "{title}", from: a, to: b, tube: t}}',),
        (f'{{id: c, title: "{title}", loads: [{{at: [b], force: 90 kN, direction: {{x: 1}}}}]}}',),
        supports=("{nodes: [a]}",),
        more=(
            NO_WELD,
            f'keep_out: [{{id: ball, title: "{title}", centre: {{x: 1 m, y: 1 m, z: 0 m}}, radius: 40 mm}}]',
        ),
    )
    made = compose(evaluated(tmp_path, text, "cage")).files["docs/cage.md"].decode()
    assert "alert" in made
    assert "<script>alert" not in made
    assert made.count("<script") == 1  # the page's own, by its name
    assert '<script src="assets/turning.js" defer></script>' in made


@pytest.mark.parametrize(
    ("number", "shown"),
    [
        (5.64e-14, "5.6 × 10⁻¹⁴"),
        (680000.0, "6.8 × 10⁵"),
        (9.96e5, "10⁶"),
        (1e12, "10¹²"),
        (0.0, "0"),
    ],
)
def test_a_number_far_from_one_has_its_power_of_ten(number: float, shown: str) -> None:
    assert powers(number) == shown


def test_no_figure_is_written_as_machines_write_it() -> None:
    assert "× 10" in section("Whether to believe the solution")
    assert re.findall(r"\d(?:\.\d+)?e[-+]?\d+", re.sub(r"<[^>]*>", " ", page())) == []


def test_each_force_that_is_worked_out_names_its_case() -> None:
    """Five cases take their force from one mass."""
    cases = [case.title for case in detail(example()).cases]
    titles = [s.title for s in detail(example()).other_steps if ".force_" in s.id]
    assert len(set(titles)) == len(titles) > 5
    assert all(any(t.startswith(f"{case}: ") for case in cases) for t in titles)


def test_words_in_code_are_set_as_code() -> None:
    assert "<code>masses</code>" in section("Assumptions")
    assert "`" not in section("Assumptions")


# ------------------------------------------------------------------ the drawings


def test_over_the_limit_is_dashed_and_thickest() -> None:
    short, rest = STROKES[3], [s for n, s in enumerate(STROKES) if n != 3]
    assert short.dashes not in {s.dashes for s in rest if isinstance(s.dashes, str)}
    assert all(short.width > s.width for s in rest)
    for m in detail(example()).members:
        assert (grade(m) == 3) == (m.check.verdict == "short")


def test_a_drawing_holds_what_stands_beside_a_flat_frame(tmp_path: Path) -> None:
    """A hoop alone, seen from the side, is a line: the helmet is wider, and titles need room too."""
    text = cage(
        {"a": "0 m, 0.3 m, 0 m", "b": "0 m, 0.3 m, 1 m"},
        (
            "{id: post, from: a, to: b, tube: t}",
            "{id: cross, from: b, to: b_twin, tube: t}",
        ),
        ("{id: c, loads: [{at: [b], force: 1 kN, direction: {z: -1}}]}",),
        supports=("{nodes: [a, a_twin]}",),
        more=(
            "mirror: true",
            "helmet: {x: 0.4 m, y: 0 m, z: 0.5 m, radius: 150 mm, clearance: 20 mm}",
        ),
    )
    made = {c.id: c for c in charts(outcome(evaluated(tmp_path, text, "cage")), example().build)}
    for name in ("cage.views", "cage.case.c.shape"):
        svg = Tree.fromstring(made[name].svg)
        _, _, wide, high = (float(x) for x in svg.attrib["viewBox"].split())
        balls = [e for e in svg.iter() if "mb-grid" in e.attrib.get("style", "")]
        assert balls
        for ball in balls:
            numbers = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", ball.attrib["d"])]
            assert all(-0.5 <= x <= wide + 0.5 for x in numbers[::2])  # half its line
            assert all(-0.5 <= y <= high + 0.5 for y in numbers[1::2])
        titles = ("from the left", "from the front")
        places = [float(e.attrib["x"]) for e in svg.iter() if (e.text or "") in titles]
        assert abs(places[0] - places[1]) > 60.0  # points: such a title is some 55 wide


def test_the_turning_view_is_right_without_its_script() -> None:
    """Every tube's drawn points are its points in space, seen from the side that is stated, to the
    tenth that is printed and the tenth of a millimetre that is kept."""
    made = {c.id: c for c in charts(outcome(example()), example().build)}
    svg = Tree.fromstring(made["cage.turning"].svg)
    assert {"role", "aria-label", "viewBox"} <= set(svg.attrib)
    look = directions(float(svg.attrib["data-azimuth"]), float(svg.attrib["data-elevation"]))
    centre = np.array([float(c) for c in svg.attrib["data-centre"].split()])
    tubes = [e for e in svg.iter() if "mb-tube" in e.attrib.get("class", "")]
    assert len(tubes) == len(detail(example()).members)

    def points(text: str) -> list[np.ndarray]:  # type: ignore[type-arg]
        return [np.array([float(c) for c in p.split(",")]) for p in text.split()]

    flat = [
        (look @ (p - centre), q)
        for t in tubes
        for p, q in zip(points(t.attrib["data-p"]), points(t.attrib["points"]), strict=True)
    ]
    seen = np.array([f for f, _ in flat])
    drawn = np.array([(q[0] - WIDTH / 2, HEIGHT / 2 - q[1]) for _, q in flat])
    scale = float((drawn * seen).sum() / (seen * seen).sum())
    assert np.abs(drawn - scale * seen).max() < 0.15
    assert drawn[:, 0].max() <= WIDTH / 2
    assert drawn[:, 1].max() <= HEIGHT / 2


def test_looking_from_the_left_sees_the_nose_at_the_left() -> None:
    """x aft goes right, z goes up; from above the driver's right goes up."""
    np.testing.assert_allclose(directions(-np.pi / 2, 0.0), ((1, 0, 0), (0, 0, 1)), atol=1e-12)
    np.testing.assert_allclose(directions(np.pi, 0.0), ((0, -1, 0), (0, 0, 1)), atol=1e-12)
    np.testing.assert_allclose(
        directions(-np.pi / 2, np.pi / 2), ((1, 0, 0), (0, 1, 0)), atol=1e-12
    )


def test_each_case_has_its_shape_at_a_stated_scale() -> None:
    made = {c.id: c for c in charts(outcome(example()), example().build)}
    for case in detail(example()).cases:
        assert f"{case.scale:g} times enlarged" in made[f"cage.case.{case.id}.shape"].title
        assert case.scale in {n * 10.0**k for n in (1, 2, 5) for k in range(5)}


def test_the_finding_names_what_falls_short() -> None:
    made = {c.id: c for c in charts(outcome(example()), example().build)}
    for m in [m for m in detail(example()).members if m.check.verdict == "short"]:
        assert m.title in made["cage.views"].finding


# ------------------------------------------------------------------ the table beside the page


def test_the_table_holds_every_tube_in_every_case() -> None:
    made = downloads(outcome(example()), example().build, DAY)["cage-forces.csv"].decode()
    rows = list(csv.DictReader(io.StringIO(made)))
    d = detail(example())
    assert len(rows) == len(d.members) * len(d.cases)
    assert "cage-forces.csv" in page()
    by_key = {(r["tube"], r["load case"]): r for r in rows}
    for m in d.members:
        for n, case in enumerate(d.cases):
            got = by_key[m.id, case.id]
            assert float(got["axial force [N]"]) == pytest.approx(
                figures(example(), m.id, n).axial, rel=1e-5, abs=1e-8
            )


def test_the_movements_are_those_of_the_joints() -> None:
    made = downloads(outcome(example()), example().build, DAY)["cage-movements.csv"].decode()
    rows = list(csv.DictReader(io.StringIO(made)))
    assert len(rows) == detail(example()).joints * len(detail(example()).cases)
    for row in rows:
        far = outcome(example()).by_id[f"cage.case.{row['load case']}.joint.{row['joint']}"].value
        by = np.array([float(row[f"{axis} [m]"]) for axis in "xyz"])
        assert np.linalg.norm(by) == pytest.approx(far, rel=1e-4, abs=1e-12)


# ------------------------------------------------------------------ words


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ((0.0, 0.0, -1.0), "down"),
        ((1.0, 0.0, 0.0), "aft"),
        ((0.0, -1.0, 0.0), "to the left"),
        ((-0.6, 0.0, 0.8), "0.60 forward, 0.80 up"),
    ],
)
def test_directions_are_those_of_the_vehicle(way: tuple[float, float, float], words: str) -> None:
    assert pointing(np.array(way)) == words


@pytest.mark.parametrize(
    ("number", "kept"), [(9.73888e-14, 9.7e-14), (196646.3, 2.0e5), (0.0, 0.0)]
)
def test_rounding_errors_keep_two_digits(number: float, kept: float) -> None:
    assert two(number) == pytest.approx(kept, rel=1e-12)
