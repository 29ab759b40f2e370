"""What is said where there is no build to read: no folder, or none with a `build.yaml`."""

from __future__ import annotations

from pathlib import Path as File

from buildspec.diagnostics import Diagnostic, Place, closest, harmless

MAIN = "build.yaml"


def no_folder(folder: File, error: Exception) -> Diagnostic:
    """The problem of a folder that cannot be listed."""
    place = Place(harmless(str(folder)))
    if isinstance(error, NotADirectoryError):
        return Diagnostic(
            "folder.file",
            "this is a file, and a build is a folder",
            place,
            "name the folder that the file stands in",
        )
    if isinstance(error, FileNotFoundError):
        return Diagnostic(
            "folder.missing",
            "there is no such folder",
            place,
            "name a build folder, or make one: `marginbook new my_car`",
        )
    return Diagnostic(
        "folder.unreadable",
        "this folder cannot be read",
        place,
        "give yourself the right to read it",
    )


def no_main(folder: File, names: tuple[str, ...]) -> Diagnostic:
    """The problem of a folder without `build.yaml`; `names` are those in it."""
    place = Place(harmless(str(folder)))
    if not names:
        return Diagnostic(
            "folder.empty",
            "the folder is empty",
            place,
            "a build begins with `build.yaml`; `marginbook new my_car` writes one",
        )
    near = next((n for n in names if n.lower() in {"build.yml", "build.yaml"}), None)
    near = near or closest(MAIN, tuple(n for n in names if n.endswith((".yaml", ".yml"))))
    hint = (
        f"rename `{near}` to `build.yaml`"
        if near
        else "name the folder that holds it, or make one: `marginbook new my_car`"
    )
    return Diagnostic("folder.no-build", "the folder has no `build.yaml`", place, hint)
