"""Pages from an evaluation: complete, linked, escaped, and the same every time."""

from __future__ import annotations

import dataclasses
import datetime
import html
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
import yaml

from buildspec.assemble import assemble
from buildspec.build import Build, Page
from buildspec.diagnostics import Place
from buildspec.documents import Document
from buildspec.kinds import System
from buildspec.sections.mass import Mass, Size
from generator.compose import STATEMENT, Composed, compose
from generator.edition import Edition
from generator.evaluation import evaluate
from generator.folders import MARKER, NotOursError, write
from generator.labels import labels
from generator.overview import overview
from generator.pagetext import tidy
from generator.subjects.subject import Given
from generator.templates import Words
from generator.vocabulary import Outcome, Requirement
from tests.generator import scene

HOSTILE = "<script>alert(1)</script> *a* [x](javascript:alert(1)) | `c` {{ 7*7 }}\n\n# b"


def _composed(of: Build | None = None, folder: Path | None = None) -> Composed:
    return compose(scene.evaluation(of), edition=Edition(), folder=folder, subjects=scene.SUBJECTS)


def _page(text: str, name: str = "why") -> Page:
    return Page(name, "Why so", text, Place(f"pages/{name}.md"))


def _team(
    text: str, folder: Path | None = None
) -> tuple[str, tuple[tuple[str, str, int, int], ...]]:
    done = _composed(scene.build(pages=(_page(text),)), folder)
    said = tuple((d.message, d.help, d.place.line, d.place.column) for d in done.problems)
    return done.files["docs/team/why.md"].decode(), said


def test_every_page_is_there_and_ends_with_the_statement() -> None:
    files = _composed().files
    pages = {n for n in files if n.endswith(".md")}
    assert pages == {
        f"docs/{n}.md"
        for n in ("index", "scene", "assumptions", "open-items", "inputs", "sources", "about")
    }
    for name in pages:
        text = files[name].decode()
        assert STATEMENT in text.splitlines()[-1], name
        assert re.match(r"---\ntitle: .+\n---\n\n<section class=\"mb-rev\".+\n\n# ", text), name


@pytest.mark.parametrize(
    ("edition", "said"),
    [
        (Edition(), "<strong>draft</strong></p>"),
        (
            Edition(commit="0123456789" * 4, changed=True),
            "<strong>draft at 01234567 with uncommitted changes</strong></p>",
        ),
        (
            Edition("rev-3", "Heavier <i>\n\nMore", date=scene.DAY, note="Again"),
            "<strong>rev-3</strong>, issued 2026-03-14: Heavier &#60;i&#62;</p>"
            '<p class="mb-rev-note">Again</p>',
        ),
    ],
)
def test_every_page_says_which_state_it_shows(edition: Edition, said: str) -> None:
    of = scene.evaluation(scene.build(pages=(_page("# Why"),)))
    for name, content in compose(of, edition=edition, subjects=scene.SUBJECTS).files.items():
        if name.endswith(".md"):
            assert said in content.decode(), name
            assert "All revisions" not in content.decode()


def test_a_page_among_others_links_to_them_without_script() -> None:
    of = scene.evaluation(scene.build(pages=(_page("# Why"),)))
    files = compose(of, edition=Edition(public=True), subjects=scene.SUBJECTS).files
    assert '<a href="../index.html">All revisions</a>' in files["docs/scene.md"].decode()
    assert '<a href="../../index.html">All revisions</a>' in files["docs/team/why.md"].decode()
    assert yaml.safe_load(files["mkdocs.yml"])["extra_javascript"] == [
        "assets/folds.js",
        "assets/revisions.js",
    ]


def test_the_same_evaluation_gives_the_same_bytes() -> None:
    assert dict(_composed().files) == dict(_composed().files)


def test_the_front_page_answers_in_numbers() -> None:
    text = _composed().files["docs/index.md"].decode()
    assert "# Brass Heron 27" in text
    assert "2026-03-14" in text
    assert "c0ffee12" in _composed().files["docs/about.md"].decode()
    assert "Not ready for inspection" in text
    assert "Of 3 checks, 1 falls short and 1 is open" in text
    # 203 lb against 50 kg at 1.25: 50 / (1.25 · 92.08) − 1 = −56.6 %
    assert re.search(
        r"Total, light limit</a></th> <td class=\"mb-n\"><span class=\"mb-q\">−56\.5\d"
        r"<span class=\"mb-pm\"> ± 0\.47</span> %",
        text,
    )


