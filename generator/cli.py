"""Arguments in, exit code out; nothing else."""

from __future__ import annotations

import argparse
import datetime
import functools
import gc
import json
import os
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from buildspec.diagnostics import Diagnostic, render, render_concise, to_json
from buildspec.read import Reading, read_folder
from buildspec.sections.signoffs import Record
from generator.results import as_data, as_text, program_version
from generator.revisions.commands import add_compare, add_sign

HOLDS, FALLS_SHORT, UNREADABLE, FAULT = 0, 1, 2, 3


class CommandError(Exception):
    """A command cannot do what it was asked; the message says why and what to do."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; nothing a user can write ends in a traceback."""
    arguments = _parser().parse_args(argv)
    try:
        code: int = arguments.run(arguments)
        sys.stdout.flush()
        return code
    except CommandError as error:
        _say(f"marginbook: {error}")
        return UNREADABLE
    except BrokenPipeError:  # the reader of our output went away, as `| head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return HOLDS
    except KeyboardInterrupt:
        return 130
    except OSError as error:
        _say(f"marginbook: {error.strerror or error}: {error.filename or 'the output'}")
        return UNREADABLE
    except Exception as error:
        return _fault(error, arguments)


def _fault(error: Exception, arguments: argparse.Namespace) -> int:
    """A fault of the program itself: said in a line, and in full where it was asked for."""
    if arguments.trace:
        traceback.print_exc()
    _say(
        f"marginbook: a fault of the program, not of your description ({type(error).__name__}). "
        "Run again with --trace before the command, and report what it prints."
    )
    return FAULT


# ------------------------------------------------------------------------------- commands


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the collector of cyclic garbage, for work that is short and leaves next to none: looking
    again and again through all that was read and imported takes a twentieth of the time of `check`.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@_uncollected()
def _check(arguments: argparse.Namespace) -> int:
    reading = read_folder(arguments.folder)
    if reading.build is None:
        return _unreadable(reading, arguments)
    from generator.evaluation import evaluate  # noqa: PLC0415  (numpy, only once there is a build)
    from generator.signoffs.reviewed import reviewed  # noqa: PLC0415
    from generator.strays import strays  # noqa: PLC0415

    evaluation = reviewed(evaluate(reading.build, as_of=arguments.as_of), _since(arguments.folder))
    lost = strays(evaluation, arguments.folder)
    if arguments.json:
        print(as_text(as_data(evaluation, problems=(*reading.problems, *lost))), end="")
    else:
        from generator.report import report  # noqa: PLC0415

        found = (*reading.problems, *evaluation.problems, *lost)
        _problems(replace(reading, problems=found, texts=_texts(reading)), arguments)
        print(report(evaluation), end="")
    if lost:
        return UNREADABLE
    return _exit_code(
        [*(c.verdict for c in evaluation.checks), *(r.state for r in evaluation.requirements)],
        strict=arguments.strict,
    )


def _since(folder: Path) -> Callable[[Record], str]:
    """Which revision undid a sign-off; the history, and what reads it, are for those who have one that fell."""

    @functools.cache
    def history() -> Callable[[Record], str]:
        from generator.revisions.undoing import since_of  # noqa: PLC0415

        return since_of(folder)

    def said(record: Record) -> str:
        return history()(record)

    return said


def _texts(reading: Reading) -> dict[str, str]:
    """The files a problem may stand in, the team's pages among them."""
    pages = reading.build.pages if reading.build else ()
    return {**reading.texts, **{p.place.file: p.text for p in pages}}


def _exit_code(verdicts: list[str], *, strict: bool) -> int:
    bad = {"short", "departs", "open"} if strict else {"short", "departs"}
    return FALLS_SHORT if bad.intersection(verdicts) else HOLDS


def _build(arguments: argparse.Namespace) -> int:
    reading = read_folder(arguments.folder)
    if reading.build is None:
        return _unreadable(reading, arguments)
    from generator.revisions.around import around  # noqa: PLC0415
    from generator.revisions.edition import edition_of  # noqa: PLC0415
    from generator.site import build_site  # noqa: PLC0415  (MkDocs and matplotlib take a second)

    beside = around(arguments.folder)
    made = build_site(
        reading.build,
        arguments.folder,
        arguments.to,
        as_of=arguments.as_of,
        edition=edition_of(arguments.folder),
        keep=arguments.keep_markdown,
        progress=_progress(),
        extra=beside.extra,
        since=beside.since,
    )
    found = (*reading.problems, *made.warnings)
    _problems(replace(reading, problems=found, texts=_texts(reading)), arguments)
    if made.problems:
        _print_problems(made.problems, _texts(reading), arguments)
        return UNREADABLE
    pdf = _printed(made.binder) if arguments.pdf else None
    if arguments.json:
        paths = {"site": made.front, "results": made.results, "binder": made.binder, "pdf": pdf}
        print(json.dumps({name: path and str(path) for name, path in paths.items()}))
    else:
        print("\n".join(f"wrote {path}" for path in (made.front, made.binder, pdf) if path))
    return HOLDS


