"""What every model declares holds together: usual ranges, default doubts, tools, addresses."""

from __future__ import annotations

import pytest

from drybuild.build.declared import declared_addresses, declared_blend
from drybuild.build.drawn import quantity_kind
from drybuild.values import KINDS, METHODS, parse_value, written

DECLARED = {**declared_addresses(), **declared_blend("any")}
BY_FIELD = {(d.model, d.path[-1]): d for d in DECLARED.values()}
FACTS = sorted(BY_FIELD.values(), key=lambda d: d.address)


def _id(declared):
    return f"{declared.model.__name__}.{declared.path[-1]}"


@pytest.mark.parametrize("declared", [d for d in FACTS if d.typical], ids=_id)
def test_usual_ranges_can_be_read(declared):
    value = parse_value(declared.typical, quantity_kind(declared), how="assumed")
    assert value.interval[0] < value.interval[1]


@pytest.mark.parametrize("declared", [d for d in FACTS if d.measure], ids=_id)
def test_tools_are_known_and_suit_the_kind(declared):
    tool = declared.measure.tool
    assert declared.measure.minutes > 0
    assert tool in METHODS, f"{tool!r}: known are {', '.join(sorted(METHODS))}"
    try:
        kind = quantity_kind(declared)
    except KeyError:
        return  # a word is looked up, not measured
    typical = declared.typical or KINDS[kind].example
    centre = parse_value(typical, kind, how="assumed").median
    value = parse_value({"is": written(kind, centre), "by": tool}, kind)
    assert value.half_width > 0 or tool == "count"


@pytest.mark.parametrize(
    ("declared", "doubt"),
    [(d, t) for d in FACTS for n, t in d.catalogue.items() if n == d.path[-1]],
    ids=lambda x: _id(x) if hasattr(x, "model") else str(x),
)
def test_default_doubts_can_be_read(declared, doubt):
    kind = quantity_kind(declared)
    example = KINDS[kind].example
    parse_value(example, kind, default_doubt=doubt)


def test_every_fact_says_what_it_is():
    assert [d.address for d in FACTS if not d.doc and d.path[-1] != "kind"] == []
