"""The doubt before and after: bars where the figures are, and words that do not flatter."""

from __future__ import annotations

import re

from drybuild.show.doubt_band import Spread, draw_band, narrowed_words, spread_words


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
