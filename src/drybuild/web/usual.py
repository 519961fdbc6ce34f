"""What pages say of usual cures: which is offered for a finding, and what a draft of one gives."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from drybuild.examine import Examination
from drybuild.examine.usual import Offer, offers
from drybuild.findings import Finding
from drybuild.show.usual_words import asked_of, has_to_be, offer_title, turned, unsaid_of, wanted_of
from drybuild.web.drafts import Draft
from drybuild.web.frame import Frame


def is_of(draft: Draft, offer: Offer) -> bool:
    """Whether a draft is that cure, tried."""
    tried, wanted = draft.changes, offer.changes  # a value may be a table, which has no hash
    return all(one in wanted for one in tried) and all(one in tried for one in wanted)


def offered(frame: Frame, examination: Examination) -> dict[str, dict[str, Any]]:
    """Check → the usual cure for it, in words; none for a state that is not the plan's end."""
    if examination.state.name != "finished":
        return {}
    units = frame.opened.build.head.units
    found: dict[str, dict[str, Any]] = {}
    for offer in offers(examination):
        made = {
            "name": offer.usual.name, "title": offer_title(offer), "say": offer.say,
            "wanted": wanted_of(offer, examination, units), "unsaid": unsaid_of(offer),
        }  # fmt: skip
        found |= {f.check: made for f in offer.findings if f.check not in found}
    return found


def offered_for(frame: Frame, examination: Examination, finding: Finding) -> list[dict[str, Any]]:
    """The usual cures for one finding, with what their parts have to be so that it is enough."""
    units = frame.opened.build.head.units
    return [
        {
            "name": offer.usual.name, "title": offer_title(offer), "say": offer.say,
            "wanted": has_to_be(offer, examination, units), "unsaid": unsaid_of(offer),
        }
        for offer in offers(examination) if finding in offer.findings
    ]  # fmt: skip


def tried_for(
    frame: Frame, draft: Draft, before: Examination, after: Examination
) -> dict[str, Any] | None:
    """What a draft of a usual cure is tried for, what comes of it, what to ask of the parts."""
    offer = next((o for o in _of_plan(before) if is_of(draft, o)), None)
    if offer is None:
        return None
    units = frame.opened.build.head.units
    return {
        "rows": turned(offer.findings, after, units), "say": offer.say,
        "wanted": wanted_of(offer, before, units), "asked": asked_of(offer, after.state.build),
        "guessed": bool(offer.usual.facts),
    }  # fmt: skip


def _of_plan(before: Examination) -> Iterable[Offer]:
    return offers(before) if before.state.name == "finished" else ()