def test_a_build_without_anything_says_so() -> None:
    bare = Build({}, {}, {}, "0" * 64)
    done = compose(evaluate(bare, as_of=scene.DAY, subjects=()), subjects=())
    front = done.files["docs/index.md"].decode()
    assert "No checks yet; 0 open items in all." in front
    assert "describes no subject" in front
    assert "Nothing is open in this description" in done.files["docs/open-items.md"].decode()
    assert "holds no values" in done.files["docs/inputs.md"].decode()
    assert "No equation was used" in done.files["docs/sources.md"].decode()


def test_every_quantity_has_its_anchor_its_line_and_its_basis_among_the_inputs() -> None:
    build = scene.build(items=3)
    text = _composed(build).files["docs/inputs.md"].decode()
    for quantity in build.quantities.values():
        row = re.search(rf'<tr id="{re.escape(quantity.id)}">.*', text)
        assert row, quantity.id
        assert (
            f"mass.yaml&#58;{quantity.place.line if quantity.place else 0}" in row[0]
            or quantity.default
        )
        assert (quantity.basis if not quantity.stated else "stated") in row[0]
    assert "1 5&#47;8 in" in text, "a fraction stays as its author wrote it"


class _Anchors(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: list[str] = []
        self.names: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.names |= {key for key, _ in attrs}
        for key, value in attrs:
            self.ids += [value or ""] if key == "id" else []
            self.links += [value or ""] if key == "href" and tag == "a" else []


def test_every_link_leads_to_an_anchor_and_no_anchor_stands_twice() -> None:
    files = _composed(
        scene.build(
            pages=(_page('{{ value("scene.total") }}\n\n{{ check("scene.check.total") }}'),)
        )
    ).files
    seen: dict[str, _Anchors] = {}
    for name, data in files.items():
        if name.endswith(".md"):
            seen[name.removeprefix("docs/").replace(".md", ".html")] = reader = _Anchors()
            reader.feed(data.decode())
            assert len(reader.ids) == len(set(reader.ids)), name
    for name, reader in seen.items():
        for link in (u for u in reader.links if not u.startswith(("http", "assets/"))):
            page, _, anchor = link.partition("#")
            target = page.removeprefix("../") if page else name
            if not anchor and f"docs/{target}" in files:
                continue  # a file beside the pages
            assert target in seen, f"{name}: {link}"
            assert not anchor or anchor in seen[target].ids, f"{name}: {link}"


def test_hostile_text_is_text_on_every_page() -> None:
    build = scene.build(name=HOSTILE, item=HOSTILE, hostile=HOSTILE, pages=(_page(HOSTILE),))
    for name, data in _composed(build).files.items():
        if name.endswith((".md", ".yml")):
            text = data.decode().replace('<script src="assets/filter.js" defer></script>', "")
            assert "<script" not in text, name
            assert "](javascript:" not in text or name == "mkdocs.yml", name
            assert 'href="javascript' not in text, name
            assert "49" not in re.findall(r"\{\{.*?\}\}", text), name


def test_si_comes_first_where_the_team_says_so() -> None:
    text = _composed(scene.build(system=System.SI)).files["docs/scene.md"].decode()
    assert re.search(
        r"92\.1 ± 1\.0 kg</span> <span class=\"mb-q mb-other\">\(203\.0 ± 2\.2 lb\)", text
    )


def test_the_configuration_keeps_the_renderer_exchangeable() -> None:
    config = yaml.safe_load(_composed(scene.build(name='A <b> "x"')).files["mkdocs.yml"])
    assert config["plugins"] == ["search", "offline"]
    assert config["site_name"] == "A &lt;b&gt; &quot;x&quot; 27"
    assert not {"hooks", "repo_url"} & set(config)
    assert config["extra_javascript"] == ["assets/folds.js"]
    assert "custom_dir" not in config["theme"]
    assert config["theme"]["font"] is False


def test_the_menu_is_grouped_by_what_a_reader_has_in_mind() -> None:
    other = dataclasses.replace(
        scene.SUBJECTS[0], word="other", title="Other", group="The run", evaluate=_nothing
    )
    of = evaluate(
        scene.build(pages=(_page("# Why"),)), as_of=scene.DAY, subjects=(*scene.SUBJECTS, other)
    )
    files = compose(of, subjects=(*scene.SUBJECTS, other)).files
    assert yaml.safe_load(files["mkdocs.yml"])["nav"] == [
        {"Summary": "index.md"},
        {"What is left": [{"Open items": "open-items.md"}]},
        {"The vehicle": [{"Mass and centre of gravity": "scene.md"}]},
        {"The run": [{"Other": "other.md"}]},
        {
            "What it rests on": [
                {"Assumptions": "assumptions.md"},
                {"Inputs": "inputs.md"},
                {"Sources": "sources.md"},
            ]
        },
        {"Team pages": [{"Why so": "team/why.md"}]},
        {"About and cautions": "about.md"},
    ]


def _nothing(_build: Build, _given: Given) -> Outcome:
    return Outcome("other")


def test_every_page_is_in_the_menu() -> None:
    files = _composed(scene.build(pages=(_page("# Why"),))).files
    pages = {n.removeprefix("docs/") for n in files if n.endswith(".md")}
    assert set(re.findall(r"[\w/-]+\.md", files["mkdocs.yml"].decode())) == pages


def test_the_inputs_are_folded_by_section_and_say_what_is_folded_away() -> None:
    text = _composed(scene.build(items=5)).files["docs/inputs.md"].decode()
    assert len(re.findall("<details", text)) == len(re.findall("^## ", text, re.MULTILINE)) == 2
    assert "Engine, dressed 1, Engine, dressed 2, Engine, dressed 3 and 3 more" in text


def test_ids_within_a_sentence_are_called_by_their_words_and_code_stays() -> None:
    words = Words(scene.build(), labels(scene.build(), {}))
    assert words.said("rests on mass.items.part_1.mass <b>; state `mass.items.part_1.x`") == (
        "rests on “Engine&#44; dressed 1&#58; mass” &#60;b&#62;; state <code>mass.items.part_1.x</code>"
    ).replace("&#44;", ",")
    assert words.said("about 2.5 of v1.2 and no.such.id") == "about 2.5 of v1.2 and no.such.id"


def test_every_sheet_of_paper_says_what_it_is() -> None:
    css = _composed(scene.build(name='x"}</style>')).files["docs/assets/edition.css"].decode()
    assert "counter(page)" in css
    assert "</style" not in css
    words = "".join(chr(int(c, 16)) for c in re.findall(r"\\([0-9a-f]{6}) ", css))
    assert words == 'x"}</style> 27, draft, c0ffee12, 2026-03-14'


# ------------------------------------------------------------- the front page's facts


def test_urgent_checks_come_first_and_the_least_margin_before_others() -> None:
    over = overview(scene.evaluation(), {"scene": "Scene"})
    assert [c.verdict for c in over.listed] == ["short", "open", "holds"]
    assert (over.total.holds, over.total.short, over.total.open) == (1, 1, 1)
    # two items: mass measured; x, y assumed; z estimated. Limits and target are stated, not known.
    assert dict(over.bases) == {
        "measured": 2,
        "rated": 0,
        "calculated": 0,
        "estimated": 2,
        "assumed": 4,
    }
    assert (over.values, over.with_spread) == (8, 2)
    assert not over.ready


def test_what_is_not_described_is_named_so_that_silence_is_not_taken_for_safety() -> None:
    titles = {"scene": "Scene", "fire": "Fire suppression", "plan": "Work that is left"}
    assert overview(scene.evaluation(), titles).undescribed == ("Fire suppression",)


def test_a_margin_that_the_spread_cannot_tell_from_zero_is_an_unknown() -> None:
    done = scene.evaluation()
    first = done.checks[0]
    given = ((0.10, 0.045), (0.10, 0.006), (-0.01, 0.54), (0.0, None))  # beyond two deviations: no
    checks = tuple(
        dataclasses.replace(first, id=f"scene.check.n{n}", margin=m, probability_short=p)
        for n, (m, p) in enumerate(given)
    )
    over = overview(dataclasses.replace(done, checks=checks), {"scene": "Scene"})
    assert [c.id for c in over.doubtful] == ["scene.check.n2", "scene.check.n0"]
    assert [c.id for c in over.listed[:2]] == ["scene.check.n2", "scene.check.n3"], "least first"


def test_what_departs_stands_apart_from_the_margins_and_bars_readiness() -> None:
    rule = Requirement(
        "scene.rule.a", "scene", "Cap colour", "red", "blue", "departs", "it is blue"
    )
    done = scene.evaluation()
    held = dataclasses.replace(
        done, checks=done.checks[:1], open_items=(), requirements=(rule,) * 5
    )
    over = overview(held, {"scene": "Scene"})
    assert (over.total.departs, len(over.departures), over.more_departures) == (5, 2, 3)
    assert over.total.short == 0
    assert not over.ready
    assert overview(dataclasses.replace(held, requirements=()), {"scene": "Scene"}).ready


def test_an_id_stands_once_on_a_page() -> None:
    assert tidy('<a id="x">1</a><b id="y" id="x">\n\n\n\n<i id="x">') == (
        '<a id="x">1</a><b id="y">\n\n<i>\n'
    )


def test_an_id_is_called_by_its_record_and_by_the_words_of_the_schema() -> None:
    build = scene.build()
    mass = build.section(Mass)
    assert mass is not None
    x, y, z = (
        scene.quantity(f"mass.items.part_1.size.{a}", "20 in", "length") for a in ("x", "y", "z")
    )
    sized = dataclasses.replace(mass.items[0], size=Size(x=x, y=y, z=z))
    mass = dataclasses.replace(mass, items=(sized, *mass.items[1:]))
    known = labels(dataclasses.replace(build, sections={"mass": mass}), {})
    assert known["mass.items.part_1.size.x"].whole == "Engine, dressed 1: size: size along x"
    assert known["mass.items.part_1"].whole == "Engine, dressed 1"
    assert known["mass.limits.total"].whole == "Limits: most mass"
    assert known["mass"].whole == "Mass"


EXIT = {
    "format": 1,
    "vehicle": {"name": "Wren"},
    "egress": {
        "activities": [
            {"id": "belts", "text": "Release the belts", "duration": "3 s"},
            {"id": "out", "text": "Climb out", "duration": "4 s", "after": ["belts"]},
        ],
        "scenarios": [
            {
                "id": "side",
                "title": "On its side",
                "change": [{"activity": "out", "duration": "9 s"}],
            }
        ],
        "drills": [
            {
                "id": "first",
                "date": "2026-02-01",
                "scenario": "side",
                "person": "P",
                "times": {"belts": "2.9 s"},
            }
        ],
    },
}


def test_an_entry_without_a_name_is_called_by_its_list_and_its_number() -> None:
    point = {"x": "1 in", "y": "0 in", "z": "9 in"}
    tank = {"id": "cell", "name": "Cell", "vent": [point, point], "fill": "95 %"}
    tank |= {"x": "0 in", "y": "0 in", "z": "8 in"}
    tank |= {"length": "9 in", "width": "9 in", "height": "9 in"}
    described = {"format": 1, "vehicle": {"name": "Wren"}, "vents": {"tanks": [tank]}}
    build = assemble(Document(described)).build
    assert build is not None
    known = labels(build, {})
    assert known["vents.tanks.cell.vent.0.z"].whole == "Cell: vent, point 1: z"
    assert known["vents.tanks.cell.vent.1"].whole == "Cell: vent, point 2"
    line = {"id": "feed", "name": "Feed", "carries": "fuel", "points": [point, point]}
    part = {"id": "disc", "axis": "x", "radius": "5 in", "half_width": "1 in", "spread_angle": "5°"}
    described["rotating"] = {"parts": [part | point], "lines": [line]}
    build = assemble(Document(described)).build
    assert build is not None
    assert labels(build, {})["rotating.lines.feed.points.1"].whole == "Feed: point 2"


def test_what_stands_for_another_thing_is_called_as_that_is_called() -> None:
    build = assemble(Document(EXIT)).build
    assert build is not None
    known = labels(build, {})
    assert known["egress.scenarios.side.change.0.duration"].whole == (
        "On its side: Climb out: duration"
    )
    assert known["egress.drills.first.times.belts"].whole == "drill first: times: Release the belts"
    assert known["egress.drills.first.times"].whole == "drill first: times"


# ------------------------------------------------------------------------------- the team's pages


def test_results_are_embedded_by_name() -> None:
    text, problems = _team(
        'It weighs {{ value("scene.total") }}; {{check( "scene.check.light" )}}. '
        'See {{ value("mass.items.part_1.mass") }}.'
    )
    assert not problems
    assert '<a href="../scene.html#scene.total"><span class="mb-q">203.0 ± 2.2 lb</span>' in text
    assert '<a href="../inputs.html#mass.items.part_1.mass">' in text
    assert 'mb-verdict-short">short</span>, margin' in text


@pytest.mark.parametrize(
    ("text", "message", "advice", "line", "column"),
    [
        (
            'a\n\nb {{ value("scene.totl") }}',
            "there is no value `scene.totl`",
            "did you mean `scene.total`?",
            3,
            3,
        ),
        (
            '{{ check("scene.total") }}',
            "there is no check `scene.total`",
            "did you mean `scene.check.total`?",
            1,
            1,
        ),
        (
            '{{ chart("mass.side") }}',
            "there is no chart `mass.side`",
            "this build has no chart yet",
            1,
            1,
        ),
        ("{{ scene.total }}", "`{{ scene.total }}` is not a way to embed a result", None, 1, 1),
        (
            '{{ value("a").__class__ }}',
            '`{{ value("a").__class__ }}` is not a way to embed a result',
            None,
            1,
            1,
        ),
        (
            "[x](javascript:alert)",
            "`javascript:alert` is not a link that may be followed",
            None,
            1,
            5,
        ),
        (
            "[x](data:text/html,x)",
            "`data:text/html,x` is not a link that may be followed",
            None,
            1,
            5,
        ),
        (
            "[x](//example.org/p)",
            "`//example.org/p` is not a link that may be followed",
            None,
            1,
            5,
        ),
        (
            "![x](https://example.org/p.png)",
            "`https://example.org/p.png` is no picture of the build folder",
            None,
            1,
            6,
        ),
        ("![x](gone.png)", "there is no picture `gone.png`", None, 1, 6),
        ("![x](p.svg)", "`p.svg` is no picture of the build folder", None, 1, 6),
    ],
)
def test_what_a_page_asks_for_in_vain_is_said_at_its_place(  # noqa: PLR0917  (pytest names them)
    text: str,
    message: str,
    advice: str | None,
    line: int,
    column: int,
    tmp_path: Path,
) -> None:
    page, problems = _team(text, tmp_path)
    assert [(m, row, col) for m, _, row, col in problems] == [(message, line, column)]
    assert problems[0][1]
    assert advice is None or problems[0][1] == advice
    assert "javascript:" not in re.sub(r"&#58;", "", page)


def test_code_shows_an_embedding_as_it_is_written() -> None:
    text, problems = _team('`{{ value("x") }}`\n\n```\n{{ value("y") }}\n\n<b>\n```\n')
    assert not problems
    assert "value&#40;&#34;x&#34;&#41;" in text
    assert "&#60;b&#62;" in text
    assert "\n\n<" not in text.split("<pre>")[1].split("</pre>")[0]


@pytest.mark.parametrize(
    "raw",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "a <b onclick=x>b</b>",
        "<!-- x -->",
        "<div>\n\n<iframe src=x></iframe>\n\n</div>",
        "&#60;script&#62;",
        "[a]: javascript:alert(1)\n\n[a]",
        "<javascript:alert(1)>",
        "![x](x.png){onerror=alert(1)}",
        "# <script>x</script>",
        "```html\n<script>\n```",
    ],
)
def test_raw_html_is_text(raw: str) -> None:
    text, _ = _team(raw)
    if "<" in raw and not raw.startswith(("#", "```")):
        shown = " ".join(re.sub(r"<[^>]*>", " ", text).split())
        assert raw.split(maxsplit=1)[0] in html.unescape(shown), "it is shown, not dropped"
    reader = _Anchors()
    reader.feed(text)
    assert set(reader.tags) <= {"section", "strong", "div", "p", "pre", "code", "a", "h1"}
    assert not [u for u in reader.links if "javascript" in u.lower()]
    assert reader.names <= {"class", "href", "data-search-exclude"}


