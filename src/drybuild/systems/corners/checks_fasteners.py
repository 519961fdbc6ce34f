"""Checks of wheel and suspension joints: bolt against clamp, thread that holds, the maker's
figure with its document, fasteners that are used once."""

from __future__ import annotations

from typing import Any

from drybuild.build.kinds.fastening import FASTENER_PLACES
from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    FormulaRefused,
    NotWorkedOut,
    Source,
    matches,
    not_above,
    not_below,
)
from drybuild.values import Array

from .results_fasteners import HOSTS, ISO_898, Clamp, engagement_wanted
from .results_room import room

MAKER = Source("the vehicle or part maker's workshop data", how="practice")
LOOK_UP = (
    "Tightening figures are the maker's, with document, thread condition and fastener; LOOK UP, "
    "never work one out. A second person goes over steering, brake and suspension joints."
)
STOPS = ("creep", "full load")
ONCE = "A fastener that the maker lets be used once may break or let go when it goes back in."


def under_proof(*, torque: Array | None, clamp: Clamp | None) -> Any:
    """Proof load over the most that the maker's torque may clamp, N."""
    if torque is None:
        return NOT_APPLICABLE
    if clamp is None:
        raise FormulaRefused("thread and property class of the bolt")
    return proof_load(clamp) - most_clamp(clamp)


def proof_load(clamp: Clamp) -> Any:
    """What the bolt bears without stretching, N."""
    return clamp.proof


def most_clamp(clamp: Clamp) -> Any:
    """The most that the maker's torque may clamp, N."""
    return clamp.most


def wheel_under_proof(
    *, torque: Array | None, property_class: str | None, clamp: Clamp | None
) -> Any:
    """As `under_proof`; wheel fasteners whose class is not marked are not asked about."""
    if torque is None or property_class is None:
        return NOT_APPLICABLE
    return under_proof(torque=torque, clamp=clamp)


def engaged(*, thread: str, held_by: str, engagement: Array) -> Any:
    """Thread that holds over the least for what it goes into, m."""
    try:
        return engagement - thread_wanted(thread, held_by)
    except ValueError as error:
        raise NotWorkedOut(str(error)) from None


def thread_wanted(thread: str, held_by: str) -> Any:
    """The least thread for what it goes into, m."""
    return engagement_wanted(thread=thread, held_by=held_by)


def documented(*, torque: Array | None, document: str | None, condition: str | None) -> Any:
    """Whether a stated figure names its document and the state of the thread."""
    if torque is None:
        return NOT_APPLICABLE
    return matches(bool(document) and condition is not None)


def used_once(
    *, reuse: str, renewed: bool | None, part: str, part_found: str | None, host: str | None,
    host_found: str | None,
) -> Any:  # fmt: skip
    """Whether a one-time fastener is renewed where its joint is opened."""
    if reuse != "one-time" or host == host_found:
        return NOT_APPLICABLE
    return matches(bool(renewed) or part != part_found)


def _wheels() -> None:
    at = "wheel_nuts.{corner}"
    room.check(
        "corners.wheel_clamp", title="wheel studs or bolts under their proof load", per="corner",
        kind="force",
        needs={
            "torque": f"?{at}.torque", "property_class": f"?{at}.property_class",
            "clamp": "?corners.clamp_of_wheel_nuts.{corner}",
        },
        slack=wheel_under_proof, between=not_above(most_clamp, proof_load),
        formula="slack = Sp·As − most of T/(K·d), K by the seat",
        consequence="injury", stops=("creep", "full load"), source=ISO_898,
        pose="tightened to the maker's figure with a torque wrench, threads clean and dry",
        when_short="the maker's figure may stretch these bolts: they are not the ones it is for",
        do="bolts and seats of the kind that the maker's figure is for", safety=LOOK_UP,
    )  # fmt: skip
    room.check(
        "corners.wheel_figure", title="wheel nuts or bolts: tightening figure has its document",
        per="corner", kind="match",
        needs={
            "torque": f"?{at}.torque", "document": f"?{at}.torque_document",
            "condition": f"?{at}.thread_condition",
        },
        slack=documented, formula="document and thread condition are stated",
        consequence="injury", stops=("creep", "full load"), source=MAKER,
        when_short="a tightening figure stands here that nobody can trace: LOOK UP",
        do="the document, edition and page, and whether threads are dry or oiled",
        safety=LOOK_UP,
    )  # fmt: skip


