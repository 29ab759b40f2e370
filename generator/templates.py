"""The templates with what they may say: filters that turn values, checks and ids into safe words.

Templates have no arithmetic and no way round the escape: the filters below and a few harmless ones
of Jinja are all there are.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import BytecodeCache, Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.plain import called
from buildspec.quantities import Quantity, Shown, digits, other, show, show_written
from generator import equations
from generator import workwords as w
from generator.charts.chart import Chart
from generator.flowing import flowing
from generator.formulas.formula import Symbol
from generator.labels import Label, Labels, section_title
from generator.markup import Markup, escape, finalize
from generator.ranking import BEYOND, VAST, doubtful, foremost, margin_percent, ranked, stating
from generator.vocabulary import Argument, Assumption, Check, Fact, OpenItem, Result, WorkedStep

FOLDER = Path(__file__).resolve().parent.parent / "site_templates"
_KEPT = (
    "count",
    "default",
    "first",
    "groupby",
    "last",
    "length",
    "list",
    "lower",
    "map",
    "reject",
    "rejectattr",
    "select",
    "selectattr",
    "sort",
    "unique",
    "upper",
)


_TICKED = re.compile(r"`([^`\n]+)`")
_DOTTED = re.compile(r"\b[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)+\b")
_WORD = re.compile(r"\w+")


@dataclass(frozen=True, slots=True)
class Where:
    """One symbol of a worked step: what it means, and the value it had."""

    symbol: Markup
    meaning: str
    value: Markup
    outside: bool
    range: str


@dataclass(frozen=True, slots=True)
class Known:
    """Values of one record known in the same way; `first` begins a record of `rows` rows."""

    record: str
    quantities: tuple[Quantity, ...]
    first: bool
    rows: int


@dataclass(frozen=True, slots=True)
class Equation:
    """A worked step ready to print."""

    symbols: Markup
    numbers: Markup
    result: Markup
    where: tuple[Where, ...]
    si: bool


@dataclass(frozen=True)
class Words:
    """The filters. `up` is what leads from the page to the front page's folder."""

    build: Build
    labels: Labels
    up: str = ""

    @property
    def system(self) -> System:
        """The unit system printed first."""
        return self.build.system

    def num(self, value: float | None, kind: str, spread: float = 0.0, figures: int = 4) -> Markup:
        """A number in both unit systems; `spread` is printed behind ± and limits the digits."""
        if value is None:
            return Markup('<span class="mb-absent">not known</span>')
        first = show(value, kind, self.system, spread=spread, figures=figures)
        second = show(value, kind, other(self.system), spread=spread, figures=figures)
        return _pair(first, None if first.unit == second.unit else second)

    def one(self, value: float | None, kind: str, spread: float = 0.0, figures: int = 4) -> Markup:
        """A number in the first unit system only."""
        if value is None:
            return Markup('<span class="mb-absent">not known</span>')
        return _pair(show(value, kind, self.system, spread=spread, figures=figures), None)

    def unit(self, kind: str) -> str:
        """The unit that the first system prints `kind` in."""
        return show(0.0, kind, self.system).unit

    def written(self, quantity: Quantity) -> Markup:
        """A value of the description as its author wrote it, and in the other system."""
        return _pair(*show_written(quantity, self.system))

    def qty(self, quantity: Quantity | None) -> Markup:
        """As `written`, with a link to where the value stands among the inputs."""
        if quantity is None:
            return Markup('<span class="mb-absent">not stated</span>')
        return self._to(quantity.id, self.written(quantity))

    def brief(self, quantity: Quantity) -> Markup:
        """As `qty`, in the first unit system only, for tables of many values."""
        return self._to(quantity.id, _pair(show_written(quantity, self.system)[0], None))

    def fact(self, fact: Fact) -> Markup:
        """What is prescribed or found: a value with its units, a date, a count or words."""
        if isinstance(fact, Quantity):
            return self.qty(fact)
        if isinstance(fact, Result):
            return self._to(fact.id, self.num(fact.value, fact.kind, fact.standard_uncertainty))
        return (
            Markup('<span class="mb-absent">nothing stated</span>')
            if fact is None
            else escape(fact)
        )

    def link(self, dotted: str, words: object = None) -> Markup:
        """A link to an id, by its own words; an id that stands nowhere is printed as it is."""
        label = self.labels.get(dotted)
        said = words if words is not None else label.whole if label else dotted
        return self._to(dotted, escape(said)) if label else escape(said)

    def named(self, quantity: Quantity) -> Markup:
        """What a value of the description is called."""
        label = self.labels.get(quantity.id)
        return escape(label.whole if label else quantity.id)

    def label(self, dotted: str) -> Markup:
        """The words of an id, without a link."""
        known = self.labels.get(dotted)
        return escape(known.whole if known else dotted)

    def own(self, dotted: str) -> Markup:
        """The last words of an id's label, for use below the words of its record."""
        label = self.labels.get(dotted, Label("", dotted, ""))
        return escape(label.own or label.record)

    def by_record(self, quantities: Iterable[Quantity]) -> tuple[Known, ...]:
        """Quantities by their record, and there by basis, source and whose they are."""
        records: dict[str, dict[tuple[str, str, bool], list[Quantity]]] = {}
        for q in quantities:
            known = records.setdefault(q.id.rpartition(".")[0], {})
            known.setdefault((basis(q), q.source, q.default), []).append(q)
        return tuple(
            Known(record, tuple(alike), n == 0, len(known))
            for record, known in records.items()
            for n, alike in enumerate(known.values())
        )

    def open_text(self, item: OpenItem) -> str:
        """What is open; a record and its values are called by their words instead of their ids."""
        label = self.labels.get(item.ref)
        if label is None or not item.text.startswith(f"{item.ref}:"):
            return item.text
        rest = _WORD.sub(
            lambda word: self._own_words(item.ref, word[0]), item.text[len(item.ref) :]
        )
        return f"{label.whole}{rest}"

    def _own_words(self, record: str, word: str) -> str:
        label = self.labels.get(f"{record}.{word}")
        return label.own if label and label.own else word

    def said(self, text: str) -> Markup:
        """The program's words: what stands between backticks is set as code, an id of the
        description is called by its words, and all else is escaped.
        """
        pieces = _TICKED.split(text)
        return Markup("").join(
            Markup("<code>%s</code>") % piece if n % 2 else escape(self._named_ids(piece))
            for n, piece in enumerate(pieces)
        )

    def _named_ids(self, text: str) -> str:
        def named(found: re.Match[str]) -> str:
            label = self.labels.get(found[0])
            return f"“{label.whole}”" if label else found[0]

        return _DOTTED.sub(named, text)

    def record(self, dotted: str) -> Markup:
        """The words of a record; a section is called by its title."""
        label = self.labels.get(dotted)
        words = (label.whole if label else "") or section_title(dotted)
        return self._to(dotted, escape(words)) if label else escape(words)

    def known(self, dotted: str) -> bool:
        """Whether an id has words to be called by."""
        return dotted in self.labels

    def assumed(self, item: Assumption) -> Markup:
        """What an assumption says, or the name of the value of the description that is assumed."""
        named = item.quantity and (item.quantity.id in self.labels or not item.text)
        return self.link(item.quantity.id) if item.quantity and named else self.said(item.text)

    def place(self, quantity: Quantity) -> Markup:
        """File and line of a value; the program's own values stand in no file."""
        if quantity.default or quantity.place is None:
            return Markup('<span class="mb-absent">supplied by the program</span>')
        return Markup('<code class="mb-place">%s</code>') % _file_line(quantity)

    def equation(self, step: WorkedStep) -> Equation:
        """A worked step's lines and the meaning of its symbols."""
        lines = equations.lines(step, self.system)
        value = self.num(step.value, step.formula.result.kind)
        result = Markup("<strong>%s<span> = </span>%s</strong>") % (lines.result, value)
        where = tuple(self._where(step, a) for a in step.arguments)
        foreign = lines.si and self.system is not System.SI
        return Equation(flowing(lines.symbols), flowing(lines.numbers), result, where, foreign)

    def _where(self, step: WorkedStep, argument: Argument) -> Where:
        symbol = step.formula.symbols[argument.name]
        return Where(
            equations.symbol(symbol),
            symbol.meaning,
            self._value(argument, symbol),
            argument.name in step.outside,
            self._range(symbol),
        )

    def _value(self, argument: Argument, symbol: Symbol) -> Markup:
        if not argument.scalar:
            return self._values(argument.values, symbol)
        quantity = self.build.quantities.get(argument.ref)
        if quantity is not None:
            return self.qty(quantity)
        return self._to(argument.ref, self.num(argument.values[0], symbol.kind))

    def _values(self, values: tuple[float, ...], symbol: Symbol) -> Markup:
        if not values:
            return Markup("no values")
        least, most = (self.one(n, symbol.kind) for n in (min(values), max(values)))
        return Markup("%s, %s to %s") % (counted(len(values), "value"), least, most)

    def _range(self, symbol: Symbol) -> str:
        """The valid range in words; "" where there is none."""
        least, most = (
            None if n is None else str(show(n, symbol.kind, self.system))
            for n in (symbol.least, symbol.most)
        )
        if least and most:
            return f"{least} to {most}"
        return f"at least {least}" if least else f"at most {most}" if most else ""

    def believed(self, check: Check) -> Markup:
        """How many of the values behind a margin state a ±, where some do not; else ""."""
        found = stating(check, self.build.quantities)
        if found is None:
            return Markup("")
        words = (
            f"± stated for {found.stating:,} of {found.known:,} values"
            if found.stating
            else "no value behind it states a ±"
        )
        return Markup('<span class="mb-small">%s</span>') % words

    def _to(self, dotted: str, words: Markup) -> Markup:
        label = self.labels.get(dotted)
        if label is None or not label.page:
            return words
        return Markup(f'<a href="{self.up}{escape(label.page)}#{escape(dotted)}">{words}</a>')


