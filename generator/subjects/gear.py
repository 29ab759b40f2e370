"""The subject `gear`: how long the clothing protects, part by part of the body, and what runs out
when.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.gear import Gear, Item
from buildspec.sections.rules import Rules, lines
from generator.formulas import gear as f
from generator.rules.proofs import waiver_fault
from generator.rules.world import world
from generator.subjects.dates import Done, ahead, deadline
from generator.subjects.fire_records import slug
from generator.subjects.gear_lives import (
    expiries,
    expiry,
    life_id,
    requirements,
    season_items,
    unproven,
)
from generator.subjects.gear_records import REGIONS, SEAMS, WORD, Detail, Region, doubt, unseen
from generator.subjects.subject import Given, Subject
from generator.tables.gear import ratings
from generator.tables.known import Known
from generator.vocabulary import Assumption, Caution, OpenItem, Outcome, Result, WorkedStep
from generator.work import as_result, work

FLAME = 83_680.0
"""Heat flux of the thermal protective performance test: 2 cal/(cm²·s), in W/m²."""


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Protective times and lives; None without a section `gear`."""
    section = build.section(Gear)
    if section is None:
        return None
    needed, excused = deadline(build, given.as_of), _excused(build, given.as_of)
    timed = {i.id: _in_force(i, *_time(i), needed, excused) for i in section.items}
    times = {i: r for i, (r, _) in timed.items()}
    doubts, looked = _looked(section, given)
    regions = tuple(_region(name, looked, times, doubts) for name in REGIONS)
    weakest, overall = _weakest(regions)
    found, (event, occasion) = expiries(build, section), needed
    steps = tuple(s for _, s in timed.values() if s)
    bare = _bare() if any(r.bare for r in regions) else ()
    return Outcome(
        WORD,
        results=(overall, *(r.time for r in regions), *_known(timed)),
        steps=(*steps, *bare),
        cautions=_cautions(),
        assumptions=(*_assumptions(), *_table_values(section)),
        open_items=(
            *season_items(found, event, section.season_end),
            *_missing(looked, regions, doubts),
            *_photos(section, build),
            *ahead(WORD, _seen(section), given),
        ),
        requirements=requirements(section, needed, given.as_of),
        detail=Detail(
            section.items,
            section.seams,
            regions,
            found,
            event,
            section.season_end,
            weakest,
            {i.id: photo_fault(i, build) for i in section.items},
            occasion,
        ),
    )


def _looked(section: Gear, given: Given) -> tuple[Mapping[str, str], Gear]:
    """Why the word on some seams proves nothing now, by their places, and the section without those."""
    doubts: dict[str, str] = {
        s.place: why for s in section.seams if (why := doubt(s, section, given))
    }
    kept = tuple(s for s in section.seams if s.place not in doubts)
    return doubts, replace(section, seams=kept)


def _known(timed: Mapping[str, tuple[Result, WorkedStep | None]]) -> Iterable[Result]:
    return (r for r, _ in timed.values() if r.value is not None)


# ------------------------------------------------------------------------------------ times


def _time(item: Item) -> tuple[Result, WorkedStep | None]:
    """One piece's protective time: its maker's, else by its published rating."""
    name, title = f"{WORD}.item.{item.id}.time", f"{called(item)}: protective time"
    if item.protective_time is not None:
        q = item.protective_time
        return Result(name, title, q.si, "time", q.standard_uncertainty, inputs=(q.id,)), None
    rating = ratings().get(item.rating)
    if rating is None:
        return Result(
            name,
            title,
            None,
            "time",
            absent=f"{called(item)} has neither rating nor protective time",
        ), None
    if rating.of and item.type != rating.of:
        absent = f"{rating.name} is a rating of the type {rating.of}, and this is of the type {item.type}"
        return Result(name, title, None, "time", absent=absent), None
    if rating.tpp and rating.flux:
        step = work(
            f.protective_time,
            name,
            title,
            f"by {rating.name}",
            dose=_quantity(rating.name, "thermal protective performance", rating.tpp),
            flux=_quantity(rating.name, "heat flux of the test", rating.flux),
        )
        return as_result(step), step
    own = rating.times.get(item.type)
    if own is None:
        return Result(
            name,
            title,
            None,
            "time",
            absent=f"{rating.name} has no time for {item.type} in the shipped table",
        ), None
    return Result(name, title, own.si, "time"), None