def _joint(root: str, title: str) -> None:
    at = f"{root}.{{corner}}"
    room.check(
        f"corners.{root}_clamp", title=f"{title} under their proof load", per="corner",
        kind="force",
        needs={"torque": f"{at}.torque", "clamp": f"corners.clamp_of_{root}.{{corner}}"},
        slack=under_proof, between=not_above(most_clamp, proof_load),
        formula="slack = Sp·As − most of T/(K·d)", consequence="injury",
        stops=STOPS, source=ISO_898,
        pose="tightened to the maker's figure with a torque wrench",
        when_short="the maker's figure may stretch these bolts: they are not the ones it is for",
        do="bolts of the kind that the maker's figure is for", safety=LOOK_UP,
    )  # fmt: skip
    room.check(
        f"corners.{root}_engaged", title=f"{title}: enough thread holds", per="corner",
        kind="length",
        needs={
            "thread": f"{at}.thread", "held_by": f"{at}.held_by",
            "engagement": f"{at}.engagement",
        },
        slack=engaged, between=not_below("engagement", thread_wanted),
        formula="slack = engagement − 0.8 (nut), 1, 1.25 or 2 diameters",
        consequence="injury", stops=STOPS, source=PRACTICE, pose="as assembled",
        when_short="too little thread holds this joint",
        do="longer bolts that do not bottom, or a full nut", safety=LOOK_UP,
    )  # fmt: skip
    room.check(
        f"corners.{root}_figure", title=f"{title}: tightening figure has its document",
        per="corner", kind="match",
        needs={
            "torque": f"{at}.torque", "document": f"?{at}.torque_document",
            "condition": f"?{at}.thread_condition",
        },
        slack=documented, formula="document and thread condition are stated",
        consequence="injury", stops=STOPS, source=MAKER,
        when_short="a tightening figure stands here that nobody can trace: LOOK UP",
        do="the document, edition and page, and whether threads are dry or oiled",
        safety=LOOK_UP,
    )  # fmt: skip
    host = HOSTS[root]
    room.check(
        f"corners.{root}_once", title=f"{title}: one-time ones are new", per="corner", kind="match",
        needs={
            "reuse": f"{at}.reuse", "renewed": f"?{at}.renewed", "part": f"{at}.part",
            "part_found": f"?base:{at}.part", "host": f"?{host}.{{corner}}.part",
            "host_found": f"?base:{host}.{{corner}}.part",
        },
        slack=used_once, formula="one-time fasteners are renewed when their joint is opened",
        consequence="injury", stops=STOPS, source=MAKER,
        when_short="a one-time fastener would go back in",
        do="new ones of the maker's number; write renewed = true when they are on the bench",
        safety=f"{ONCE} {LOOK_UP}",
    )  # fmt: skip


# A shim parts a joint that keeps its own bolts.
OPENED = (*(f"{place.root}.*" for place in FASTENER_PLACES), "stub_shim.*")

_wheels()
for _place in FASTENER_PLACES:
    _joint(_place.root, _place.title)

room.record(
    "corners.joints_tightened",
    title="suspension joints tightened to the maker's figures, one-time fasteners renewed",
    changed=OPENED,
    stops=("creep", "full load"),
    evidence=("value", "tool", "name"),
    second_person=True,
    do="each joint by its figure, or LOOK UP; rubber bushes with the car on its wheels; threads as "
    "the figure asks; write figure, tool and name for each",
    safety=f"{LOOK_UP} {ONCE} Nobody under a car that stands on a jack alone.",
    source=MAKER,
)
room.record(
    "corners.joints_again",
    title="suspension joints gone over again after the first 100 km",
    changed=OPENED,
    stops=("compete",),
    evidence=("value", "tool", "name"),
    do="the same tool and figure, cold; a joint that turns again needs its cause found; never a "
    "stretch bolt or one by angle, which are looked at and not turned",
    safety=f"Paint and seats settle. {LOOK_UP}",
    source=PRACTICE,
)
