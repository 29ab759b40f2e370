"""Things that wait for one another: the first circle among them, and how to say so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from buildspec.diagnostics import Diagnostic, Note, Place, quoted


def circle_problem(
    circle: list[str], key: str, place: Place, notes: tuple[Note, ...] = ()
) -> Diagnostic:
    """The problem of entries that wait for one another."""
    if len(circle) == 1:
        return Diagnostic(
            "reference.circle",
            f"{quoted(circle[0])} comes after itself",
            place,
            f"take it out of its own `{key}`",
        )
    said = " after ".join(quoted(c) for c in [*circle[:10], circle[0]])
    return Diagnostic(
        "reference.circle",
        f"these wait for one another: {said}",
        place,
        f"take one name out of one `{key}`, so that something can begin",
        notes,
    )


def find_circle(graph: Mapping[str, Sequence[str]]) -> list[str]:
    """The first circle of a graph {node: nodes it comes after}, from its first member; [] if none.

    Iterative, so that a chain of thousands is no deeper than one of two.
    """
    place = {node: n for n, node in enumerate(graph)}
    done: set[str] = set()
    for begin in graph:
        trail: list[str] = []
        on_trail: set[str] = set()
        todo: list[tuple[str, bool]] = [(begin, False)]
        while todo:
            node, leave = todo.pop()
            if leave:
                trail.pop()
                on_trail.discard(node)
                done.add(node)
            elif node in on_trail:
                circle = trail[trail.index(node) :]
                first = min(range(len(circle)), key=lambda n: place[circle[n]])
                return circle[first:] + circle[:first]
            elif node not in done and node in graph:
                trail.append(node)
                on_trail.add(node)
                todo.append((node, True))
                todo += [(n, False) for n in reversed(graph[node])]
    return []
