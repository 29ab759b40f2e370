"""Where a long equation may go on in the next line.

Browsers do not break MathML. So what is long is written as pieces, each an expression of its own,
that begin at a sign or a factor, or behind the equals sign: they flow like words, on a phone as on
paper. What is long inside a fraction, a root or a raised bracket cannot flow, and is stacked in rows
there, which are the narrower the more brackets stand around them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from xml.etree import ElementTree as Tree

from generator.markup import Markup

_NAMESPACE = "http://www.w3.org/1998/Math/MathML"
WHOLE = 17.0
"""An equation up to this wide, in ems, stays in one piece: a phone shows it in one line."""
INSIDE = 14.5
"""What stands in one piece becomes about this wide, its brackets counted."""
LEAST = 6.0
"""Narrower than this nothing is made, however many brackets stand around it."""

_RELATIONS = frozenset("=+−-·×⋅<>≤≥")
_FLAT = frozenset({"mi", "mn", "mo", "mtext", "mspace", "mrow", "msub"})
_TALL = frozenset({"mfrac", "msqrt"})
_SMALL = 0.7  # a sub- or superscript against its base, as MathML Core draws it

_Row = list[Tree.Element]


def flowing(equation: Markup) -> Markup:
    """The MathML of one equation as one or more pieces; a short one as it is."""
    root = Tree.fromstring(str(equation))
    for element in root.iter():
        element.tag = element.tag.removeprefix(f"{{{_NAMESPACE}}}")
    if _width(root) <= WHOLE:
        return equation
    left, right = _sides(list(_flat(list(root))))
    pieces = [left, *_rows(right, INSIDE)] if left else _rows(right, INSIDE)
    return Markup("<wbr>".join(map(_piece, pieces)))


def _sides(elements: _Row) -> tuple[_Row, _Row]:
    """Both sides of an equation, the equals sign with the left one: it never begins a line."""
    first = next((n for n, e in enumerate(elements) if e.tag == "mo" and e.text == "="), -1)
    return elements[: first + 1], elements[first + 1 :]


def _piece(row: Sequence[Tree.Element]) -> str:
    """A piece as an expression of its own, at the size that a displayed equation has."""
    attributes = {"xmlns": _NAMESPACE, "display": "inline", "displaystyle": "true"}
    piece = Tree.Element("math", attributes)
    piece.extend(_infix(_narrowed(row, INSIDE)))
    return Tree.tostring(piece, encoding="unicode")


def _infix(row: Iterable[Tree.Element]) -> _Row:
    """The row, a sign at either end spaced as between two terms although it ends the row here."""
    done = list(row)
    for end in done[:1] + done[-1:]:
        if _is_relation(end):
            end.set("form", "infix")
    return done


# ----------------------------------------------------------------------------- pieces


def _rows(elements: _Row, limit: float, *, factors: bool = True) -> list[_Row]:
    """The elements in pieces; brackets that are long and flat are opened where that parts them,
    others stay whole.

    Without `factors` no piece begins at a factor, only at a relation or a sign.
    """
    rows: list[_Row] = []
    for element in _flat(elements):
        if not rows or _begins(rows[-1], element, factors):
            rows.append([])
        long = element.tag == "mrow" and _width(element) > limit and _is_flat(element)
        opened = _rows(list(element), limit, factors=factors) if long else []
        if len(opened) > 1:
            rows[-1].extend(opened[0])
            rows.extend(opened[1:])
        else:
            rows[-1].append(element)
    return rows


def _flat(elements: _Row) -> Iterator[Tree.Element]:
    """The elements, those of a row without brackets one by one."""
    for element in elements:
        if element.tag == "mrow" and not _is_group(element):
            yield from _flat(list(element))
        else:
            yield element


def _begins(row: _Row, element: Tree.Element, factors: bool) -> bool:
    """Whether a piece may begin with this element, where `row` is what the last piece holds."""
    if not row or _opens(row[-1]):
        return False
    if _is_relation(element):
        return not _is_relation(row[-1])
    if not factors or _is_function(row[-1]) or (row[-1].tag == "mo" and row[-1].text != ")"):
        return False
    return element.tag in _TALL or _is_group(element) or _is_function(element)


def _is_relation(element: Tree.Element) -> bool:
    return element.tag == "mo" and (element.text or "") in _RELATIONS


def _is_function(element: Tree.Element) -> bool:
    """Whether this is the name of a function, bare or with a script, which what follows belongs to."""
    base = element[0] if element.tag in {"msub", "msup", "munder"} else element
    return base.tag == "mi" and len(base.text or "") > 1


def _opens(element: Tree.Element) -> bool:
    return element.tag == "mo" and element.text == "("


def _is_group(element: Tree.Element) -> bool:
    """A pair of brackets with what they hold, raised or not."""
    base = element[0] if element.tag == "msup" else element
    return base.tag == "mrow" and len(base) > 0 and _opens(base[0])


def _is_flat(element: Tree.Element) -> bool:
    """Whether nothing here is taller than a line, so that its brackets need not grow."""
    return all(e.tag in _FLAT for e in element.iter())


# ----------------------------------------------------------------------------- rows inside


def _narrowed(row: Sequence[Tree.Element], room: float) -> _Row:
    """The elements of a row, each no wider than the others leave it."""
    done = list(row)
    for at, element in enumerate(done):
        left = room - _wide(done[:at]) - _wide(done[at + 1 :])
        done[at] = _stacked(element, max(left, LEAST))
    return done


def _stacked(element: Tree.Element, room: float) -> Tree.Element:
    """The element, where it is wider than the room it has with long rows in it as rows one below
    another.
    """
    if _width(element) <= room:
        return element
    if element.tag == "mrow":
        opening, inside, closing = _bracketed(element)
        left = max(room - _wide(opening) - _wide(closing), LEAST)
        rows = _fitting(inside, left)
        element[:] = [*opening, *(rows[0] if len(rows) == 1 else [_table(rows)]), *closing]
        return element
    around = _width(element) - max(_width(child) for child in element) if len(element) else 0.0
    for at, child in enumerate(list(element)):
        element[at] = _stacked(child, max(room - around, LEAST))
    return element


def _fitting(inside: _Row, room: float) -> list[_Row]:
    """Rows for what stands inside: they begin at a sign, and at a factor where that is too wide."""
    pieces = _rows(inside, room, factors=False)
    rows = (r for p in pieces for r in ([p] if _wide(p) <= room else _rows(p, room)))
    return _filled([_narrowed(row, room) for row in rows], room)


def _bracketed(row: Tree.Element) -> tuple[_Row, _Row, _Row]:
    """What a row holds, without the brackets at its two ends."""
    children = list(row)
    if _is_group(row) and len(children) > 2 and children[-1].text == ")":
        return children[:1], children[1:-1], children[-1:]
    return [], children, []


def _filled(pieces: list[_Row], room: float) -> list[_Row]:
    """Pieces joined to rows as long as a row may be."""
    rows: list[_Row] = []
    for piece in pieces:
        if rows and _wide([*rows[-1], *piece]) <= room:
            rows[-1].extend(piece)
        else:
            rows.append(list(piece))
    return rows


def _table(rows: list[_Row]) -> Tree.Element:
    table = Tree.Element("mtable", {"columnalign": "left", "displaystyle": "true"})
    for row in rows:
        cell = Tree.SubElement(Tree.SubElement(table, "mtr"), "mtd")
        line = Tree.SubElement(cell, "mrow")
        line.extend(_infix(row))
    return table


# ----------------------------------------------------------------------------- widths


def _wide(row: Sequence[Tree.Element]) -> float:
    return sum(_width(e) for e in row)


def _width(element: Tree.Element) -> float:
    """About how wide an element is drawn, in ems; never much less than it is."""
    if element.tag in {"mfrac", "munder", "mover", "munderover", "mtable"}:
        return max((_width(e) for e in element), default=0.0) + 0.2
    if element.tag in {"msub", "msup"}:
        return _width(element[0]) + _SMALL * _wide(element[1:])
    if element.tag == "msubsup":
        return _width(element[0]) + _SMALL * max(_width(element[1]), _width(element[2]))
    if element.tag == "mspace":
        return 0.2
    if _is_relation(element):
        return 1.2
    own = 0.52 * len(element.text or "") if len(element) == 0 else 0.0
    return own + _wide(list(element)) + (0.9 if element.tag == "msqrt" else 0.0)
