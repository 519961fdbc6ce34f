"""The pages of reference hold every kind of part, every table and every rule."""

from __future__ import annotations

import reference_tables
from drybuild.build.declared import declared_addresses
from drybuild.build.kinds import part_kinds, places, sections
from drybuild.systems.law import rule_sets


def test_every_kind_and_table_has_its_place() -> None:
    page = reference_tables.facts_page()
    for place in places().values():
        assert page.count(f'### kind = "{place.kind}"') == 1
        assert f"`{place.root}`" in page
    for name in sections():
        assert f"[{name}" in page
    assert {place.kind for place in places().values()} <= set(part_kinds())


def test_a_fact_says_what_it_takes() -> None:
    facts = declared_addresses()
    assert reference_tables.takes(facts["wheel.front.left.offset"]).startswith("length; usually ")
    assert reference_tables.takes(facts["car.drive"]) == '`"front"` or `"rear"` or `"all"`'
    assert reference_tables.takes(facts["axle.front.camber_curve"]) == "curve of angle over length"
    assert reference_tables.takes(facts["wheel.front.left.bolt_count"]) == "whole number"
    assert reference_tables.takes(facts["spacer.front.left.bolted_on"]) == "`true` or `false`"


def test_every_rule_is_on_its_page() -> None:
    page = reference_tables.rules_page()
    for rules in rule_sets().values():
        assert f"`{rules.id}`" in page
        for rule in rules.rule:
            assert f"| `{rule.id}` |" in page