def _in_force(
    item: Item,
    time: Result,
    step: WorkedStep | None,
    needed: tuple[datetime.date, str],
    excused: frozenset[str],
) -> tuple[Result, WorkedStep | None]:
    """The time of a piece whose life lasts; of one whose life is over, or counts from a day that is not
    stated, nothing is known.

    A waiver for that very piece lets its rating count on, and the words say so.
    """
    end, (day, occasion) = expiry(item), needed
    ended = end is not None and end.day < day
    if time.value is None or not (ended or unproven(item)):
        return time, step
    if life_id(item) in excused:
        over = f"its life ended on {end.day}" if end and ended else "its life is not known"
        return replace(time, title=f"{time.title}; {over}, and it counts by a waiver"), step
    said = (
        f"its life ends on {end.day}, before {occasion}, so that its rating no longer counts"
        if end and ended
        else unproven(item)
    )
    said = f"{called(item)}: {said}"
    return replace(time, value=None, standard_uncertainty=0.0, absent=said), None


def _excused(build: Build, as_of: datetime.date) -> frozenset[str]:
    """What lines of the rule sheet with a waiver in force follow by its own id, and not as one of many."""
    section = build.section(Rules)
    if section is None:
        return frozenset()
    known = world(build, section, as_of, {})
    waived = (x for _, x in lines(section) if x.waiver and not waiver_fault(x.waiver, known))
    return frozenset(name for line in waived for name in line.follows)


def _quantity(rating: str, name: str, known: Known) -> Quantity:
    return known.quantity(f"{WORD}.rating.{slug(rating)}.{slug(name)}")


def _region(
    name: str, section: Gear, times: dict[str, Result], doubts: Mapping[str, str]
) -> Region:
    """The best single piece over a part of the body; none, or an open seam, leaves it bare, and a seam that
    nobody has looked at as things are now leaves its time open.
    """
    result, title = f"{WORD}.region.{name}.time", f"{name.capitalize()}: protective time"
    gap = next((s for s in section.seams if SEAMS[s.place] == name and not s.closed), None)
    if gap is not None:
        said = f"skin shows at the {gap.place}"
        return Region(name, Result(result, f"{title}; {said}", 0.0, "time"), said, bare=True)
    over = [i for i in section.items if name in i.covers]
    if over and (place := unseen(section, name)):
        said = f"nobody has looked whether skin shows at the {place}"
        if place in doubts:
            said = f"whether skin shows at the {place} was looked at {doubts[place]}"
        return Region(name, Result(result, title, None, "time", absent=said), "not looked at")
    if not over:
        return Region(
            name,
            Result(result, f"{title}; nothing covers it", 0.0, "time"),
            "nothing covers it",
            bare=True,
        )
    timed = [i for i in over if times[i.id].value is not None]
    if not timed:
        reason = "; ".join(times[i.id].absent for i in over)
        return Region(name, Result(result, title, None, "time", absent=reason), "not known")
    best = max(timed, key=lambda i: times[i.id].value or 0.0)
    time = times[best.id]
    return Region(
        name,
        Result(result, title, time.value, "time", time.standard_uncertainty, inputs=time.inputs),
        called(best),
    )


def _weakest(regions: tuple[Region, ...]) -> tuple[Region | None, Result]:
    """The clock of the weakest part; a bare part decides at once, a part not known leaves it open."""
    name, title = f"{WORD}.protective_time", "Protective time of the weakest part"
    unknown = [r for r in regions if r.time.value is None]
    known = [r for r in regions if r.time.value is not None]
    least = min(known, key=lambda r: r.time.value or 0.0, default=None)
    if unknown and (least is None or not least.bare):
        said = "; ".join(f"{r.name}: {r.time.absent}" for r in unknown)
        return None, Result(name, title, None, "time", absent=said)
    assert least is not None
    inputs = tuple(dict.fromkeys(i for r in known for i in r.time.inputs))
    return least, Result(
        name,
        f"{title} ({least.name}, {least.decided_by})",
        least.time.value,
        "time",
        least.time.standard_uncertainty,
        inputs=inputs,
    )


def _bare() -> tuple[WorkedStep, ...]:
    """How soon bare skin burns in the same flame: shown as the reason why it is credited with
    nothing.
    """
    return (
        work(
            f.bare_skin_time,
            f"{WORD}.bare_skin",
            "Bare skin in the flame of the test",
            "Shown, not used: bare skin is credited with no time. The curve's constants are "
            "from memory.",
            dose=f.STOLL_DOSE,
            flux=FLAME,
            unit=1.0,
            exponent=f.STOLL_EXPONENT,
        ),
    )


# -------------------------------------------------------------------------- words around it


