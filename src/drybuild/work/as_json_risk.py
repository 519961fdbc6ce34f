"""The JSON of ``quote`` and ``while-apart``: how long, how sure, what it costs, what else to do."""

from __future__ import annotations

from typing import Any

from drybuild.work.apart import Apart, WhileThere
from drybuild.work.as_json import at, head, plain, rounded
from drybuild.work.model import Plan, ToDo
from drybuild.work.risk import NeedOutlook, Outlook, Quote, SessionOutlook, Spread


def quote_json(
    todo: ToDo, plan: Plan, outlook: Outlook, quote: Quote, *, build: str, version: str
) -> dict[str, Any]:
    """The whole answer of ``quote``. No chance in it covers what the plan supposes."""
    return {
        **head("quote", build=build, version=version),
        "currency": quote.currency,
        "confidence": rounded(quote.confidence),
        "hours": {"median": rounded(quote.median), "at_confidence": rounded(quote.hours)},
        "rate": rounded(quote.rate),
        "lines": [{**plain(line)} for line in quote.lines],
        "total": rounded(quote.total),
        "unpriced": [{**plain(one)} for one in quote.unpriced],
        "left_out": list(quote.left_out),
        "outlook": outlook_json(todo, outlook),
        "supposed": [plain(one) for one in plan.supposed],
    }


def outlook_json(todo: ToDo, outlook: Outlook) -> dict[str, Any]:
    """What to expect of a plan. Chances are 0 to 1."""
    return {
        "draws": outlook.draws,
        "seed": outlook.seed,
        "planned": rounded(outlook.planned),
        "hours": _spread(outlook.hours),
        "waiting": _spread(outlook.waiting),
        "sessions": [_session(one) for one in outlook.sessions],
        "needs": [_need(todo, one) for one in outlook.needs],
        "all_needs": rounded(outlook.all_needs),
        "finished": rounded(outlook.finished),
        "left": plain(outlook.left),
        "buffers": plain(outlook.buffers),
        "paces": plain(outlook.learned.paces),
    }


def _spread(found: Spread) -> dict[str, Any]:
    return {
        "mean": rounded(found.mean), "p10": rounded(found.p10), "p50": rounded(found.p50),
        "p80": rounded(found.p80), "p90": rounded(found.p90),
    }  # fmt: skip


def _session(found: SessionOutlook) -> dict[str, Any]:
    """Hours count from the start of the session."""
    return {
        "session": found.session, "planned": rounded(found.planned), "end": _spread(found.end),
        "overrun": rounded(found.overrun), "causes": plain(found.causes),
    }  # fmt: skip


def _need(todo: ToDo, found: NeedOutlook) -> dict[str, Any]:
    return {
        "use": found.need.use, "after": found.need.session,
        "at": at(todo.problem, found.need.until), "chance": rounded(found.chance),
        "error": rounded(found.error), "causes": plain(found.causes),
        "regions": [{"region": name, "share": rounded(share)} for name, share in found.regions],
    }  # fmt: skip


def apart_json(apart: Apart, *, build: str, version: str) -> dict[str, Any]:
    """The whole answer of ``while-apart``."""
    return {
        **head("while apart", build=build, version=version),
        "currency": apart.currency,
        "hour": rounded(apart.hour),
        "years": rounded(apart.years),
        "age": rounded(apart.age),
        "odometer": rounded(apart.odometer),
        "yearly": rounded(apart.yearly),
        "assumed": list(apart.assumed),
        "found": [_while_there(one) for one in apart.found],
        "may_wait": plain(apart.may_wait),
    }


def _while_there(found: WhileThere) -> dict[str, Any]:
    data: dict[str, Any] = plain(found)
    return {**data, "shared": rounded(found.shared), "fits": found.fits, "pays": found.pays}