def test_pictures_stay_inside_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "build"
    (folder / "pages").mkdir(parents=True)
    (folder / "pages" / "side view.png").write_bytes(b"inside")
    (tmp_path / "secret.png").write_bytes(b"outside")
    (folder / "pages" / "link.png").symlink_to(tmp_path / "secret.png")
    done = _composed(
        scene.build(
            pages=(
                _page(
                    "![Seen from the side](side%20view.png) ![b](../../secret.png) ![c](link.png)"
                ),
            )
        ),
        folder,
    )
    assert done.files["docs/team/files/side_view.png"] == b"inside"
    assert b"outside" not in done.files.values()
    assert len(done.problems) == 2
    assert (
        'src="files/side_view.png" alt="Seen from the side"'
        in done.files["docs/team/why.md"].decode()
    )


def test_pages_of_like_names_do_not_overwrite_each_other() -> None:
    done = _composed(
        scene.build(pages=(_page("a", "Why so"), _page("b", "why-so"), _page("c", "../x")))
    )
    assert {n for n in done.files if "/team/" in n} == {
        "docs/team/why-so.md",
        "docs/team/why-so-2.md",
        "docs/team/x.md",
    }


def test_headings_of_a_page_stay_headings_below_its_title() -> None:
    text, _ = _team("# Why so\n\n## Next *step*\n\n# Another\n\ntext")
    assert [line for line in text.splitlines() if line.startswith("#")] == [
        "# Why so",
        "## Next step",
        "## Another",
    ]


