"""The subjects: one module each. Adding one adds its files, and its word to this list."""

from __future__ import annotations

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
