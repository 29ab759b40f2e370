"""`publish`: revisions from git into a folder that any static host, or a memory stick, can carry.

Issued revisions are never rewritten. Everything new is made beside the public folder, which then
changes in one step.
"""

from __future__ import annotations

import errno
import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from buildspec.build import Build
from buildspec.diagnostics import harmless
from buildspec.read import read_folder
from buildspec.sections.vehicle import Vehicle
from generator.edition import DRAFT
from generator.folders import MARKER
from generator.results import program_version
from generator.revisions import public as place
from generator.revisions.crew import each
from generator.revisions.edition import of_revision, of_state
from generator.revisions.history import (
    Listing,
    Repository,
    Revision,
    State,
    find_repository,
    revisions,
    state,
)
from generator.revisions.orders import (
    Builder,
    Order,
    Progress,
    Published,
    Task,
    Unreadable,
    Wrong,
)
from generator.revisions.pages import Context, extra_pages
from generator.revisions.public import DIGESTS, LATEST, Issue, Missing, Record
from generator.revisions.signed import since_in
from generator.revisions.stage import PublishError, carry, locked, put_in_place, staged, tidy
from generator.revisions.trees import LeftOut, checked_out
from generator.site import build_site

__all__ = ["Order", "Published", "Task", "Unreadable", "Wrong", "builder", "publish"]


def builder(build: Build, folder: Path, target: Path, task: Task) -> Wrong:
    """Make the site of one task, with the pages that compare it with others."""

    before = task.listing.before(task.edition.revision)
    context = Context(task.repository, task.listing, task.revision, before)
    made = build_site(
        build,
        folder,
        target,
        as_of=task.as_of,
        edition=task.edition,
        extra=lambda evaluation: extra_pages(evaluation, context),
        since=since_in(context),
    )
    return Wrong(made.problems, made.texts, made.warnings)


def publish(
    order: Order, *, progress: Progress = lambda _: None, make: Builder = builder
) -> Published:
    """Publish what `order` says, as a whole or not at all.

    PublishError or HistoryError where it is refused: the public folder is then as it was.
    """
    repository = find_repository(order.folder)
    listing = revisions(repository, order.pattern)
    now = state(repository, listing)
    if order.strict:
        _strict(order, listing, now)
    public = _public(order.public, repository)
    with _said(public):
        public.parent.mkdir(parents=True, exist_ok=True)
        with locked(public):
            tidy(public)
            _ours(public)
            record = place.read_record(public)
            tasks = _tasks(order, repository, listing, now, record)
            _as_issued(public, record, {t.edition.revision for t in tasks})
            kept = tuple(i.version for i in record.issues)
            desk = _Desk(public, record, now, listing, progress, make)
            return replace(desk.work(tasks, order), kept=_without(kept, tasks))


def _without(names: tuple[str, ...], tasks: tuple[Task, ...]) -> tuple[str, ...]:
    made = {task.edition.revision for task in tasks}
    return tuple(name for name in names if name not in made)


# ------------------------------------------------------------------------------- refusals


def _strict(order: Order, listing: Listing, now: State) -> None:
    if now.changed:
        raise PublishError(
            f"{order.folder} holds changes that are not committed; commit them, or leave out --strict"
        )
    if listing.refused:
        first = listing.refused[0]
        raise PublishError(f"`{first.name}` is no revision: {first.reason}")


def _public(public: Path, repository: Repository) -> Path:
    """The public folder's place, which must have nothing to do with the build folder's."""
    place_ = public.resolve()
    build = repository.folder
    if place_ == build or place_.is_relative_to(build):
        raise PublishError(
            f"{public} lies inside the build folder, and would become part of what it shows; "
            "name a folder outside it"
        )
    if build.is_relative_to(place_):
        raise PublishError(f"{public} holds the build folder itself; name another folder")
    if place_.is_relative_to(repository.root / ".git"):
        raise PublishError(f"{public} is where git keeps the history; name another folder")
    return place_


def _ours(public: Path) -> None:
    if public.exists() and not public.is_dir():
        raise PublishError(f"{public} is a file; name a folder")
    if public.is_mount():
        raise PublishError(f"{public} is the root of a disk of its own; name a folder inside it")
    if (public / place.RECORD).is_file() or not public.is_dir():
        return
    if any(entry.name != ".git" for entry in public.iterdir()):  # a fresh branch for it is empty
        raise PublishError(
            f"{public} holds files that `publish` did not write; name another folder, or empty "
            "it yourself"
        )


