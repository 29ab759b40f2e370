"""The project itself: its top level, its wheel, its manual, and what adding a subject costs."""

from __future__ import annotations

import ast
import fnmatch
import importlib.metadata
import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "buildspec",
    "generator",
    "site_templates",
    "tests",
    "example_build",
    "docs",
}
COPIED = ("buildspec", "generator", "site_templates", "example_build", "docs", "tests")
LEFT_BEHIND = shutil.ignore_patterns("__pycache__", ".mypy_cache", ".pytest_cache", ".ruff_cache")


def ignored(name: str) -> bool:
    """Whether git would not take it, or a dot-file."""
    patterns = (ROOT / ".gitignore").read_text("utf-8").split()
    return name.startswith(".") or any(fnmatch.fnmatch(name, p.strip("/")) for p in patterns)


def run(
    *command: object, cwd: Path = ROOT, expected: int = 0, **variables: str
) -> subprocess.CompletedProcess[str]:
    """Run a command that has to end with the exit code `expected`."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env=kept | variables,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == expected, f"{command}\n{done.stdout}\n{done.stderr}"
    return done


def text_files() -> list[Path]:
    """Every text file of the project, without what tools leave behind."""
    found = [ROOT / n for n in TOP_LEVEL if (ROOT / n).is_file()]
    for top in COPIED:
        found += [
            p
            for p in (ROOT / top).rglob("*")
            if p.is_file()
            and not any(
                part == "__pycache__" or part.startswith(".") for part in p.relative_to(ROOT).parts
            )
        ]
    return [p for p in found if p.suffix not in {".png", ".pyc", ".woff2"}]


# ------------------------------------------------------------------------------ the tree


def test_the_top_level_is_fixed() -> None:
    assert {p.name for p in ROOT.iterdir() if not ignored(p.name)} == TOP_LEVEL


def test_nothing_unfinished_is_marked_in_the_tree() -> None:
    marker = re.compile("|".join((r"\bTO" "DO" r"\b", r"\bFIX" "ME" r"\b", r"\bXX" "X" r"\b")))
    found = [
        str(p.relative_to(ROOT))
        for p in text_files()
        if marker.search(p.read_text("utf-8", errors="replace"))
    ]
    assert found == []


def test_no_file_names_a_place_on_someones_machine() -> None:
    place = re.compile("(?<![A-Za-z0-9.])/(?:home|root|Users)/[A-Za-z.]")
    found = [
        str(p.relative_to(ROOT))
        for p in text_files()
        if place.search(p.read_text("utf-8", errors="replace"))
    ]
    assert found == []


def test_the_reader_imports_nothing_of_the_generator() -> None:
    outward = re.compile(r"(?m)^\s*(?:from|import) (?:generator|site_templates)")
    found = [p for p in (ROOT / "buildspec").rglob("*.py") if outward.search(p.read_text("utf-8"))]
    assert found == []


def importers(package: str, *rooms: str) -> set[Path]:
    """The files of these rooms that import a package, at once or later."""
    wanted = re.compile(rf"(?m)^\s*(?:from|import) {package}\b")
    files = (p for room in rooms for p in (ROOT / room).rglob("*.py"))
    return {p for p in files if wanted.search(p.read_text("utf-8"))}


def test_only_the_frame_and_drills_need_scipy_and_only_the_tests_pint() -> None:
    """Each takes longer to import than most builds to check."""
    ours = ("buildspec", "generator", "site_templates")
    frame, student = ROOT / "generator" / "frame", ROOT / "generator" / "formulas" / "student.py"
    assert all(p == student or p.is_relative_to(frame) for p in importers("scipy", *ours))
    assert not importers("pint", *ours)
    assert importers("scipy", "tests")
    assert importers("pint", "tests")


def test_a_subjects_word_finds_its_files() -> None:
    from generator.subjects import SUBJECTS

    assert len(SUBJECTS) >= 2
    for word in SUBJECTS:
        for place in ("generator/subjects/{}.py", "docs/how-to/{}.md", "docs/why/{}.md"):
            assert (ROOT / place.format(word)).is_file(), place.format(word)


# ---------------------------------------------------------------------------- the manual


def test_the_generated_pages_of_the_manual_are_fresh() -> None:
    done = run(sys.executable, "docs/tools/generate.py", "--check")
    assert done.stdout == "the manual is fresh\n"


def test_the_manual_builds_without_a_warning(tmp_path: Path) -> None:
    run(
        sys.executable,
        "-m",
        "mkdocs",
        "build",
        "--strict",
        "--quiet",
        "-f",
        "docs/tools/mkdocs.yml",
        "-d",
        tmp_path / "manual",
        NO_MKDOCS_2_WARNING="1",
    )
    for page in ("index", "start-here", "safety", "CHANGELOG", "reference/mass", "why/index"):
        assert (tmp_path / "manual" / f"{page}.html").is_file()


def test_the_manual_names_every_code_that_a_wrong_description_brings_out() -> None:
    page = (ROOT / "docs" / "reference" / "problems.md").read_text("utf-8")
    codes = set(re.findall(r"^## `([a-z.-]+)`$", page, re.M))
    written = set()
    for path in (ROOT / "tests" / "specs" / "bad").glob("*/expected.txt"):
        written |= set(re.findall(r"(?:error|warning)\[([a-z.-]+)\]", path.read_text("utf-8")))
    assert written
    assert written <= codes


def yaml_examples() -> list[tuple[str, str]]:
    """Every YAML block of the manual's own pages."""
    found = []
    for path in sorted((ROOT / "docs").rglob("*.md")):
        for block in re.findall(r"^```yaml\n(.*?)^```", path.read_text("utf-8"), re.M | re.S):
            found.append((str(path.relative_to(ROOT)), block))
    return found


