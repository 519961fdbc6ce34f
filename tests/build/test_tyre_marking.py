"""The marking on a tyre's sidewall: read, written back, refused with a reason."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.build.tyre_marking import SPEED_LETTERS, MarkingError, TyreMarking, parse_marking


@pytest.mark.parametrize(
    "text",
    [
        "205/50 R16 87V",
        "205/50R16 87V",
        " 205/50  r 16  87 v ",
        "205 / 50 R16 87V SL",
    ],
)
def test_spacing_and_case_do_not_matter(text: str) -> None:
    assert parse_marking(text) == TyreMarking(
        section_width_mm=205, aspect_percent=50, rim_code=16, load_index=87, speed_symbol="V"
    )


@pytest.mark.parametrize("word", ["XL", "Extra Load", "EXTRALOAD", "RF", "reinforced"])
def test_words_for_extra_load(word: str) -> None:
    mark = parse_marking(f"225/45 R17 94W {word}")
    assert mark.extra_load
    assert mark.load_index == 94


def test_p_metric_is_another_tyre_than_the_same_size_without_p() -> None:
    american, european = parse_marking("P205/55R16 89H"), parse_marking("205/55 R16 91H")
    assert american.p_metric
    assert not european.p_metric
    assert american != european


def test_z_in_zr_and_brackets() -> None:
    mark = parse_marking("225/40 ZR18 (92Y) XL")
    assert mark.zr
    assert mark.beyond
    assert mark.speed_symbol == "Y"
    assert parse_marking("225/40 R18 92Y XL ").zr is False


def test_light_commercial_with_two_indices() -> None:
    mark = parse_marking("215/65 R16C 109/107R")
    assert mark.commercial
    assert (mark.load_index, mark.load_index_dual, mark.speed_symbol) == (109, 107, "R")


def test_size_alone_has_no_service() -> None:
    mark = parse_marking("175/65R14")
    assert mark.load_index is None
    assert mark.service == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("205/50 16 87V", "letter R"),
        ("205-50 R16", "slash"),
        ("31x10.50 R15", "inches"),
        ("LT245/75 R16", "LT sizes"),
        ("225/50 VR16", "after the load index"),
        ("207/50 R16", "section width"),
        ("205/52 R16", "aspect ratio"),
        ("205/50 R26", "rim diameter code"),
        ("205/50 R16 87X", "no speed symbol"),
        ("205/50 R16 87", "load index and a speed symbol"),
        ("205/50 R16 (87V", "bracket"),
        ("205/50 R16 87V XXL", "XXL"),
        ("tyre", "slash"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_reason_and_the_form(text: str, words: str) -> None:
    with pytest.raises(MarkingError, match="205/50 R16 87V") as caught:
        parse_marking(text)
    assert words in str(caught.value)


MARKS = st.builds(
    TyreMarking,
    section_width_mm=st.integers(21, 81).map(lambda n: 5 * n),
    aspect_percent=st.integers(4, 19).map(lambda n: 5 * n),
    rim_code=st.integers(10, 24).map(float),
    p_metric=st.booleans(),
    zr=st.booleans(),
    load_index=st.integers(60, 120),
    load_index_dual=st.none() | st.integers(60, 120),
    speed_symbol=st.sampled_from(SPEED_LETTERS),
    beyond=st.booleans(),
    load_version=st.sampled_from(["SL", "XL"]),
)


@given(MARKS)
def test_written_and_read_again_it_is_the_same(mark: TyreMarking) -> None:
    assert parse_marking(str(mark)) == mark


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_and_nothing_else(text: str) -> None:
    try:
        mark = parse_marking(text)
    except MarkingError:
        return
    assert parse_marking(str(mark)) == mark


def test_words_that_change_no_size_are_left_out_and_bare_numbers_are_offered() -> None:
    assert str(parse_marking("205/55 R16 91V M+S")) == str(parse_marking("205/55 R16 91V"))
    for bare in ("205 55 16", "205-55-16", "2055516"):
        with pytest.raises(MarkingError, match=r"205/55 R16"):
            parse_marking(bare)
