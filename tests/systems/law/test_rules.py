"""Rule sets as data: what they must say, whom they concern, faults in them."""

from __future__ import annotations

from datetime import date

import pytest

from drybuild.systems.law.rules import (
    QUANTITIES,
    Registered,
    RuleFault,
    applies,
    chosen,
    read_rule_set,
    rule_sets,
    rules_for,
)

HEAD = """
format = 1
id = "trial"
title = "trial rules"
jurisdiction = "AU"
edition = "1"
authority = "nobody"
governs = "road"
not_assessed = ["all else"]
"""

SHAPES = {
    "at most", "at least", "between", "change from original", "member of", "fitted", "absent",
    "table",
}  # fmt: skip


def test_three_sets_and_every_shape_in_use() -> None:
    sets = rule_sets()
    assert {"un-base", "au-light-modified", "callow-hill-club"} <= set(sets)
    assert {rule.shape for s in sets.values() for rule in s.rule} == SHAPES


def test_every_rule_says_where_it_stands_and_how_it_is_known() -> None:
    for rules in rule_sets().values():
        assert rules.edition
        assert rules.authority
        assert rules.not_assessed
        for rule in rules.rule:
            assert rule.document, rule.id
            assert rule.how in ("read", "memory", "invented")
            if rule.how == "read":
                assert rule.clause or rule.edition or rule.jurisdiction, rule.id


def test_an_invented_set_says_so() -> None:
    for rules in rule_sets().values():
        assert rules.invented == ("invented" in rules.title)


def test_the_club_governs_competition_only() -> None:
    assert rule_sets()["callow-hill-club"].governs == "competition"
    everything = tuple(QUANTITIES)
    car = Registered()
    ids = ("un-base", "callow-hill-club")
    assert {s.id for s, _ in rules_for(ids, everything, car, "competition")} == {"callow-hill-club"}
    assert {s.id for s, _ in rules_for(ids, everything, car, "road")} == {"un-base"}


def found(car: Registered, quantity: str) -> set[str]:
    ids = ("un-base", "au-light-modified")
    return {rule.id for _, rule in rules_for(ids, (quantity,), car, "road")}


def test_a_state_reads_its_own_rules_and_the_countrys() -> None:
    car = Registered(jurisdiction="AU-SA", category="M1")
    assert found(car, "track_width") == {"sa-track", "vsb14-track"}
    assert found(Registered("AU-WA", "M1"), "track_width") == {"wa-track", "vsb14-track"}


def test_without_a_state_all_states_are_read() -> None:
    both = {"sa-track", "wa-track", "vsb14-track"}
    assert found(Registered("AU", "M1"), "track_width") == both
    assert found(Registered(None, "M1"), "track_width") == both


def test_another_country_reads_none_of_them_but_the_un_ones() -> None:
    assert found(Registered("DE", "M1"), "track_width") == set()
    assert "r39-never-below" in found(Registered("DE", "M1"), "indicated_speed")


def test_a_code_is_matched_by_its_parts_not_by_its_letters() -> None:
    assert found(Registered("AUX", "M1"), "track_width") == set()


def test_category_and_body() -> None:
    assert "vsb14-tyre-width-goods" not in found(Registered("AU", "M1"), "tyre_width")
    assert found(Registered("AU", "N1G"), "tyre_width") == {"vsb14-tyre-width-goods"}
    club = ("callow-hill-club",)
    closed = Registered(body="closed")
    assert not rules_for(club, ("rollover_bar",), closed, "competition")
    assert rules_for(club, ("rollover_bar",), Registered(body="open"), "competition")


def test_date_bounds_are_from_inclusive_and_before_exclusive() -> None:
    day = date(2016, 7, 1)
    assert found(Registered(first_registered=day), "pass_by_noise") == {"r51-phase-1"}
    assert found(Registered(first_registered=date(2016, 6, 30)), "pass_by_noise") == set()
    day = date(2022, 7, 1)
    assert found(Registered(first_registered=day), "pass_by_noise") == {"r51-phase-2"}


def test_an_unknown_date_excludes_nothing() -> None:
    assert len(found(Registered(), "pass_by_noise")) == 3


def test_an_unknown_set_lists_the_known_ones() -> None:
    with pytest.raises(RuleFault, match="un-base"):
        chosen(("un-basis",))


RULE = '\n[[rule]]\nid = "a"\nsays = "a"\ndocument = "d"\nhow = "read"\n'


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('quantity = "colour"\nshape = "fitted"', "no quantity 'colour'"),
        ('quantity = "catalyst"\nshape = "nearly"', "shape"),
        ('quantity = "lamp_height"\nshape = "at most"', "needs a limit"),
        ('quantity = "lamp_height"\nshape = "change from original"', "needs up, down"),
        (
            'quantity = "lamp_height"\nshape = "change from original"\nup = "1 mm"\n'
            "up_share = [1, 3]",
            "both as a quantity and as a share",
        ),
        (
            'quantity = "lamp_height"\nshape = "between"\nlow = "2 mm"\nhigh = "1 mm"',
            "low must lie below high",
        ),
        ('quantity = "lamp_height"\nshape = "at most"\nlimit = "3 dB(A)"', "dB"),
        ('quantity = "catalyst"\nshape = "fitted"\ncolour = "red"', "colour"),
        (
            'quantity = "tyre_speed"\nshape = "table"\nacts = "at least"\nby = "category"\n'
            'rows = [{ up_to = 3.0, limit = "1 km/h" }]',
            "need a word",
        ),
    ],
)
def test_a_faulty_rule_is_named(body: str, words: str) -> None:
    with pytest.raises(RuleFault, match=r"trial\.toml") as caught:
        read_rule_set(HEAD + RULE + body, name="trial.toml")
    assert words in str(caught.value)


def test_all_faults_at_once() -> None:
    body = 'quantity = "catalyst"\nshape = "fitted"'
    text = HEAD.replace('edition = "1"\n', "").replace('title = "trial rules"\n', "") + RULE + body
    with pytest.raises(RuleFault) as caught:
        read_rule_set(text, name="trial.toml")
    assert str(caught.value).count("trial.toml:") == 2


def test_no_toml_and_double_ids() -> None:
    with pytest.raises(RuleFault, match=r"trial\.toml"):
        read_rule_set("format = ", name="trial.toml")
    body = RULE + 'quantity = "catalyst"\nshape = "fitted"\n'
    with pytest.raises(RuleFault, match="used twice"):
        read_rule_set(HEAD + body + body, name="trial.toml")


def test_invented_rules_live_in_invented_sets_only() -> None:
    body = RULE.replace("read", "invented") + 'quantity = "catalyst"\nshape = "fitted"\n'
    with pytest.raises(RuleFault, match="invented sets only"):
        read_rule_set(HEAD + body, name="trial.toml")


def test_applies_reads_the_rule_before_the_set() -> None:
    body = RULE + 'quantity = "catalyst"\nshape = "fitted"\njurisdiction = "AU-VIC"'
    rules = read_rule_set(HEAD + body, name="trial.toml")
    assert not applies(rules.rule[0], rules, Registered(jurisdiction="AU-SA"))
    assert applies(rules.rule[0], rules, Registered(jurisdiction="AU-VIC"))
