"""Small descriptions for tests, and reading them."""

from __future__ import annotations

import tempfile
from pathlib import Path

from buildspec.build import Build
from buildspec.read import Reading, read_folder

HEAD = "format: 1\nvehicle: {name: Wren}\n"
MASS = """mass:
  items:
    - {id: frame, name: Frame, mass: 300 lb, x: 70 in, z: 14 in}
    - {id: fuel, name: Fuel, fluid: true, mass: 40 lb, x: 90 in, z: 12 in}
  conditions: [{id: start_line}]
  design_condition: start_line
"""


def reading_of(build_yaml: str | bytes, **others: str | bytes) -> Reading:
    """Read a folder of `build.yaml` and other files, named with `_` for the dot."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in {"build_yaml": build_yaml, **others}.items():
            path = folder / ".".join(file.rsplit("_", 1))
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_folder(folder)


def build_of(build_yaml: str, **others: str) -> Build:
    """The build of a description that must have no problem."""
    reading = reading_of(build_yaml, **others)
    assert reading.problems == (), reading.problems
    assert reading.build is not None
    return reading.build


def codes(build_yaml: str | bytes, **others: str | bytes) -> list[str]:
    """The codes of all problems, in order."""
    return [p.code for p in reading_of(build_yaml, **others).problems]