def _publish(arguments: argparse.Namespace) -> int:
    from generator.revisions.git import HistoryError  # noqa: PLC0415
    from generator.revisions.publish import Order, publish  # noqa: PLC0415

    order = Order(
        arguments.folder,
        arguments.to,
        arguments.as_of,
        arguments.revision,
        arguments.all,
        arguments.reissue,
        arguments.strict,
        arguments.tags,
    )
    try:
        done = publish(order, progress=_progress())
    except HistoryError as error:
        raise CommandError(str(error)) from None
    if arguments.json:
        print(json.dumps(done.as_data(), indent=2, ensure_ascii=False))
        return UNREADABLE if done.failed else HOLDS
    for state in done.unreadable:
        text = _rendered(state.problems, state.texts, arguments, sys.stderr)
        _say(f"{state.version}: its description cannot be read\n{text}".rstrip("\n"))
    for note in done.notes:
        _say(f"note: {note}")
    print(done.said)
    return UNREADABLE if done.failed else HOLDS


def _printed(page: Path) -> Path | None:
    """The dossier as a PDF beside `page`, or None where none can be made here: then it is said why."""
    from generator.pdf import PdfError, print_pdf  # noqa: PLC0415

    target = page.with_suffix(".pdf")
    try:
        print_pdf(page, target)
    except PdfError as error:
        _say(f"marginbook: {error}")
        return None
    return target


def _serve(arguments: argparse.Namespace) -> int:
    from generator.serve import serve  # noqa: PLC0415

    serve(arguments.folder, port=arguments.port)
    return HOLDS


def _new(arguments: argparse.Namespace) -> int:
    from generator.new import make_folder  # noqa: PLC0415

    folder = arguments.folder
    try:
        made = make_folder(folder, example=arguments.example)
    except FileExistsError as error:
        raise CommandError(str(error)) from None
    if made.note:
        _say(f"note: {made.note}")
    if arguments.json:
        revisions = list(made.revisions)
        print(
            json.dumps({"folder": str(folder), "files": list(made.files), "revisions": revisions})
        )
    elif made.revisions:
        print(
            f"wrote {len(made.files)} files into {folder}, with {len(made.revisions)} revisions "
            f"under git; next: marginbook publish {folder} --to public --all"
        )
    else:
        print(f"wrote {len(made.files)} files into {folder}; next: marginbook build {folder}")
    return HOLDS


# ------------------------------------------------------------------------------- printing


def _unreadable(reading: Reading, arguments: argparse.Namespace) -> int:
    _print_problems(reading.problems, reading.texts, arguments)
    return UNREADABLE


def _problems(reading: Reading, arguments: argparse.Namespace) -> None:
    """Warnings, on the error stream, where there is a build to go on with."""
    if reading.problems and not arguments.json:
        _say(_rendered(reading.problems, reading.texts, arguments, sys.stderr).rstrip("\n"))


def _print_problems(
    problems: tuple[Diagnostic, ...], texts: Any, arguments: argparse.Namespace
) -> None:
    if arguments.json:
        print(json.dumps({"problems": to_json(problems)}, indent=2, ensure_ascii=False))
    else:
        print(_rendered(problems, texts, arguments, sys.stdout), end="")


def _rendered(
    problems: tuple[Diagnostic, ...], texts: Any, arguments: argparse.Namespace, stream: Any
) -> str:
    if arguments.format == "concise":
        return render_concise(problems)
    colour = stream.isatty() and not os.environ.get("NO_COLOR")
    return render(problems, texts, colour=colour)


def _progress() -> Callable[[str], None]:
    """Says what is being done on a terminal, and nothing in a pipe."""
    if not sys.stderr.isatty():
        return lambda _: None
    return lambda text: _say(f"  {text}")


def _say(text: str) -> None:
    print(text, file=sys.stderr)


