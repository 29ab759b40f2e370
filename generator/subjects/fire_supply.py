"""The subject `fire`: agents' values, bottles' contents, and what reaches each zone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from buildspec.plain import called
from buildspec.sections.fire import Bottle, Fire, Nozzle, Zone
from generator.formulas import fire as f
from generator.subjects.fire_records import GASES, WORD, Part, Properties, Supply, slug
from generator.tables.agents import Agent, agents
from generator.vocabulary import Assumption, Result, WorkedStep
from generator.work import as_result, work


def properties(section: Fire, name: str, strange: str) -> Properties:
    """An agent's values: the team's own where stated, else the shipped table's, but for those that were found
    for another fuel than the `strange` one that is stated to burn.
    """
    agent = agents()[name]
    own = next((a for a in section.agents if a.agent == name), None)
    stated = {
        n: q
        for n in ("k1", "k2", "design", "noael", "loael", "rate")
        if (q := getattr(own, n, None))
    }
    unfit = _unfit(agent, strange)
    table = {
        n: k.quantity(f"{WORD}.agent.{slug(name)}.{n}")
        for n, k in agent.values.items()
        if k.decides and n not in unfit
    }
    memory = {n: k for n, k in agent.values.items() if not k.decides and n not in stated}
    return Properties(agent, {**table, **stated}, memory, unfit)


def _unfit(agent: Agent, strange: str) -> Mapping[str, str]:
    """The shipped values that do not hold for what burns, with the reason. An agent made for fuels that mix with
    water keeps its rate; carbon dioxide is refused or asked about by itself.
    """
    if not strange:
        return {}
    gas = (
        f"{agent.name}: the shipped design concentration is one for hydrocarbons, and {strange} is stated to burn; "
        "state the zone's `design_concentration` for it by the agent's maker"
    )
    foam = (
        f"{agent.name}: the shipped rate is one for fuels that do not mix with water, and {strange} is stated to burn; "
        "ask the foam's maker, take one made for it, or state the zone's `application_rate`"
    )
    if agent.kind in GASES:
        return {"design": gas}
    if agent.kind == "carbon dioxide":
        return {"flood": gas}
    return {"rate": foam} if agent.name == "AFFF" else {}


VALUES = {
    "k1": "specific vapour volume at 0 °C",
    "k2": "its rise with temperature",
    "rate": "application rate",
    "design": "least design concentration",
    "noael": "no-effect level",
    "loael": "lowest-effect level",
    "boils": "boiling point",
}
"""What an agent's values are called."""


def supplied(used: Iterable[Properties]) -> tuple[Assumption, ...]:
    """The table's values that took part, as assumptions; the boiling point takes part in nothing."""
    return tuple(
        Assumption(q.id, f"{p.agent.name}: {VALUES[name]}", WORD, q.source, q)
        for p in used
        for name, q in p.decides.items()
        if q.default and name != "boils"
    )


def contents(section: Fire) -> tuple[Mapping[str, Result], Part]:
    """Agent in each bottle: by its last weighing where there is one, else by its label."""
    found = {b.id: _content(b) for b in section.bottles}
    steps = tuple(s for _, s in found.values() if s is not None)
    results = {name: r for name, (r, _) in found.items()}
    return results, Part(results=tuple(results.values()), steps=steps)


def _content(bottle: Bottle) -> tuple[Result, WorkedStep | None]:
    name, title = f"{WORD}.bottle.{bottle.id}.agent", f"{called(bottle)}: agent"
    if bottle.gross is not None and bottle.tare is not None and bottle.agent_volume is None:
        step = work(
            f.weighed_agent, name, f"{title} by weighing", gross=bottle.gross, tare=bottle.tare
        )
        spread = math.hypot(bottle.gross.standard_uncertainty, bottle.tare.standard_uncertainty)
        return as_result(step, spread, (bottle.gross.id, bottle.tare.id)), step
    label = bottle.agent_volume or bottle.agent_mass
    if label is None:
        return Result(
            name,
            title,
            None,
            "mass",
            absent=f"{called(bottle)}: neither a weighing nor a label is stated",
        ), None
    return Result(
        name,
        f"{title} by its label",
        label.si,
        label.kind,
        label.standard_uncertainty,
        inputs=(label.id,),
    ), None


def supplies(
    section: Fire, content: Mapping[str, Result], strange: str
) -> tuple[tuple[Supply, ...], Part]:
    """Every pair of a zone and an agent that nozzles discharge into it."""
    found = []
    steps: list[WorkedStep] = []
    for zone in section.zones:
        for name, nozzles in _by_agent(section, zone).items():
            supply, step = _supply(
                section, zone, properties(section, name, strange), nozzles, content
            )
            found.append(supply)
            steps += [step] if step else []
    results = (r for s in found for r in dict.fromkeys((s.delivered, s.charged)))
    return tuple(found), Part(results=tuple(results), steps=tuple(steps))


