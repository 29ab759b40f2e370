"""Tables shipped with the program. Every row says where it was read."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import yaml

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def rows_of(name: str) -> Any:
    """What the table of that name holds, by the quick parser where there is one."""
    return yaml.load(files(__name__).joinpath(name).read_text("utf-8"), Loader=_LOADER)