def margin(check: Check) -> Markup:
    """The margin in per cent with its standard uncertainty, or that there is none."""
    if check.margin is None:
        return Markup('<span class="mb-absent">none</span>')
    if check.margin > VAST:
        return _span(BEYOND)
    number, spread = margin_percent(check.margin, check.margin_uncertainty)
    sign = "" if number.startswith("−") or not set(number) - set("0.,") else "+"
    around = Markup('<span class="mb-pm"> ± %s</span>') % spread if spread else ""
    return Markup('<span class="mb-q">%s%s %%</span>') % (f"{sign}{number}", around)


def bare(number: float) -> str:
    """A number without a unit, such as a factor: `1`, `1.25`."""
    return f"{number:.6g}"


_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def powers(number: float) -> str:
    """A number far from 1, to two digits with its power of ten: `5.6 × 10⁻¹⁴`, `10⁶`."""
    if number == 0.0:
        return "0"
    lead, _, exponent = f"{number:.1e}".partition("e")
    ten = f"10{str(int(exponent)).translate(_RAISED)}"
    return ten if lead == "1.0" else f"{lead.removesuffix('.0')} × {ten}"


def chance(probability: float | None) -> Markup:
    """The probability that a check is short, in words where a figure would pretend too much."""
    if probability is None:
        return Markup('<span class="mb-absent">not computed</span>')
    if probability < 0.001:
        return Markup("under 0.1 %")
    return (
        Markup("over 99.9 %")
        if probability > 0.999
        else _span(f"{digits(100 * probability, 0.0, 2)} %")
    )