def _as_issued(public: Path, record: Record, replaced: set[str]) -> None:
    """Every issued revision is still what it was, but for those that are to be replaced."""
    for issue in record.issues:
        if issue.version not in replaced and (name := place.changed(public, issue)):
            raise PublishError(
                f"{public / name} is not as it was issued; put it back from a copy, or issue the "
                f"revision again with `--revision {issue.version} --reissue`, which says so"
            )


@contextmanager
def _said(public: Path) -> Iterator[None]:
    """What the system refuses, in a sentence that says what became of the public folder."""
    try:
        yield
    except OSError as error:
        words = {
            errno.ENOSPC: "the disk is full",
            errno.EDQUOT: "your share of the disk is used up",
            errno.EACCES: "you may not write there",
            errno.EPERM: "you may not write there",
            errno.EROFS: "this disk cannot be written",
            errno.EFBIG: "a file is larger than this disk, or your limit, allows",
            errno.EBUSY: "something holds it, such as a disk that hangs on it",
        }
        said = words.get(error.errno or 0) or error.strerror or str(error)
        place_ = error.filename2 or error.filename  # of a copy, where it was to go
        where = f" ({place_})" if place_ else ""
        raise PublishError(f"{public} stays as it was: {said}{where}") from error


# --------------------------------------------------------------------------------- choosing


def _tasks(
    order: Order, repository: Repository, listing: Listing, now: State, record: Record
) -> tuple[Task, ...]:
    """The sites that are to be made."""
    if order.revision:
        wanted: tuple[Revision | None, ...] = (listing.named(order.revision),)
    elif order.all:
        wanted = listing.revisions
    else:
        wanted = (now.revision,)
    if wanted == (None,):
        edition = replace(of_state(now), public=True)
        return (Task(repository, listing, edition, None, order.today),)
    return tuple(
        _task(repository, listing, revision, record.issue(revision.name))
        for revision in wanted
        if revision is not None and _needed(order, revision, record.issue(revision.name))
    )


def _needed(order: Order, revision: Revision, issue: Issue | None) -> bool:
    """Whether the revision is to be made. PublishError where that would rewrite an issued one."""
    if issue is None or order.reissue:
        return True
    if issue.tag != revision.tag:
        raise PublishError(
            f"`{revision.name}` was issued from commit {issue.commit[:8]}, and its tag now is "
            f"another one, on {revision.commit[:8]}. An issued revision is never rewritten: give "
            "the new state a name of its own, or say --reissue, which the pages then say too"
        )
    if order.revision:
        raise PublishError(
            f"`{revision.name}` is issued already, and an issued revision is never rewritten; "
            "with --reissue it is, and its pages say so"
        )
    return False


def _task(
    repository: Repository, listing: Listing, revision: Revision, issue: Issue | None
) -> Task:
    note = ""
    if issue is not None:
        times = issue.reissued + 1
        note = (
            f"Issued again{f' ({times} times)' if times > 1 else ''}: this replaces what was issued "
            f"before as {revision.name} from commit {issue.commit[:8]}, digest {issue.digest[:8]}. "
            "A word given on that one does not cover this one."
        )
    edition = replace(of_revision(revision), note=note, public=True)
    return Task(repository, listing, edition, revision, revision.date, issue)


# ----------------------------------------------------------------------------------- making


@dataclass
class _Desk:
    """One publishing at work on a folder that is locked."""

    public: Path
    record: Record
    now: State
    listing: Listing
    progress: Progress
    make: Builder
    unreadable: list[Unreadable] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def work(self, tasks: tuple[Task, ...], order: Order) -> Published:
        """Make every site, and put the whole in place; nothing where there is nothing to write."""
        with staged(self.public) as fresh:
            made = self._sites(tasks, fresh)
            record = self._recorded(made)
            spoilt = self.unreadable and (order.strict or not order.all)
            if spoilt or record == self.record or not (record.issues or record.draft):
                return self._done(False, ())
            self.progress("putting it in place")
            _fill(fresh, self.public, record, {i.version for i in made})
            put_in_place(fresh, self.public)
        return self._done(True, tuple(i.version for i in made))

    def _done(self, written: bool, issued: tuple[str, ...]) -> Published:
        notes = (
            *(f"`{t.name}` is no revision: {t.reason}" for t in self.listing.refused),
            *self.notes,
        )
        return Published(
            self.public, written, issued, unreadable=tuple(self.unreadable), notes=notes
        )

    def _sites(self, tasks: tuple[Task, ...], fresh: Path) -> list[Issue]:
        """The sites of all tasks in the fresh folder, but for those that cannot be read."""
        issues: list[Issue] = []
        alone = self.make is not builder  # a builder of the caller's own stays in its process
        with each(_site, [(task, fresh, self.make) for task in tasks], alone=alone) as products:
            for number, task in enumerate(tasks, 1):
                self.progress(f"making {task.edition.short}, {number} of {len(tasks)}")
                product = next(products)
                self.notes += product.notes
                self.unreadable += product.unreadable
                issues += product.issues
        return issues

    def _recorded(self, made: list[Issue]) -> Record:
        new = {issue.version: issue for issue in made}
        draft = new.pop(DRAFT, None if self.now.revision else self.record.draft)
        kept = [i for i in self.record.issues if i.version not in new]
        issues = place.newest_first([*kept, *new.values()])
        names = {i.version for i in issues}
        lost = {m.version: m for m in self.record.missing} | {
            u.version: _missing(u, self.listing) for u in self.unreadable if u.version != DRAFT
        }
        missing = tuple(m for _, m in sorted(lost.items()) if m.version not in names)
        return Record(issues, draft, missing)


