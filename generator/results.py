"""Evaluation → results.json: every value, check, open item, assumption and caution as plain data."""

from __future__ import annotations

import datetime
import functools
import json
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Any

from buildspec.diagnostics import Diagnostic, to_json
from buildspec.kinds import KINDS
from buildspec.quantities import Quantity
from generator.edition import Edition
from generator.evaluation import Evaluation
from generator.vocabulary import (
    Assumption,
    Caution,
    Check,
    Fact,
    OpenItem,
    Requirement,
    Result,
    Standing,
    Table,
)

FORMAT = 1


@functools.cache
def program_version() -> str:
    """The version of the installed program, or `0` where it runs from a bare tree."""
    from importlib import metadata  # noqa: PLC0415  (slow to import; a plain `check` needs it not)

    try:
        return metadata.version("marginbook")
    except metadata.PackageNotFoundError:
        return "0"


def schema() -> Any:
    """The JSON Schema that every results.json keeps."""
    return json.loads(files("generator").joinpath("results.schema.json").read_text("utf-8"))


def as_data(
    evaluation: Evaluation,
    edition: Edition | None = None,
    problems: Sequence[Diagnostic] = (),
) -> dict[str, Any]:
    """The evaluation as plain data. A number that is absent is null, with a reason beside it.

    `problems` are the warnings that came with the description.
    """
    build = evaluation.build
    chosen = edition or Edition()
    return {
        "format": FORMAT,
        "program": {"name": "marginbook", "version": program_version()},
        "fingerprint": build.fingerprint,
        "revision": _edition(chosen),
        "as_of": evaluation.as_of.isoformat(),
        "values": {
            **{q.id: _quantity(q) for q in build.quantities.values()},
            **{r.id: _result(r) for o in evaluation.outcomes.values() for r in o.results},
        },
        "checks": [_check(c) for c in evaluation.checks],
        "requirements": [_requirement(r) for r in evaluation.requirements],
        "signoffs": [_signoff(s) for s in evaluation.signoffs],
        "open_items": [open_item(i) for i in evaluation.open_items],
        "assumptions": [_assumption(a) for a in evaluation.assumptions],
        "cautions": [_caution(c) for c in evaluation.cautions],
        "tables": {t.id: _table(t) for o in evaluation.outcomes.values() for t in o.tables},
        "problems": to_json((*problems, *evaluation.problems)),
    }


def as_text(data: Mapping[str, Any]) -> str:
    """The data as JSON text; refuses NaN and infinities, which JSON does not have."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _edition(edition: Edition) -> dict[str, Any]:
    return {
        "name": edition.revision,
        "description": edition.description,
        "commit": edition.commit,
        "uncommitted_changes": edition.changed,
        "date": edition.date.isoformat() if edition.date else None,
        "note": edition.note,
    }


def _quantity(quantity: Quantity) -> dict[str, Any]:
    return {
        "origin": "description",
        "value": quantity.si,
        "unit": KINDS[quantity.kind].si,
        "kind": quantity.kind,
        "standard_uncertainty": quantity.standard_uncertainty,
        "basis": quantity.basis,
        "source": quantity.source,
        "place": str(quantity.place) if quantity.place else None,
    }


def _result(result: Result) -> dict[str, Any]:
    return {
        "origin": "computed",
        "title": result.title,
        "value": result.value,
        "unit": KINDS[result.kind].si,
        "kind": result.kind,
        "standard_uncertainty": result.standard_uncertainty if result.value is not None else None,
        **({"reason": result.absent} if result.value is None else {}),
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "id": check.id,
        "title": check.title,
        "subject": check.subject,
        "demand": check.demand.value,
        "capacity": check.capacity.value,
        "unit": KINDS[check.kind].si,
        "factor": check.factor,
        "margin": check.margin,
        "margin_uncertainty": check.margin_uncertainty,
        "probability_short": check.probability_short,
        "verdict": check.verdict,
        "reason": check.reason,
        "basis_of_verdict": check.basis_of_verdict,
        "inputs": list(check.inputs),
        "fingerprint": check.fingerprint,
        "sources": list(check.sources),
    }


def _table(table: Table) -> dict[str, Any]:
    return {
        "title": table.title,
        "columns": [{"name": c.name, "unit": c.unit} for c in table.columns],
        "rows": [list(row) for row in table.rows],
    }


def _requirement(rule: Requirement) -> dict[str, Any]:
    return {
        "id": rule.id,
        "subject": rule.subject,
        "title": rule.title,
        "prescribed": _fact(rule.prescribed),
        "found": _fact(rule.found),
        "state": rule.state,
        "reason": rule.reason,
        "source": rule.source,
        "refs": list(rule.refs),
        "owner": rule.owner,
        "due": rule.due.isoformat() if rule.due else None,
        "ours": rule.ours,
    }


def _fact(fact: Fact) -> Any:
    """Words and counts as they are, dates as ISO 8601, values with their SI unit."""
    if isinstance(fact, Quantity):
        return {"value": fact.si, "unit": KINDS[fact.kind].si}
    if isinstance(fact, Result):
        return {"value": fact.value, "unit": KINDS[fact.kind].si}
    return fact.isoformat() if isinstance(fact, datetime.date) else fact


def open_item(item: OpenItem) -> dict[str, Any]:
    """An open item as plain data."""
    return {
        "id": item.id,
        "subject": item.subject,
        "kind": item.kind,
        "text": item.text,
        "closes": item.closes,
        "blocks": list(item.blocks),
        "ref": item.ref,
        "owner": item.owner,
        "hours": item.hours,
        "due": item.due.isoformat() if item.due else None,
    }


def _signoff(standing: Standing) -> dict[str, Any]:
    record, answer = standing.record, standing.answer
    said = (
        {"by": answer.by, "date": answer.date.isoformat(), "text": answer.text} if answer else None
    )
    return {
        "id": record.id,
        "scope": record.scope,
        "subject": standing.subject,
        "by": record.by,
        "as": record.as_,
        "says": record.says,
        "note": record.note,
        "date": record.date.isoformat(),
        "revision": record.revision,
        "commit": record.commit,
        "fingerprint": record.fingerprint,
        "state": standing.state,
        "since": standing.since,
        "reasons": list(standing.reasons),
        "answer": said,
    }


def _assumption(assumption: Assumption) -> dict[str, Any]:
    quantity = assumption.quantity
    return {
        "id": assumption.id,
        "subject": assumption.subject,
        "text": assumption.text,
        "source": assumption.source,
        "value": quantity.si if quantity else None,
        "unit": KINDS[quantity.kind].si if quantity else None,
        "supplied_by_program": bool(quantity and quantity.default) or quantity is None,
    }


def _caution(caution: Caution) -> dict[str, Any]:
    return {
        "id": caution.id,
        "subject": caution.subject,
        "text": caution.text,
        "hazard": caution.hazard,
        "ref": caution.ref,
    }


def count(verdict: str, checks: Iterable[Check]) -> int:
    """How many of the checks have this verdict."""
    return sum(1 for c in checks if c.verdict == verdict)