def _by_agent(section: Fire, zone: Zone) -> Mapping[str, tuple[Nozzle, ...]]:
    bottles = {b.id: b for b in section.bottles}
    into = [n for n in section.nozzles if n.zone == zone.id]
    names = dict.fromkeys(bottles[n.bottle].agent for n in into)
    return {a: tuple(n for n in into if bottles[n.bottle].agent == a) for a in names}


def _supply(
    section: Fire,
    zone: Zone,
    known: Properties,
    nozzles: tuple[Nozzle, ...],
    content: Mapping[str, Result],
) -> tuple[Supply, WorkedStep | None]:
    bottles = tuple(b for b in section.bottles if any(n.bottle == b.id for n in nozzles))
    kind = "liquid volume" if known.agent.kind == "foam" else "mass"
    nothing = Result("", "", None, kind)
    draft = Supply(zone, known, nozzles, bottles, nothing, nothing)
    name, title = f"{draft.id}.delivered", f"{draft.title}: agent delivered"
    if reason := _lacking(nozzles, content, kind):
        there = Result(name, title, None, kind, absent=reason)
        return replace(draft, delivered=there, charged=there), None
    amounts = np.array([content[n.bottle].value for n in nozzles])
    shares = np.array([n.share.si for n in nozzles])
    step = (
        work(f.delivered_volume, name, title, volumes=amounts, shares=shares)
        if kind == "liquid volume"
        else work(f.delivered, name, title, masses=amounts, shares=shares)
    )
    there = as_result(step, _spread(nozzles, content), _inputs(nozzles, content))
    each = _by_bottle(nozzles, content) if kind == "mass" else {}
    masses = tuple(each[b.id] for b in bottles) if each else ()
    charged = _charged(draft, there, content)
    held = {b.id: content[b.id].value or 0.0 for b in bottles}
    return replace(draft, delivered=there, charged=charged, masses=masses, amounts=held), step


def _by_bottle(nozzles: tuple[Nozzle, ...], content: Mapping[str, Result]) -> Mapping[str, float]:
    """What each bottle delivers through these nozzles, kg."""
    shares = _shares(nozzles)
    return {b: share * (content[b].value or 0.0) for b, share in shares.items()}


def _shares(nozzles: tuple[Nozzle, ...]) -> Mapping[str, float]:
    """The share of each bottle that these nozzles deliver together."""
    return {n.bottle: sum(m.share.si for m in nozzles if m.bottle == n.bottle) for n in nozzles}


def _charged(draft: Supply, there: Result, content: Mapping[str, Result]) -> Result:
    """What arrives when bottles that weigh less than their labels have been charged again."""
    labels = {b.id: b.agent_mass for b in draft.bottles if b.agent_mass and not b.agent_volume}
    more = [
        (n, label)
        for n in draft.nozzles
        if (label := labels.get(n.bottle)) and label.si > (content[n.bottle].value or 0.0)
    ]
    if not more or there.value is None:
        return there
    added = sum(n.share.si * (q.si - (content[n.bottle].value or 0.0)) for n, q in more)
    return replace(
        there,
        id=f"{draft.id}.charged",
        title=f"{draft.title}: agent delivered, bottles charged to their labels",
        value=there.value + added,
        inputs=tuple(dict.fromkeys((*there.inputs, *(q.id for _, q in more)))),
    )


def _lacking(nozzles: tuple[Nozzle, ...], content: Mapping[str, Result], kind: str) -> str:
    """Why the agent delivered cannot be said; "" where it can."""
    for nozzle in nozzles:
        if content[nozzle.bottle].value is None:
            return content[nozzle.bottle].absent
    wrong = next((n for n in nozzles if content[n.bottle].kind != kind), None)
    return f"{content[wrong.bottle].title}: state its {kind}" if wrong else ""


def _spread(nozzles: tuple[Nozzle, ...], content: Mapping[str, Result]) -> float:
    """Nozzles of one bottle share its uncertainty; their own shares are independent."""
    return math.hypot(
        *(share * content[b].standard_uncertainty for b, share in _shares(nozzles).items()),
        *((content[n.bottle].value or 0.0) * n.share.standard_uncertainty for n in nozzles),
    )


def _inputs(nozzles: tuple[Nozzle, ...], content: Mapping[str, Result]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(i for n in nozzles for i in (*content[n.bottle].inputs, n.share.id)))