@pytest.mark.parametrize(("page", "block"), yaml_examples())
def test_the_examples_of_the_manual_are_yaml_that_we_read(page: str, block: str) -> None:
    from buildspec.documents import read_yaml

    # the same key twice is how a page shows a short and a long form side by side
    problems = [p for p in read_yaml(block, page).problems if p.code != "key.repeated"]
    assert problems == []


# -------------------------------------------------------------------------- README and CI


def test_the_readme_has_two_commands_and_its_picture() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    first, second = re.findall(r"^```sh\n(.+)\n```$", text, re.M)
    assert "pip install ." in first
    assert "marginbook new demo --example" in first
    assert "marginbook publish demo --all --to site" in first
    assert "pytest" in second
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", text):
        assert (ROOT / target).is_file(), target
    (picture,) = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text)
    assert 10_000 < (ROOT / picture).stat().st_size < 300_000


def test_ci_runs_the_readmes_own_commands() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
    assert "README.md" in script
    assert "pip install" not in script  # it would have drifted from what the README says


def test_the_hooks_before_a_commit_are_local() -> None:
    hooks = yaml.safe_load((ROOT / ".pre-commit-config.yaml").read_text("utf-8"))
    assert [r["repo"] for r in hooks["repos"]] == ["local"]


# ----------------------------------------------------------------------------- the wheel


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bin folder of an environment that the wheel, and only the wheel, was put into.

    Other people's packages come from here: that the wheel asks for all that it needs is tested below.
    """
    place = tmp_path_factory.mktemp("wheel")
    tree = place / "tree"
    tree.mkdir()
    for name in ("buildspec", "generator", "site_templates", "example_build"):
        shutil.copytree(ROOT / name, tree / name, ignore=LEFT_BEHIND)
    for name in ("README.md", "LICENSE", "pyproject.toml"):
        shutil.copy(ROOT / name, tree / name)
    run(sys.executable, "-m", "build", "--wheel", "--outdir", place / "dist", tree)
    (wheel,) = (place / "dist").glob("*.whl")
    run(sys.executable, "-m", "venv", "--without-pip", place / "empty")
    bin_folder = place / "empty" / ("Scripts" if os.name == "nt" else "bin")
    python = bin_folder / "python"
    run(sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", wheel)
    own = run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").stdout.strip()
    theirs = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (Path(own) / "theirs.pth").write_text("\n".join(sorted(theirs)), "utf-8")  # after its own
    return bin_folder


def imported(folder: Path) -> set[str]:
    """The names that the Python files of a folder import, at the top or later, by their first part."""
    found = set()
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {name.name.partition(".")[0] for name in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.partition(".")[0])
    return found


def test_the_wheel_asks_for_every_package_that_it_imports() -> None:
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    names = {re.split(r"[^\w.-]", entry)[0].lower().replace("_", "-") for entry in asked}
    ours = {"buildspec", "generator", "site_templates", "example_build"}
    known = importlib.metadata.packages_distributions()
    found = {name for word in ours for name in imported(ROOT / word)}
    theirs = found - ours - set(sys.stdlib_module_names)
    assert {"numpy", "yaml", "mkdocs", "PIL"} <= theirs
    lacking = {n for n in theirs if not names & {k.lower().replace("_", "-") for k in known[n]}}
    assert lacking == set()


def test_the_wheel_does_the_whole_job_outside_the_checkout(installed: Path, tmp_path: Path) -> None:
    program = installed / "marginbook"
    made = run(program, "new", "--example", "--json", "my_copy", cwd=tmp_path)
    files = set(json.loads(made.stdout)["files"])
    assert files >= {
        "build.yaml",
        "mass.yaml",
        "mass-items.csv",
        "pages/readiness.md",
        ".schema/build.schema.json",
    }
    assert not any("__pycache__" in f or f.startswith("history") for f in files)
    assert len(json.loads(made.stdout)["revisions"]) >= 5
    checked = run(program, "check", "my_copy", "--json", cwd=tmp_path, expected=1)
    assert json.loads(checked.stdout)["checks"]
    question = "import buildspec; print(buildspec.__file__)"
    where = run(installed / "python", "-c", question, cwd=tmp_path)
    assert str(installed.parent) in where.stdout


def test_the_wheel_publishes(installed: Path, tmp_path: Path) -> None:
    run(installed / "marginbook", "new", "my_car", cwd=tmp_path)
    edit = ("-c", "user.name=A. Driver", "-c", "user.email=driver@example.invalid")
    for step in (("init", "-q"), ("add", "."), ("commit", "-qm", "As drawn")):
        run("git", *edit, *step, cwd=tmp_path / "my_car")
    run("git", *edit, "tag", "-a", "rev-1", "-m", "As drawn", cwd=tmp_path / "my_car")
    run(installed / "marginbook", "publish", "my_car", "--to", "public", cwd=tmp_path)
    for name in ("index.html", "latest/mass.html", "latest/results.json", "sw.js", "versions.js"):
        assert (tmp_path / "public" / name).is_file(), name


# ----------------------------------------------------------------- what a subject costs

TOY_SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Toy",
    "description": "A tow strap.",
    "type": "object",
    "additionalProperties": False,
    "required": ["pull", "strength"],
    "properties": {
        "pull": {
            "title": "Pull",
            "description": "What it is pulled with.",
            "examples": ["900 lbf"],
            "$ref": "quantities.schema.json#/$defs/force",
            "x-above": 0,
        },
        "strength": {
            "title": "Strength",
            "description": "What it bears.",
            "examples": ["2000 lbf"],
            "$ref": "quantities.schema.json#/$defs/force",
            "x-above": 0,
        },
    },
}
TOY_SECTION = '''"""The section `toy`."""

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Toy:
    """A tow strap."""

    pull: Quantity
    strength: Quantity
'''
TOY_SUBJECT = '''"""The subject `toy`."""

from buildspec.build import Build
from buildspec.sections.toy import Toy
from generator.checks import make_check
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome, Result


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The strap against its pull."""
    toy = build.section(Toy)
    if toy is None:
        return None
    pull = Result("toy.pull_now", "Pull on the strap", toy.pull.si, "force")
    strength = Result("toy.strength_now", "Strength of the strap", toy.strength.si, "force")
    check = make_check("toy.check.strap", "Tow strap", demand=pull, capacity=strength,
                       inputs=[toy.pull.id, toy.strength.id])
    return Outcome("toy", (pull, strength), (check,))