def _missing(
    section: Gear, regions: tuple[Region, ...], doubts: Mapping[str, str]
) -> Iterable[OpenItem]:
    """Seams nobody looked at, labels without a photo, and parts of the body left bare."""
    looked = {s.place for s in section.seams}
    rest = [f"{p} ({doubts[p]})" if p in doubts else p for p in SEAMS if p not in looked]
    if rest:
        yield OpenItem(
            f"{WORD}.seams",
            WORD,
            "missing",
            f"Skin between pieces: not looked at, as things are now, for {', '.join(rest)}",
            "seat the driver in full gear, reach for every control, look, and state it "
            "with its day under `seams`",
        )
    bare = [r.name for r in regions if r.bare]
    if bare:
        yield OpenItem(
            f"{WORD}.bare",
            WORD,
            "other",
            f"Bare skin: {', '.join(bare)}",
            "cover it, or close the seam; no time is credited until then",
        )


def _photos(section: Gear, build: Build) -> Iterable[OpenItem]:
    """Labels without a photo, and photos that are named and prove nothing."""
    unshown = [called(i) for i in section.items if not i.photo]
    if unshown:
        yield OpenItem(
            f"{WORD}.photos",
            WORD,
            "missing",
            f"No photo of the label: {', '.join(unshown)}",
            "photograph each label and name the file under `photo`",
        )
    for item in section.items:
        if fault := photo_fault(item, build):
            yield OpenItem(
                f"{WORD}.photo.{item.id}",
                WORD,
                "missing",
                f"{called(item)}: photo of its label, {item.photo}: {fault}",
                "put the photo there, or name the file that shows the label",
                ref=f"{WORD}.items.{item.id}",
            )


def photo_fault(item: Item, build: Build) -> str:
    """Why the file named as the photo of a label proves nothing; "" where it may, or none is named.

    What the reader found of a file is in `Build.files`, by its name; a build made by hand has none.
    """
    facts: Mapping[str, Any] = build.files
    known = facts.get(item.photo) if item.photo else None
    return str(known.fault) if known is not None else ""


def _seen(section: Gear) -> Iterable[Done]:
    """The days on which seams were looked at."""
    for number, seam in enumerate(section.seams):
        yield f"{WORD}.seams.{number}", f"Seam at the {seam.place}: checked", seam.checked


def _cautions() -> tuple[Caution, ...]:
    texts = (
        "A protective time is that of a clean, dry, whole garment in one test flame. Sweat, oil, "
        "wear, tight fit, repair and a longer or hotter fire shorten it; steam burns can come "
        "sooner. It is no time to plan with.",
        "What has been in a fire or a crash is not used again until its maker has looked at it.",
        "Which pieces, ratings and dates are asked for stands in the rulebook in force; an "
        "inspector's word goes before this page.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions() -> tuple[Assumption, ...]:
    texts = (
        (
            "layers",
            "Layers are not added: the best single piece over a part of the body counts.",
            "no source read supports adding published ratings",
        ),
        (
            "bare",
            "Bare skin is credited with no time.",
            "it burns in about half a second in the test's flame",
        ),
        (
            "lapsed",
            "A piece whose life is over before the event ends is credited with no time, unless a "
            "waiver for that piece is in force.",
            "its maker vouches for the rating within its life only",
        ),
        (
            "month",
            "Where a label gives a month only, the first day of it is written.",
            "the earliest reading",
        ),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


def _table_values(section: Gear) -> tuple[Assumption, ...]:
    """Values of the shipped ratings that took part, each once."""
    used = (
        q for i in section.items if i.rating and i.protective_time is None for q in _of_rating(i)
    )
    return tuple(
        Assumption(q.id, said, WORD, q.source, q)
        for said, q in {q.id: (said, q) for said, q in used}.values()
    )


def _of_rating(item: Item) -> Iterable[tuple[str, Quantity]]:
    """The table's values that a piece's time rests on."""
    rating = ratings()[item.rating]
    chosen = {
        "thermal protective performance": rating.tpp,
        "heat flux of the test": rating.flux,
        f"time for {item.type}": rating.times.get(item.type),
    }
    for words, known in chosen.items():
        if known is not None:
            yield f"{rating.name}: {words}", _quantity(rating.name, words, known)


SUBJECT = Subject(
    word=WORD,
    title="Protective equipment",
    purpose="How long the clothing protects from flame, by the weakest part of the body, and "
    "which piece runs out when.",
    group="The driver",
    evaluate=evaluate,
)
