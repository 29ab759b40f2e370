"""Eliminating the joints between a member's pieces, one after the other, for all members at once.

What is left is one matrix a member between its own two joints: the frame is then no larger than
before it was split. Pivots of the eliminated joints that are not positive mean that a member
buckles by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.frame.model import Array, Flags


@dataclass(frozen=True)
class Link:
    """One eliminated joint: its flexibility (…, 6, 6), its load (…, 6), and the stiffness that
    couples it to the member's start and to the next joint (…, 6, 6)."""

    give: Array
    load: Array
    to_start: Array
    to_next: Array


@dataclass(frozen=True)
class Chain:
    """stiffness (…, 12, 12) and end loads (…, 12) of whole members; links from the start on;
    positive (…): whether all eliminated joints resist."""

    stiffness: Array
    loads: Array
    links: tuple[Link, ...]
    positive: Flags


def _positive(blocks: Array) -> Flags:
    """Which of the symmetric blocks (…, 6, 6) are positive definite."""
    try:
        np.linalg.cholesky(blocks)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.eigvalsh(blocks)[..., 0] > 0.0)
    return np.ones(blocks.shape[:-2], dtype=bool)


def _joined(
    start: Array, load: Array, piece: Array, own: Array
) -> tuple[Array, Array, Link, Flags]:
    """A run of pieces (12 × 12 and its end loads) and the next piece, their common joint gone."""
    middle = start[..., 6:, 6:] + piece[..., :6, :6]
    force = load[..., 6:] + own[..., :6]
    link = Link(np.asarray(np.linalg.inv(middle)), force, start[..., 6:, :6], piece[..., :6, 6:])
    coupling = np.concatenate((link.to_start, link.to_next), axis=-1)
    follow = link.give @ coupling
    both = -(coupling.swapaxes(-1, -2) @ follow)
    both[..., :6, :6] += start[..., :6, :6]
    both[..., 6:, 6:] += piece[..., 6:, 6:]
    ends = np.concatenate((load[..., :6], own[..., 6:]), axis=-1)
    ends = ends - (force[..., None, :] @ follow)[..., 0, :]
    return both, ends, link, _positive(middle)


def condensed(stiffness: Array, loads: Array) -> Chain:
    """The chain of pieces (…, p, 12, 12) with end loads (…, p, 12), all in one set of axes."""
    run, ends = stiffness[..., 0, :, :], loads[..., 0, :]
    positive = np.ones(run.shape[:-2], dtype=bool)
    links = []
    for k in range(1, stiffness.shape[-3]):
        run, ends, link, good = _joined(run, ends, stiffness[..., k, :, :], loads[..., k, :])
        links.append(link)
        positive &= good
    return Chain(run, ends, tuple(links), positive)


def between(chain: Chain, motions: Array) -> Array:
    """Motions of the eliminated joints (…, p − 1, 6) from those of the members' ends (…, 12)."""
    start, after = motions[..., :6, None], motions[..., 6:, None]
    found = []
    for link in reversed(chain.links):
        force = link.load[..., None] - link.to_start @ start - link.to_next @ after
        after = link.give @ force
        found.append(after[..., 0])
    if not found:
        return np.zeros((*motions.shape[:-1], 0, 6))
    return np.stack(found[::-1], axis=-2)