def doubtful_chance(check: Check) -> Markup:
    """The chance of falling short where zero lies within two standard uncertainties, else ""."""
    if not doubtful(check):
        return Markup("")
    return Markup('<span class="mb-small">%s</span>') % in_doubt(check)


def in_doubt(check: Check) -> Markup:
    """How likely a check is short. Where the margin is that of an exit's samples, it is how many of them take
    longer than allowed: the margin of a percentile can be short at a chance of a few per cent.
    """
    if check.kind == "time" and not check.demand.standard_uncertainty:
        return Markup("too long in %s of samples") % chance(check.probability_short)
    return Markup("chance of falling short %s") % chance(check.probability_short)


def basis(quantity: Quantity) -> str:
    """How a value is known; a decision of the team's is `stated`."""
    if quantity.stated:
        return "stated"
    return (
        quantity.basis
        if quantity.basis_given or quantity.default
        else f"{quantity.basis} (no basis given)"
    )


def counted(number: int, word: str, plural: str = "") -> str:
    """`1 check`, `3 checks`."""
    return f"{number:,} {word if number == 1 else plural or word + 's'}"


def listed(things: Iterable[object], glue: str = ", ") -> Markup:
    """Things one after the other, each escaped that is not safe already."""
    return escape(glue).join(escape(t) for t in things)


