"""What a description names in vain is said at its line, by `check` and by `build` alike."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path

import pytest

from generator.cli import main

STARTER = Path(__file__).parents[2] / "generator" / "starter"
DAY = ("--as-of", "2027-01-15")
REMARKS = """
notes:
  entries:
    - {id: one, text: A., about: mass.items.engine}
    - {id: two, text: A., about: mass.items.engin}
    - {id: three, text: A., about: mass.limts}
    - {id: four, text: A., about: mas.items.engine}
    - {id: five, text: A., about: mass.check.total}
    - {id: six, text: A., about: egress.scenario.upright.p95}
    - {id: seven, text: A., about: mass.check.totl}
"""
LINKS = """# Story

[mass](../mass.html) [the same](../mass.md) [a check](../mass.html#mass.check.total) [data](../results.json)
[other](Our%20Tires.md) [as a page](our-tires.html) [far](https://example.org/a.html) [below](#here)
[gone](../mas.html) [lost](our_tires.md) `[code](nowhere.md)`

[named]: ../egres.html
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The starter's description in a folder of its own."""
    return shutil.copytree(STARTER, tmp_path / "car")


def _append(folder: Path, name: str, text: str) -> int:
    """Add text to a file; how many lines stand before it."""
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    before = path.read_text("utf-8") if path.exists() else ""
    path.write_text(before + text, "utf-8")
    return before.count("\n")


def test_a_remark_may_be_about_a_result_or_a_check_and_not_about_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = _append(folder, "build.yaml", REMARKS) + 4
    assert main(["check", str(folder), *DAY]) == 2
    said = re.findall(r"build\.yaml:(\d+):\d+.*\n.*\n.*\n.*\n *(.*)", capsys.readouterr().err)
    assert said == [
        (f"{first + 1}", "did you mean `mass.items.engine`?"),
        (f"{first + 2}", "did you mean `mass.limits`?"),
        (f"{first + 3}", "did you mean `mass.items.engine`?"),
        (f"{first + 6}", "did you mean `mass.check.total`?"),
    ]
    assert main(["build", str(folder), *DAY, "--to", str(folder / "site")]) == 2
    assert "`mass.check.totl` leads nowhere" in capsys.readouterr().out
    assert not (folder / "site").exists()


@pytest.mark.parametrize("command", ["check", "build"])
def test_a_dead_link_is_said_at_its_line(
    command: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _append(folder, "pages/story.md", LINKS)
    _append(folder, "pages/Our Tires.md", "# Our tires\n\n[back](story.md)\n")
    target = ("--to", str(folder / "site")) if command == "build" else ()
    assert main([command, str(folder), *DAY, *target, "--format", "concise"]) == 2
    out, err = capsys.readouterr()
    said = [line for line in (out + err).splitlines() if "page.link" in line]
    assert said == [
        "pages/story.md:5:8: error[page.link]: `../mas.html` leads nowhere: the site has no such page",
        "pages/story.md:5:28: error[page.link]: `our_tires.md` leads nowhere: the site has no such page",
        "pages/story.md:7:10: error[page.link]: `../egres.html` leads nowhere: the site has no such page",
    ]
    assert main([command, str(folder), *DAY, *target]) == 2
    full = "".join(capsys.readouterr())
    assert "did you mean `../mass.html`?" in full
    assert "did you mean `Our Tires.md`?" in full or "did you mean `our-tires.html`?" in full


def test_a_link_to_a_page_of_the_teams_goes_by_its_file(folder: Path) -> None:
    _append(folder, "pages/story.md", "# Story\n\n[tires](Our%20Tires.md#how) [mass](../mass.md)\n")
    _append(folder, "pages/Our Tires.md", "# Our tires\n")
    assert main(["build", str(folder), *DAY, "--to", str(folder / "site")]) == 0
    page = html.unescape((folder / "site" / "team" / "story.html").read_text("utf-8"))
    assert 'href="our-tires.html#how"' in page
    assert (folder / "site" / "team" / "our-tires.html").is_file()
    assert re.search(r'href="\.\./mass\.html">mass', page)


def test_build_says_what_only_an_evaluation_sees_and_writes_the_site(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A rule that names no result keeps no site from being written, and must not pass in silence."""
    sheet = (
        "\nrules:\n  sheets:\n    - id: own\n      title: Own\n      groups: [{id: g, title: G}]\n"
        "      requirements:\n        - {id: a, group: g, statement: A., compare: "
        "{result: mass.condition.start_line.totl, most: 1 lb}}\n"
    )
    (folder / "rules.yaml").unlink()
    _append(folder, "build.yaml", sheet)
    assert main(["check", str(folder), *DAY, "--format", "concise"]) == 0
    checked = [x for x in capsys.readouterr().err.splitlines() if "rules.unknown" in x]
    target = ("--to", str(folder / "site"))
    assert main(["build", str(folder), *DAY, *target, "--format", "concise"]) == 0
    built = [x for x in capsys.readouterr().err.splitlines() if "rules.unknown" in x]
    assert built == checked
    assert len(built) == 1
    assert (folder / "site" / "index.html").is_file()