@dataclass(frozen=True)
class _Product:
    """What became of one task: one issue, or why there is none."""

    issues: tuple[Issue, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    notes: tuple[str, ...] = ()


def _site(task: Task, fresh: Path, make: Builder) -> _Product:
    """Make the site of one task in the fresh folder."""
    if task.revision is None:
        return _made(task, task.repository.folder, fresh, make)
    with checked_out(task.repository, task.revision.tree) as (folder, left):
        product = _made(task, folder, fresh, make)
        return replace(product, notes=(*(_left(task, out) for out in left), *product.notes))


def _made(task: Task, folder: Path, fresh: Path, make: Builder) -> _Product:
    version, target = task.edition.revision, fresh / task.edition.revision
    reading = read_folder(folder)
    if reading.build is None:
        return _Product(unreadable=(Unreadable(version, reading.problems, reading.texts),))
    wrong = make(reading.build, folder, target, task)
    if wrong.problems:
        return _Product(unreadable=(Unreadable(version, wrong.problems, wrong.texts),))
    doubts = tuple(f"{version}: {harmless(f'{w.place}: {w.message}')}" for w in wrong.warnings)
    return _Product((_issue(task, target, reading.build),), notes=doubts)


def _left(task: Task, out: LeftOut) -> str:
    return f"{task.edition.revision}: `{harmless(out.name)}` is left out: {out.reason}"


def _missing(unreadable: Unreadable, listing: Listing) -> Missing:
    """Why a revision is not there, in a line that stays true on every machine."""
    errors = [p for p in unreadable.problems if p.severity == "error"]
    first = errors[0]
    more = f", and {len(errors) - 1} more" if len(errors) > 1 else ""
    reason = (
        f"marginbook {program_version()} cannot read its description: "
        f"{first.place}: {first.message}{more}"
    )
    return Missing(unreadable.version, listing.named(unreadable.version).title, reason)


def _issue(task: Task, target: Path, build: Build) -> Issue:
    """What the record says of a site that was just made, which is sealed by its digests."""
    (target / MARKER).unlink(missing_ok=True)  # the folder around it carries the marker
    (target / DIGESTS).write_text(place.digests(target), "utf-8")
    results = json.loads((target / "results.json").read_text("utf-8"))
    edition, revision, vehicle = task.edition, task.revision, build.section(Vehicle)
    return Issue(
        version=edition.revision,
        title=edition.title or edition.short,
        vehicle=vehicle.called if vehicle else "Design review",
        date=(edition.date or task.as_of).isoformat(),
        when=revision.when.isoformat() if revision else "",
        tag=revision.tag if revision else "",
        commit=edition.commit,
        tree=revision.tree if revision else "",
        program=program_version(),
        digest=place.digest(target),
        counts=place.counts_of(results),
        pages=place.pages_of(target),
        reissued=task.replaces.reissued + 1 if task.replaces else 0,
    )


def _fill(fresh: Path, public: Path, record: Record, made: set[str]) -> None:
    """Complete the fresh folder: what stays, the newest once more, and the files beside them."""
    if public.is_dir():
        shutil.copymode(public, fresh)  # a folder that others may not read stays so
        renewed = place.OWN - ({DRAFT} if record.draft else set())
        for entry in sorted(public.iterdir()):
            if entry.name not in renewed and entry.name not in made:
                carry(entry, fresh / entry.name)
    if record.issues:
        shutil.copytree(fresh / record.issues[0].version, fresh / LATEST)
    for name, content in place.front_files(record).items():
        (fresh / name).write_bytes(content)
