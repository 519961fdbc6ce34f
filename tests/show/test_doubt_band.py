"""The doubt before and after: bars where the figures are, and words that do not flatter."""

from __future__ import annotations

import re

from drybuild.show.doubt_band import Spread, apart, draw_band, narrowed_words, spread_words


def spread(low: float, middle: float, high: float) -> Spread:
    return Spread("length", low, middle, high, "measured")


def boxes(svg: str) -> list[tuple[float, float]]:
    """Left and right of each bar, in the order drawn."""
    found = re.findall(r'd="M([0-9.]+) [0-9.]+ L([0-9.]+) [0-9.]+ L[^"]*Z"', svg)
    return [(float(left), float(right)) for left, right in found]


def test_a_bar_is_as_wide_as_the_doubt() -> None:
    wide, narrow = boxes(draw_band(spread(0.04, 0.05, 0.06), spread(0.049, 0.05, 0.051), "metric"))
    assert abs((wide[1] - wide[0]) / (narrow[1] - narrow[0]) - 10) < 0.1
    assert wide[0] < narrow[0] < narrow[1] < wide[1]


def test_where_nobody_had_said_there_is_one_bar() -> None:
    svg = draw_band(None, spread(0.049, 0.05, 0.051), "metric")
    assert len(boxes(svg)) == 1
    assert "nobody had said" in svg
    assert "style=" not in svg


def test_the_words_say_how_much_less_doubt_there_is() -> None:
    before = spread(0.04, 0.05, 0.06)
    assert "25 %" in narrowed_words(before, spread(0.0475, 0.05, 0.0525))
    assert "grew" in narrowed_words(spread(0.049, 0.05, 0.051), before)
    assert "what it was" in narrowed_words(before, before)
    assert "do not agree" in narrowed_words(before, spread(0.07, 0.071, 0.072))
    assert narrowed_words(None, before) == ""


def test_a_figure_is_said_with_how_it_is_known() -> None:
    assert spread_words(spread(0.049, 0.05, 0.051), "metric") == "about 50 mm, 49 to 51, measured"


def test_beside_a_typical_value_only_a_slip_of_the_unit_stands_out():
    typical = Spread("length", 2.23, 2.27, 2.31, "assumed")
    assert not apart(typical, spread(2.329, 2.331, 2.333))
    assert apart(typical, spread(0.001, 0.002, 0.004))
    assert "guessed" in narrowed_words(typical, spread(0.001, 0.002, 0.004))
    assert apart(spread(2.23, 2.27, 2.31), spread(2.329, 2.331, 2.333))


def test_the_scale_is_read_without_powers_of_ten():
    svg = draw_band(spread(2.327, 2.33, 2.333), spread(0.001, 0.002, 0.004), "metric")
    assert "e+" not in svg
    assert re.search(r">2 \d+<", svg)


def test_a_reading_wider_than_the_guess_that_it_meets_is_blamed_for_nothing():
    guess = Spread("angle", -0.098, -0.001, 0.098, "assumed")
    reading = Spread("angle", -0.01, 0.10, 0.21, "measured")
    assert not apart(guess, reading)
    said = narrowed_words(guess, reading)
    assert "guess" in said
    assert "agree" not in said
    assert "grew" not in said
    stated = Spread("angle", -0.098, -0.001, 0.098, "measured")
    assert not apart(stated, reading)
    assert apart(stated, Spread("angle", 0.1, 0.2, 0.3, "measured"))
    assert not apart(guess, Spread("angle", 0.25, 0.3, 0.35, "measured"))  # no slip of a unit
    assert not apart(Spread("angle", -0.098, -0.001, 0.098), Spread("angle", 0.1, 0.2, 0.3))
