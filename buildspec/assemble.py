"""A document, whole and placed → a Build, or what is wrong with it. Reads no file."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from buildspec.build import Build, Page
from buildspec.diagnostics import Diagnostic, Place, closest
from buildspec.documents import Document
from buildspec.evidence import FileFact
from buildspec.fill import fill_section, fingerprint, ids, quantities
from buildspec.migrations import migrated
from buildspec.nobuild import MAIN
from buildspec.references import check_references
from buildspec.schema import FORMAT, load, words
from buildspec.sections import problems_of, record_of
from buildspec.validate import example_line, validate


@dataclass(frozen=True)
class Assembled:
    """What came of a document. `build` holds the sections that are sound, and is to be used only
    where no problem is an error; `fits` is False where the program cannot read the format at all.
    """

    build: Build | None
    problems: tuple[Diagnostic, ...]
    fits: bool = True

    @property
    def sound(self) -> Build | None:
        """The build, where no problem is an error."""
        return None if any(p.severity == "error" for p in self.problems) else self.build


def assemble(
    document: Document,
    pages: tuple[Page, ...] = (),
    files: Mapping[str, FileFact] = MappingProxyType({}),
) -> Assembled:
    """Check the document and fill the sections. The document's own problems are not repeated.

    `files` is what is known of the files named as proof. Plain data without places,
    `Document(data)`, will do: then the problems have none either.
    """
    problems: list[Diagnostic] = []
    if not _format_fits(document, problems):
        return Assembled(None, tuple(problems), fits=False)
    document = migrated(document)
    placed = (*validate(document), *check_references(document))
    problems += [*(problem for _, problem in placed), *_vehicle(document)]
    wrong = (*(path for path, _ in placed), *document.broken)
    spoilt = {path[0] for path in wrong if path} if all(wrong) else set(words())
    build = _build(document, pages, spoilt, files)
    for word, section in build.sections.items():
        if look := problems_of(word):
            problems += look(section, build)
    return Assembled(build, tuple(problems))


def _format_fits(document: Document, problems: list[Diagnostic]) -> bool:
    """Whether this program can read the description at all; if not, nothing more is said."""
    if () in document.broken:
        return False
    if not isinstance(document.data, dict):
        problems.append(
            Diagnostic(
                "file.shape",
                "this file must hold sections, each a key with lines below it",
                Place(MAIN),
                f"begin with `format: {FORMAT}`, then `vehicle:`",
            )
        )
        return False
    given = document.data.get("format")
    if isinstance(given, int) and not isinstance(given, bool) and given > FORMAT:
        problems.append(
            Diagnostic(
                "format.newer",
                f"this is written in format {given}, and this program reads format {FORMAT}",
                document.place(("format",)),
                "use a newer version of the program",
            )
        )
        return False
    return True


def _vehicle(document: Document) -> Iterator[Diagnostic]:
    """The one section that must be there."""
    if (
        isinstance(document.data, dict)
        and "vehicle" not in document.data
        and ("vehicle",) not in document.broken
    ):
        if any(closest(str(key), ("vehicle",)) for key in document.data if key not in words()):
            return  # it stands there misspelled, and is reported as that
        yield Diagnostic(
            "key.missing",
            "the description has no `vehicle`",
            Place(MAIN),
            f"add a line such as `{example_line('vehicle', ('vehicle',))}`",
        )


def _build(
    document: Document,
    pages: tuple[Page, ...],
    spoilt: Collection[str | int],
    files: Mapping[str, FileFact],
) -> Build:
    """The build of every section that is not `spoilt` by an error.

    A section whose schema says `x-always` is filled also where nothing is written of it.
    """
    data = document.data if isinstance(document.data, dict) else {}
    order = [word for word in data if word in words()]
    order += [word for word in words() if word not in data and load(word).get("x-always")]
    sections = {
        word: fill_section(record_of(word), data.get(word, {}), document, word, load(word))
        for word in order
        if word not in spoilt
    }
    places = {
        name: document.place(path)
        for word in order
        for name, path in ids(data.get(word, {}), (word,), word)
    }
    found = {q.id: q for section in sections.values() for q in quantities(section)}
    places |= {q.id: q.place for q in found.values() if q.place is not None}
    return Build(sections, found, places, fingerprint(sections, files), pages, files)