# ----------------------------------------------------------------------------- folders


def test_a_folder_is_replaced_as_a_whole(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "out"
    write({"a/b.md": b"1", "gone.md": b"2"}, target)
    write({"a/b.md": b"3"}, target)
    assert {str(p.relative_to(target)) for p in target.rglob("*") if p.is_file()} == {
        "a/b.md",
        MARKER,
    }
    assert (target / "a/b.md").read_bytes() == b"3"
    assert sorted(p.name for p in target.parent.iterdir()) == ["out"], "nothing is left beside it"


def test_a_folder_that_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(NotOursError, match="did not write"):
        write({"a": b"1"}, tmp_path)
    with pytest.raises(NotOursError, match="is no folder"):
        write({"a": b"1"}, tmp_path / "thesis.txt")
    link = tmp_path / "link"
    link.symlink_to(tmp_path)
    with pytest.raises(NotOursError, match="is no folder"):
        write({"a": b"1"}, link)
    assert (tmp_path / "thesis.txt").read_text() == "years of work"


def test_the_day_is_that_of_the_evaluation() -> None:
    other = evaluate(scene.build(), as_of=datetime.date(2031, 1, 2), subjects=scene.SUBJECTS)
    assert "2031-01-02" in compose(other, subjects=scene.SUBJECTS).files["docs/index.md"].decode()


def test_the_front_page_stays_short_however_much_is_short() -> None:
    done = scene.evaluation()
    many = dataclasses.replace(done, checks=done.checks * 9)
    over = overview(many, {"scene": "Scene"})
    assert [c.verdict for c in over.listed] == ["short"] * 3 + ["open", "holds"]


def test_a_record_without_a_value_of_its_own_is_named_and_not_linked() -> None:
    build = scene.build()
    note = labels(build, {})["notes.entries.first"]
    assert note.page == ""
    shown = Words(build, labels(build, {})).link("notes.entries.first")
    assert "<a" not in shown
    assert shown


def test_a_folder_of_published_revisions_is_nobodys_to_replace(tmp_path: Path) -> None:
    """`publish` marks its folder as ours, and what was issued stays all the same."""
    public = tmp_path / "public"
    write({"rev-1/index.html": b"issued", "revisions.json": b"{}"}, public)
    with pytest.raises(NotOursError, match="holds published revisions"):
        write({"index.html": b"a build"}, public)
    assert (public / "rev-1/index.html").read_bytes() == b"issued"