SUBJECT = Subject("toy", "Toy", "Whether the tow strap holds.", evaluate)
'''
TOY_FILES = {
    "buildspec/schema/toy.schema.json": json.dumps(TOY_SCHEMA),
    "buildspec/sections/toy.py": TOY_SECTION,
    "generator/subjects/toy.py": TOY_SUBJECT,
    "example_build/toy.yaml": "pull: 900 lbf\nstrength: {value: 1800 lbf, basis: rated, source: label}\n",
}


def test_a_new_subject_is_files_of_its_name_and_one_line(tmp_path: Path) -> None:
    for name in COPIED:
        shutil.copytree(ROOT / name, tmp_path / name, ignore=LEFT_BEHIND)
    for place, text in TOY_FILES.items():
        (tmp_path / place).write_text(text, "utf-8")
    listing = tmp_path / "generator" / "subjects" / "__init__.py"
    before = listing.read_text("utf-8")
    listing.write_text(re.sub(r"(?m)^(SUBJECTS\b[^=]*= \()", r'\1"toy", ', before), "utf-8")
    changed = [
        a != b
        for a, b in zip(before.splitlines(), listing.read_text("utf-8").splitlines(), strict=True)
    ]
    assert sum(changed) == 1

    program = (sys.executable, "-m", "generator")
    run(*program, "new", "mine", cwd=tmp_path)
    shutil.copy(tmp_path / "example_build" / "toy.yaml", tmp_path / "mine")
    run(*program, "build", "mine", "--to", "site", cwd=tmp_path)
    page = (tmp_path / "site" / "toy.html").read_text("utf-8")
    assert "Whether the tow strap holds." in page
    assert 'id="toy.check.strap"' in page
    assert "toy.html" in (tmp_path / "site" / "index.html").read_text("utf-8")
    results = json.loads((tmp_path / "site" / "results.json").read_text("utf-8"))
    (strap,) = (c for c in results["checks"] if c["subject"] == "toy")
    assert strap["margin"] == pytest.approx(1.0)  # 1800 / 900 − 1
    assert (tmp_path / "mine" / ".schema" / "toy.schema.json").is_file()
    run(sys.executable, "docs/tools/generate.py", cwd=tmp_path)
    assert "A tow strap." in (tmp_path / "docs" / "reference" / "toy.md").read_text("utf-8")
