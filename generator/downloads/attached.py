"""What a subject shows of the files in the build folder: made when the site is built, not before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Attached:
    """`files` go into the site by their path in it; `view` is handed to the subject's page."""

    files: Mapping[str, bytes] = field(default_factory=dict)
    view: Mapping[str, Any] = field(default_factory=dict)
