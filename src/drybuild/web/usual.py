"""What pages say of usual cures: which is offered for a finding, and what a draft of one gives."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from drybuild.examine import Examination
from drybuild.examine.usual import Offer, offers
from drybuild.findings import Finding
from drybuild.show.usual_words import (
    asked_of,
    for_check,
    has_to_be,
    offer_title,
    others_want,
    turned,
    unsaid_of,
    wanted_of,
)
from drybuild.values import System
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
        for check in dict.fromkeys(f.check for f in offer.findings):
            found.setdefault(check, _for_check(offer, check, examination, units))
    return found


def _for_check(
    offer: Offer, check: str, examination: Examination, units: System
) -> dict[str, Any]:
    """What one check alone asks of the cure's parts, and what others ask of them."""
    return {
        "name": offer.usual.name, "title": offer_title(offer), "say": offer.say,
        "wanted": wanted_of(for_check(offer, check), examination, units),
        "unsaid": unsaid_of(offer), "others": others_want(offer, check, examination, units),
    }  # fmt: skip


def offered_for(frame: Frame, examination: Examination, finding: Finding) -> list[dict[str, Any]]:
    """The usual cures for one finding, with what their parts have to be so that it is enough."""
    units = frame.opened.build.head.units
    return [
        {
            "name": offer.usual.name, "title": offer_title(offer), "say": offer.say,
            "wanted": has_to_be(for_check(offer, finding.check), examination, units),
            "unsaid": unsaid_of(offer),
            "others": others_want(offer, finding.check, examination, units),
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
    asked = asked_of(offer, after.state.build)
    return {
        "rows": turned(offer.findings, after, units), "say": offer.say,
        "wanted": wanted_of(offer, before, units), "asked": asked,
        "guessed": any(one.guess for one in asked),
    }  # fmt: skip


def _of_plan(before: Examination) -> Iterable[Offer]:
    return offers(before) if before.state.name == "finished" else ()
