"""The sections: one module each, found by its word. `mass.py` holds the record `Mass`.

A module may also define `problems(section, build)`, which yields what a schema cannot say.
"""

from __future__ import annotations

import functools
import importlib
import pkgutil
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from buildspec.schema import words

if TYPE_CHECKING:
    from buildspec.build import Build
    from buildspec.diagnostics import Diagnostic

Problems = Callable[[Any, "Build"], "Iterable[Diagnostic]"]


@functools.cache
def records() -> Mapping[str, type]:
    """The record type of every section that has a schema, by the section's word."""
    modules = {module.name for module in pkgutil.iter_modules(__path__)}
    return {word: record_of(word) for word in words() if word in modules}


def record_of(word: str) -> type:
    """The record type of one section; only its own module is imported."""
    record: type = getattr(_module(word), class_name(word))
    return record


def class_name(word: str) -> str:
    """The name of a section's record: `Mass` for `mass`."""
    return "".join(part.title() for part in word.split("_"))


def problems_of(word: str) -> Problems | None:
    """The section's own look for problems, where it has one."""
    found: Problems | None = getattr(_module(word), "problems", None)
    return found


def _module(word: str) -> Any:
    return importlib.import_module(f"{__name__}.{word}")