def drawing(chart: Chart) -> Markup:
    """The chart itself: its text was escaped when it was drawn."""
    return Markup(chart.svg)


def _file_line(quantity: Quantity) -> str:
    place = quantity.place
    return "" if place is None else f"{place.file}:{place.line}" if place.line else place.file


def _span(text: str) -> Markup:
    return Markup(f'<span class="mb-q">{escape(text)}</span>')


def _pair(first: Shown, second: Shown | None) -> Markup:
    if second is None:
        return _span(str(first))
    beside = f'<span class="mb-q mb-other">({escape(str(second))})</span>'
    return Markup(f"{_span(str(first))} {beside}")


# ----------------------------------------------------------------------------- environment


class _Kept(BytecodeCache):
    """Compiled templates, kept while the process lives, so that `serve` compiles them once."""

    kept: dict[str, bytes] = {}  # noqa: RUF012  (shared on purpose)

    def load_bytecode(self, bucket: Bucket) -> None:
        """Hand over what was kept."""
        if code := self.kept.get(bucket.key + bucket.checksum):
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled."""
        self.kept[bucket.key + bucket.checksum] = bucket.bytecode_to_string()


def environment(words: Words, folder: Path = FOLDER) -> Environment:
    """Templates of `folder` with the filters, and the macros of `parts/macros.md.j2` by name."""
    env = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=finalize,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        bytecode_cache=_Kept(),
        cache_size=-1,
        auto_reload=False,
    )
    env.filters = {name: env.filters[name] for name in _KEPT} | _filters(words)
    env.globals["page_of"] = lambda name: Markup(f"{words.up}{name}")  # our own names
    env.globals.update(_macros(env))
    return env


_BOUND = (
    "num", "one", "unit", "written", "qty", "link", "label", "known", "named", "own", "assumed", "place",
    "equation", "fact", "brief", "believed", "by_record", "record", "open_text", "said",
)  # fmt: skip
"""Filters that need the words of the build."""
_FREE = (
    margin, chance, doubtful_chance, in_doubt, ranked, foremost, basis, bare, powers, counted, drawing, called,
    w.hours, w.day, w.percent, w.days, w.size, w.bar, w.fraction,
)  # fmt: skip


def _filters(words: Words) -> dict[str, Callable[..., Any]]:
    return (
        {name: getattr(words, name) for name in _BOUND}
        | {f.__name__: f for f in _FREE}
        | {"join": listed}
    )


def _macros(env: Environment) -> Mapping[str, Any]:
    module = env.get_template("parts/macros.md.j2").module
    return {name: value for name, value in vars(module).items() if not name.startswith("_")}


@functools.cache
def asset(name: str) -> bytes:
    """A file of `site_templates/assets`."""
    return (FOLDER / "assets" / name).read_bytes()