# ------------------------------------------------------------------------------- arguments


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="marginbook",
        description="Turn the description of a speed-record vehicle into a review site of its margins.",
        epilog="exit codes: 0 all holds; 1 something falls short or departs (with --strict, or is open); "
        "2 the description or a page of the team cannot be read, or the command cannot do what it was asked; "
        "3 a fault of the program",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and end")
    parser.add_argument(
        "--trace", action="store_true", help="print the full trace of a fault of the program"
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    _add_new(commands)
    _add_check(commands)
    _add_build(commands)
    _add_publish(commands)
    add_compare(commands, _command, _date)
    add_sign(commands, _command, _date)
    _add_serve(commands)
    return parser


class _Version(argparse.Action):
    """Looks the version up only when asked: that takes longer than reading a small build."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        print(f"marginbook {program_version()}")
        parser.exit()


def _command(
    commands: Any, name: str, run: Any, text: str, example: str
) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(
        name, help=text, description=text, epilog=f"example: {example}"
    )
    command.set_defaults(run=run)
    return command


def _add_new(commands: Any) -> None:
    new = _command(
        commands,
        "new",
        _new,
        "write a small commented build folder that builds at once",
        "marginbook new my_car",
    )
    new.add_argument("folder", type=Path, help="the folder to make; it must not hold anything yet")
    new.add_argument(
        "--example",
        action="store_true",
        help="make the demonstration instead, with its history under git",
    )
    new.add_argument("--json", action="store_true", help="print what was written as JSON")


def _add_check(commands: Any) -> None:
    check = _command(
        commands,
        "check",
        _check,
        "read and compute, and print the verdicts",
        "marginbook check my_car --strict",
    )
    _reading_options(check)
    check.add_argument(
        "--strict",
        action="store_true",
        help="let what is open count like what falls short or departs",
    )
    check.add_argument("--json", action="store_true", help="print results.json instead of text")


def _add_build(commands: Any) -> None:
    build = _command(
        commands, "build", _build, "write the review site", "marginbook build my_car --to site"
    )
    _reading_options(build)
    build.add_argument(
        "--to",
        type=Path,
        default=Path("site"),
        metavar="SITE",
        help="the folder of the site (default: %(default)s)",
    )
    build.add_argument(
        "--keep-markdown",
        type=Path,
        metavar="FOLDER",
        help="also keep the Markdown that the site is made from",
    )
    build.add_argument(
        "--pdf",
        action="store_true",
        help="also print the whole dossier as a PDF, where Chromium is installed",
    )
    build.add_argument("--json", action="store_true", help="print where the site is as JSON")


def _add_publish(commands: Any) -> None:
    publish = _command(
        commands,
        "publish",
        _publish,
        "write revisions from git, each into a folder of its own, with a list of them all",
        "marginbook publish my_car --to public --all",
    )
    _reading_options(publish, day="evaluate a draft for this day")
    publish.add_argument(
        "--to",
        type=Path,
        required=True,
        metavar="PUBLIC",
        help="the public folder, outside the build folder; other revisions in it stay",
    )
    _which_revisions(publish)
    publish.add_argument(
        "--reissue",
        action="store_true",
        help="replace what was issued under the same name; the pages say so",
    )
    publish.add_argument(
        "--strict",
        action="store_true",
        help="refuse uncommitted changes, bad tags and, with --all, unreadable revisions",
    )
    publish.add_argument(
        "--tags",
        default="rev-*",
        metavar="PATTERN",
        help="which annotated tags are revisions (default: %(default)s)",
    )
    publish.add_argument("--json", action="store_true", help="print what was done as JSON")


def _which_revisions(publish: argparse.ArgumentParser) -> None:
    which = publish.add_mutually_exclusive_group()
    which.add_argument(
        "--revision",
        default="",
        metavar="TAG",
        help="publish this revision (default: the folder as it is, as a revision or as a draft)",
    )
    which.add_argument(
        "--all", action="store_true", help="publish every revision that is not there yet"
    )


def _add_serve(commands: Any) -> None:
    serve = _command(
        commands,
        "serve",
        _serve,
        "show the site on this machine while you edit",
        "marginbook serve my_car --port 8000",
    )
    serve.add_argument("folder", type=Path, help="the build folder")
    serve.add_argument(
        "--port", type=int, default=8000, help="port on this machine (default: %(default)s)"
    )


def _reading_options(command: argparse.ArgumentParser, day: str = "evaluate for this day") -> None:
    command.add_argument("folder", type=Path, help="the build folder")
    command.add_argument(
        "--as-of",
        type=_date,
        default=None,
        metavar="DATE",
        help=f"{day}, YYYY-MM-DD (default: today)",
    )
    command.add_argument(
        "--format",
        choices=("full", "concise"),
        default="full",
        help="how problems are printed (default: %(default)s)",
    )
    command.set_defaults(as_of=datetime.datetime.now().astimezone().date())


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no date; write it as 2026-09-12") from None
