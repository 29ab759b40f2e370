"""The commands `compare` and `sign`: arguments, and what is printed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from generator.revisions.compare import Comparison
    from generator.revisions.sides import Finder, UnreadableSideError

Command = Callable[..., argparse.ArgumentParser]
Day = Callable[[str], object]
FOREMOST = 20
"""Checks that text and Markdown list; the page and `--json` have them all."""


# ---------------------------------------------------------------------------------- compare


def add_compare(commands: Any, command: Command, day: Day) -> None:
    """Declare `compare`."""
    compare = command(
        commands,
        "compare",
        _compare,
        "say what changed between two states of a design, and which change moved which margin",
        "marginbook compare rev-3 my_car --markdown",
    )
    _sides(compare)
    _states(compare, day)
    _forms(compare)


def _sides(compare: argparse.ArgumentParser) -> None:
    """What is compared."""
    compare.add_argument("earlier", metavar="A", help="a revision, a commit, or a build folder")
    compare.add_argument("later", metavar="B", help="the same; a folder is taken as it is now")
    compare.add_argument(
        "--in",
        dest="home",
        type=Path,
        metavar="FOLDER",
        help="the build folder whose revisions are meant, where neither A nor B is one "
        "(default: the folder you are in)",
    )
    compare.add_argument(
        "--tags",
        default="rev-*",
        metavar="PATTERN",
        help="which annotated tags are revisions (default: %(default)s)",
    )


def _states(compare: argparse.ArgumentParser, day: Day) -> None:
    """How it is compared."""
    compare.add_argument(
        "--renamed",
        action="append",
        default=[],
        type=_pair,
        metavar="OLD=NEW",
        help="a record that has another id now, such as mass.items.engine=mass.items.motor; "
        "may be given several times",
    )
    compare.add_argument(
        "--as-of",
        type=day,
        default=None,
        metavar="DATE",
        help="evaluate both for this day (default: a revision for its own day, a folder for today)",
    )
    compare.add_argument(
        "--strict",
        action="store_true",
        help="end with 1 where a check newly falls short or a prescription newly departs",
    )


def _forms(compare: argparse.ArgumentParser) -> None:
    """How it is told."""
    compare.add_argument(
        "--all", action="store_true", help="list every check that moved, not only the foremost"
    )
    form = compare.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print plain data instead of text")
    form.add_argument(
        "--markdown", action="store_true", help="print Markdown, to paste into a pull request"
    )
    compare.add_argument(
        "--to",
        type=Path,
        default=None,
        metavar="SITE",
        help="also write the site of B, with the comparison as one of its pages",
    )
    _format(compare)


def _format(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--format",
        choices=("full", "concise"),
        default="full",
        help="how problems are printed (default: %(default)s)",
    )


def _pair(text: str) -> tuple[str, str]:
    old, equals, new = text.partition("=")
    if not (old and equals and new):
        raise argparse.ArgumentTypeError(f"{text!r} is no pair; write OLD=NEW")
    return old, new


def _compare(arguments: argparse.Namespace) -> int:
    from buildspec.renames import RenameError  # noqa: PLC0415  (numpy, only once it is needed)
    from generator.cli import CommandError  # noqa: PLC0415
    from generator.revisions.causes import causes  # noqa: PLC0415
    from generator.revisions.compare import compare  # noqa: PLC0415
    from generator.revisions.git import HistoryError  # noqa: PLC0415
    from generator.revisions.sides import UnreadableSideError  # noqa: PLC0415

    find = _finder(arguments)
    try:
        earlier, later = find.side(arguments.earlier), find.side(arguments.later)
        comparison = compare(earlier, later, dict(arguments.renamed))
    except UnreadableSideError as error:
        return _unreadable(error, arguments)
    except (HistoryError, RenameError) as error:
        raise CommandError(str(error)) from None
    found = causes(comparison)
    print(_printed(comparison, found, arguments), end="")
    if arguments.to is not None:
        _written(find, comparison, found, arguments)
    return 1 if arguments.strict and _worse(comparison) else 0


def _written(
    find: Finder, comparison: Comparison, found: Any, arguments: argparse.Namespace
) -> None:
    """The site of the later side, with the comparison as a page of it."""
    from generator.edition import Edition  # noqa: PLC0415
    from generator.revisions.pages import compared_page  # noqa: PLC0415
    from generator.site import build_site  # noqa: PLC0415

    later = comparison.later.evaluation
    with find.folder(arguments.later) as folder:
        made = build_site(
            later.build,
            folder,
            arguments.to,
            as_of=later.as_of,
            edition=Edition(),
            extra=lambda _: (compared_page(comparison, found),),
        )
    if not made.problems:
        print(f"wrote {made.front.with_name('since.html')}", file=sys.stderr)


def _finder(arguments: argparse.Namespace) -> Finder:
    import datetime  # noqa: PLC0415

    from generator.revisions.sides import Finder  # noqa: PLC0415

    named = [Path(w) for w in (arguments.later, arguments.earlier) if Path(w).is_dir()]
    home = arguments.home or next(iter(named), Path())
    today = datetime.datetime.now().astimezone().date()
    return Finder(home, today, arguments.as_of, arguments.tags)


def _unreadable(error: UnreadableSideError, arguments: argparse.Namespace) -> int:
    from buildspec.diagnostics import render, render_concise, to_json  # noqa: PLC0415

    reading = error.reading
    if arguments.json:
        said = {"unreadable": error.name, "problems": to_json(reading.problems)}
        print(json.dumps(said, indent=2, ensure_ascii=False))
        return 2
    print(f"marginbook: {error}", file=sys.stderr)
    concise = arguments.format == "concise"
    text = render_concise(reading.problems) if concise else render(reading.problems, reading.texts)
    print(text, end="", file=sys.stderr)
    return 2


def _printed(comparison: Comparison, found: Any, arguments: argparse.Namespace) -> str:
    from generator.revisions import printing  # noqa: PLC0415
    from generator.revisions.wording import words_of  # noqa: PLC0415

    if arguments.json:
        data = printing.as_data(comparison, found)
        return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    said = words_of(comparison, found, most=None if arguments.all else FOREMOST)
    return printing.as_markdown(said) if arguments.markdown else printing.as_text(said)


def _worse(comparison: Comparison) -> bool:
    """Whether a check newly falls short, or a prescription newly departs."""
    short = any(m.after and m.after.verdict == "short" and m.turned for m in comparison.moves)
    return short or any(r.after and r.after.state == "departs" for r in comparison.rulings)


# ------------------------------------------------------------------------------------- sign

SAYS = ("accepted", "accepted-with-comment", "not-accepted")


def add_sign(commands: Any, command: Command, day: Day) -> None:
    """Declare `sign`."""
    sign = command(
        commands,
        "sign",
        _sign,
        "record a reviewer's word on a part of the design, with all that its result depends on; "
        "or the team's answer to a comment",
        'marginbook sign my_car --scope parachutes --by "R. Sandoval" --as reviewer '
        "--says accepted",
    )
    sign.add_argument(
        "folder", type=Path, help="the build folder; signoffs.yaml in it is appended to"
    )
    _word(sign)
    sign.add_argument(
        "--revision",
        default="",
        metavar="TAG",
        help="the revision that was looked at (default: the folder as it is)",
    )
    sign.add_argument(
        "--as-of",
        type=day,
        default=None,
        metavar="DATE",
        help="the day of the word (default: today)",
    )
    sign.add_argument("--json", action="store_true", help="print what was appended as JSON")
    _format(sign)


def _word(sign: argparse.ArgumentParser) -> None:
    """Who says what of what."""
    what = sign.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "--scope",
        default="",
        help="what the word is about: a subject, a check, a prescription, the common beginning of "
        "several ids, or a group of signoffs.yaml",
    )
    what.add_argument("--answers", default="", metavar="RECORD", help="the record that is answered")
    sign.add_argument(
        "--by", required=True, metavar="NAME", help="who gives the word or the answer"
    )
    sign.add_argument(
        "--as", dest="role", default="", metavar="ROLE", help="in what role: reviewer, inspector"
    )
    sign.add_argument("--says", choices=SAYS, help="the word")
    sign.add_argument(
        "--note", default="", metavar="TEXT", help="the comment, the reason, or the answer"
    )


def _sign(arguments: argparse.Namespace) -> int:
    from generator.cli import CommandError  # noqa: PLC0415
    from generator.revisions.git import HistoryError  # noqa: PLC0415
    from generator.revisions.sides import UnreadableSideError  # noqa: PLC0415
    from generator.signoffs.scope import ScopeError  # noqa: PLC0415
    from generator.signoffs.sign import SignError  # noqa: PLC0415

    try:
        entry = _answered(arguments) if arguments.answers else _signed(arguments)
    except UnreadableSideError as error:
        return _unreadable(error, arguments)
    except (HistoryError, ScopeError, SignError) as error:
        raise CommandError(str(error)) from None
    if arguments.json:
        print(json.dumps(entry, indent=2, ensure_ascii=False))
    else:
        print(_said(arguments, entry))
    return 0


def _today(arguments: argparse.Namespace) -> Any:
    import datetime  # noqa: PLC0415

    return arguments.as_of or datetime.datetime.now().astimezone().date()


def _answered(arguments: argparse.Namespace) -> dict[str, Any]:
    from generator.signoffs.sign import answer  # noqa: PLC0415

    day = _today(arguments)
    return answer(arguments.folder, day, arguments.answers, arguments.by, arguments.note)


def _signed(arguments: argparse.Namespace) -> dict[str, Any]:
    """Append the record; the folder must be readable before anything is written to it."""
    from buildspec.read import read_folder  # noqa: PLC0415
    from generator.revisions.looked import looked_at  # noqa: PLC0415
    from generator.revisions.sides import Finder, read_side, revision_side  # noqa: PLC0415
    from generator.signoffs.sign import Looked, Said, SignError, own_file, sign  # noqa: PLC0415

    if not (arguments.says and arguments.role):
        raise SignError("say with --says which word, and with --as in what role it is given")
    folder, day = arguments.folder, _today(arguments)
    side = read_side(str(folder), read_folder(folder), day)
    own_file(folder, side.evaluation)
    looked = looked_at(folder)
    if arguments.revision:
        find = Finder(folder, day)
        revision = find.listing.named(arguments.revision)
        side = revision_side(find.repository, revision, day)
        looked = Looked(revision.name, revision.commit)
    said = Said(arguments.scope, arguments.by, arguments.role, arguments.says, arguments.note)
    return sign(folder, said, side.evaluation, looked)


def _said(arguments: argparse.Namespace, entry: dict[str, Any]) -> str:
    from buildspec.sections.signoffs import Seen  # noqa: PLC0415

    path = arguments.folder / "signoffs.yaml"
    if arguments.answers:
        return f"appended the answer to {entry['to']} to {path}; commit it"
    seen = Seen(**entry["seen"])
    parts = {f.name: getattr(seen, f.name) for f in fields(seen)}
    counts = ", ".join(f"{len(entries)} {part}" for part, entries in parts.items() if entries)
    state = entry.get("revision") or entry.get("commit", "")[:8] or "no commit"
    more = " with uncommitted changes" if entry.get("uncommitted") else ""
    return (
        f"appended {entry['id']} to {path}: {entry['by']} ({entry['as']}) says "
        f"{entry['says']} of {entry['scope']}, at {state}{more}\n"
        f"seen: {counts}; fingerprint {entry['fingerprint']}; commit the file"
    )
