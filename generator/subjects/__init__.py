"""The subjects: one module each. Adding one adds its files, and its word to this list."""

from __future__ import annotations

from collections.abc import Container, Mapping

SUBJECTS: tuple[str, ...] = (
    "mass",
    "egress",
    "fire",
    "gear",
    "clock",
    "reach",
    "vents",
    "rotating",
    "air",
    "speed",
    "parachutes",
    "stopping",
    "stability",
    "cage",
    "plan",
    "evidence",
    "rules",
    "inspection",
)

_READS: Mapping[str, str] = {
    "reach": "driver",
    "air": "venue",
    "speed": "drive",
    "stability": "shape",
    "plan": "rules",
    "evidence": "rules",
    "inspection": "rules",
}
"""The section without which a subject has nothing to say, where that is not the one of its own name."""


def described(sections: Container[str]) -> tuple[str, ...]:
    """The subjects that may have something to say of these sections; only their modules are needed."""
    return tuple(word for word in SUBJECTS if _READS.get(word, word) in sections)
