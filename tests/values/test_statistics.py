"""Statistics over draws, shares, and numbers as they are said."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from drybuild.values import (
    KINDS,
    MINUS,
    Draws,
    chance,
    effective_size,
    figures,
    fixed_unit,
    interval,
    joint_chance,
    mean,
    number_of,
    parse_value,
    quantile,
    quantiles,
    reweight,
    shares,
    shares_many,
    short_text,
    shortest_interval,
    show,
    show_number,
    show_value,
    stepped,
    summary,
    to_unit,
    unsigned,
    with_minus,
    worst_along,
    written,
)
from drybuild.values.formatting import NOISE

columns = hnp.arrays(float, 64, elements=st.floats(-1e6, 1e6))
weights = hnp.arrays(float, 64, elements=st.floats(0.1, 10.0))


@given(columns)
def test_equal_weights_are_no_weights(x):
    w = np.full(64, 3.0)
    qs = (0.0, 0.025, 0.3, 0.5, 0.9, 1.0)
    np.testing.assert_allclose(quantiles(x, qs, w), quantiles(x, qs), rtol=1e-9, atol=1e-6)
    assert mean(x, w) == pytest.approx(mean(x), rel=1e-9, abs=1e-6)
    assert chance(x, w) == pytest.approx(chance(x))


@given(columns)
def test_quantiles_are_hazens(x):
    qs = (0.01, 0.25, 0.5, 0.77)
    np.testing.assert_allclose(quantiles(x, qs), np.quantile(x, qs, method="hazen"), rtol=1e-12,
                               atol=1e-9)


@given(columns, st.permutations(range(64)))
def test_the_order_of_draws_does_not_matter(x, order):
    np.testing.assert_allclose(summary(x[order]), summary(x), rtol=1e-12)


@given(columns, weights)
def test_weights_scale_out(x, w):
    assert chance(x, w) == pytest.approx(chance(x, 7 * w))
    assert quantile(x, 0.5, w) == pytest.approx(quantile(x, 0.5, 7 * w))


def test_weights_count_like_copies():
    x, w = np.array([1.0, 2.0, -3.0]), np.array([1.0, 2.0, 3.0])
    copies = np.array([1.0, 2.0, 2.0, -3.0, -3.0, -3.0])
    assert chance(x, w) == chance(copies) == 0.5
    assert mean(x, w) == pytest.approx(mean(copies))


def test_draws_not_solved_count_as_short_and_stay_out_of_quantiles():
    x = np.array([1.0, np.nan, 3.0, -1.0])
    assert chance(x) == 0.5
    assert quantile(x, 0.5) == 1.0
    assert mean(x) == 1.0
    assert np.isnan(summary(np.full(4, np.nan))).all()
    assert chance(np.full(4, np.nan)) == 0.0
    assert chance(np.nan) == 0.0


def test_infinite_draws_do_not_spoil_the_rest():
    x = np.concatenate([np.arange(100.0), [np.inf] * 4])
    assert np.isfinite(quantile(x, 0.5))
    assert quantile(x, 0.999) == np.inf


def test_floats_are_certain():
    assert chance(0.0) == 1.0
    assert chance(-1e-12) == 0.0
    assert interval(3.0) == (3.0, 3.0)


def test_joint_chance_is_counted_not_multiplied():
    a = np.array([1.0, 1.0, -1.0, -1.0])
    assert joint_chance([a, a]) == 0.5
    assert joint_chance([a, -a]) == 0.0
    assert joint_chance([a, 1.0, np.array([1.0, np.nan, 1.0, 1.0])]) == 0.25
    assert joint_chance([]) == 1.0
    assert joint_chance([1.0, 2.0]) == 1.0


def test_the_worst_point_is_taken_per_draw():
    slack = np.array([[1.0, -5.0, 3.0], [2.0, 4.0, np.nan], [0.5, 6.0, 1.0]])
    worst, where = worst_along(slack)
    np.testing.assert_array_equal(worst, [0.5, -5.0, np.nan])
    np.testing.assert_array_equal(where, [2, 0, 1])
    assert chance(worst) == pytest.approx(1 / 3)
    np.testing.assert_array_equal(worst_along(np.array([3.0, 2.0]))[0], [2.0])
    with pytest.raises(ValueError, match="shape"):
        worst_along(np.empty((0, 4)))


def test_shortest_interval_of_a_skew_column_hugs_its_edge():
    x = -np.log1p(-Draws().unit("skew"))
    low, high = shortest_interval(x)
    assert low == pytest.approx(0.0, abs=2e-3)
    assert high == pytest.approx(-np.log(0.05), rel=0.02)


def test_reweighing():
    w = reweight(None, np.array([1.0, 3.0, np.nan, 0.0]))
    np.testing.assert_allclose(w, [1.0, 3.0, 0.0, 0.0])
    assert effective_size(w, 4) == pytest.approx(16 / 10)
    assert effective_size(None, 4) == 4
    with pytest.raises(ValueError, match="no draw agrees"):
        reweight(None, np.zeros(4))
    with pytest.raises(ValueError, match="never negative"):
        reweight(None, np.array([-1.0, 2.0]))


# Shares ---------------------------------------------------------------------------------------

DRAWS = Draws()
Z = np.array([DRAWS.normal(f"share {i}") for i in range(12)])


def test_shares_ignore_scale_offset_and_sign():
    y = 3 * Z[0] + np.exp(Z[1] / 2) + 0.5 * Z[2]
    one, two = shares_many(np.array([y, 40 - 1e-4 * y]), Z)
    np.testing.assert_allclose(one, two, atol=1e-5)


def test_what_has_no_effect_has_no_share():
    found = shares(Z[0] + Z[1], Z)
    assert found.main[2:].max() < 4e-3
    assert found.total[2:].max() < 1e-2
    assert found.remainder < 0.02


def test_a_result_without_doubt_has_no_shares():
    assert not shares_many(np.full((2, DRAWS.n), 1 / 3), Z).any()
    assert not shares(np.full(DRAWS.n, 0.1), Z).total.any()


def test_products_count_for_both():
    found = shares(Z[0] * Z[1], Z)
    assert found.main.max() < 0.01
    assert found.total[:2] == pytest.approx([1.0, 1.0], abs=0.05)
    assert found.total[2:].max() < 0.05


def test_a_mask_keeps_inputs_out():
    mask = np.zeros((1, 12), dtype=bool)
    mask[0, 1] = True
    found = shares_many(Z[0] + Z[1], Z, mask)
    assert found[0, 1] == pytest.approx(0.5, abs=0.04)
    assert not found[0, [0, *range(2, 12)]].any()


def test_kept_polynomials_give_the_same_shares():
    y = np.array([Z[0] ** 2 + Z[1], Z[2]])
    kept = DRAWS.hermites(tuple((f"share {i}", 0) for i in range(12)), DRAWS.n)
    np.testing.assert_allclose(shares_many(y, kept), shares_many(y, Z), atol=1e-6)


def test_shares_take_weights():
    y = np.where(Z[2] > 0, Z[0], 10 * Z[1])
    found = shares_many(y, Z, weights=np.where(Z[2] > 0, 1.0, 0.0))[0]
    assert found[0] > 0.95
    assert found[1] < 0.02


def test_draws_not_solved_do_not_spoil_shares():
    y = Z[0] + 0.1 * Z[1]
    y[::50] = np.nan
    assert shares_many(y, Z)[0, 0] == pytest.approx(0.97, abs=0.04)
    assert shares(y, Z).main[0] == pytest.approx(0.97, abs=0.04)


# Said -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "figures", "said"),
    [
        ("length", (0.0042, 0.0011, 0.0073), "about 4 mm, 1 to 7"),
        ("length", (-0.0031, -0.0092, 0.0021), "about −3 mm, −9 to 2"),
        ("length", (0.0421, 0.0407, 0.0436), "about 42.0 mm, 40.5 to 43.5"),
        ("length", (0.0034, 0.0003, 0.0066), "about 3 mm, 0 to 7"),
        ("length", (0.0074, 0.0001, 0.0156), "about 7 mm, 0 to 16"),
        ("length", (0.0015, 0.00002, 0.003), "about 1.5 mm, 0.0 to 3.0"),
        ("length", (0.0487, 0.031, 0.067), "about 49 mm, 31 to 67"),
        ("length", (0.0487, 0.021, 0.077), "about 50 mm, 20 to 80"),
        ("length", (0.34, 0.3395, 0.3405), "about 340.0 mm, 339.5 to 340.5"),
        ("length", (0.0002, -0.004, 0.004), "about 0 mm, −4 to 4"),
        ("length", (-0.0002, -0.004, 0.004), "about −0.2 mm, −4.0 to 4.0"),
        ("length", (-0.000001, -0.004, 0.004), "about −0.1 mm, −4.0 to 4.0"),
        ("length", (-0.007, -0.016, -0.0002), "about −7.0 mm, −16.0 to −0.2"),
        ("length", (-0.0007, -0.0019, 0.0004), "about −0.7 mm, −1.9 to 0.4"),
        ("length", (0.0003, 0.00001, 0.02), "about 0.3 mm, 0.0 to 20.0"),
        ("length", (2.33, None, None), "2330 mm"),
        ("length", (0.062, 0.062, 0.062), "62 mm"),
        ("fraction", (0.5, 0.48, 0.525), "about 50.0 %, 48.0 to 52.5"),
        ("temperature_difference", (17.2, 9.1, 25.3), "about 17 °C, 9 to 25"),
        ("temperature_difference", (17.2, None, None), "17.2 °C"),
        ("power", (215e3, 205e3, 225e3), "about 215 kW, 205 to 225"),
        ("rotation_speed", (712.09, 697.1, 727.0), "about 6800 rpm, 6650 to 6950"),
        ("temperature", (298.15, 294.15, 302.15), "about 25 °C, 21 to 29"),
        ("fraction", (0.85, 0.82, 0.88), "about 85 %, 82 to 88"),
        ("pressure_gauge", (1.3e5, 1.26e5, 1.34e5), "about 1.30 bar gauge, 1.26 to 1.34"),
        ("mass", (0.03, 0.02, 0.04), "about 30 g, 20 to 40"),
        ("match", (1.0, None, None), "yes"),
        ("match", (-1.0, None, None), "no"),
        ("length", (float("nan"), None, None), "not solved"),
    ],
)
def test_figures_as_they_are_said(kind, figures, said):
    assert show(kind, *figures) == said


def test_a_shortage_throughout_never_begins_at_nothing():
    assert short_text(figures("length", -0.007, -0.016, -0.0002)) == "about 7.0 mm, 0.2 to 16.0"
    far = figures("fraction", -0.07, float("-inf"), -0.02)
    assert short_text(far) == "about 7 %, 2 to far above"
    assert short_text(figures("length", -0.007, -0.007, -0.007)) == "7 mm"


@given(
    st.floats(-1e4, 1e4), st.floats(1e-4, 1e4), st.floats(0.01, 0.99),
)  # fmt: skip
def test_a_band_is_said_in_5_to_50_steps_and_no_sign_is_lost(low, width, at):
    three = (low + at * width, low, low + width)
    texts = stepped(*three)
    said = [number_of(text) for text in texts]
    (places,) = {len(text.partition(".")[2]) for text in texts}  # the same in all three
    assert places == 0 or any(text[-1] != "0" for text in texts)
    for figure, text, read in zip(three, texts, said, strict=True):
        assert "-" not in text
        assert text.startswith(MINUS) == (read < 0.0)  # never -0
        assert abs(read - figure) <= width / 10 * (1 + 1e-6)
        assert read < 0.0 or figure >= -NOISE
    if places and not any(abs(read) <= width / 10 for read in said):
        assert 10.0**-places >= width / 50 * (1 - 1e-6)


def test_us_units_on_request():
    assert show("length", 0.0254, 0.02286, 0.02794, "us") == "about 1.0 in, 0.9 to 1.1"
    assert show("temperature", 298.15, None, None, "us") == "77 °F"
    # a rim is spoken of in inches everywhere, to the tenth; an offset is not
    for system in ("metric", "us"):
        assert show("rim_width", 0.2159, 0.2151, 0.2167, system) == "8.5 in"
        assert show("rim_width", 0.2159, 0.205, 0.227, system) == "about 8.5 in, 8.1 to 8.9"
        assert show("rim_width", 0.1905, None, None, system) == "7.5 in"
    assert show("length", 0.045, 0.0445, 0.0455) == "about 45.0 mm, 44.5 to 45.5"
    assert show("fuel_use", 7.84e-8, 7.1e-8, 8.7e-8, "us") == "about 30 mpg US, 27 to 33"
    with pytest.raises(ValueError, match="metric"):
        show("length", 1.0, None, None, "imperial")  # type: ignore[arg-type]


@pytest.mark.parametrize(("value", "said"), [(0.00123, "1.23 mm"), (0.0067, "6.7 mm"),
                                             (0.05678, "56.8 mm"), (1.2345, "1234 mm"),
                                             (0.0, "0 mm"), (-0.00104, "−1.04 mm")])
def test_a_figure_alone(value, said):
    assert show_number("length", value) == said


@given(st.sampled_from(sorted(set(KINDS) - {"match"})), st.floats(1e-2, 1e6), st.floats(1e-3, 0.9),
       st.sampled_from(["metric", "us"]))
def test_what_is_said_lies_near_what_is_meant(kind, size, rough, system):
    low, high = size * (1 - rough), size * (1 + rough)
    said = show(kind, size, low, high, system)
    if said.startswith("0 "):  # below the arithmetic's own noise
        return
    if KINDS[kind].places is not None and ", " not in said:  # finer than anybody speaks of it
        return
    first, last = map(number_of, said.split(", ")[1].split(" to "))
    assert first <= last
    assert f"{MINUS}0 " not in said
    assert said.startswith("about ")


def test_what_is_read_has_a_minus_sign_and_what_is_written_a_hyphen():
    assert show_number("angle", -0.035) == "−2.01 deg"
    assert unsigned("−2.01") == "2.01"
    assert written("length", -0.002) == "-2 mm"
    assert show_value(-0.002, "mm", "length") == "-2 mm"
    for typed in ("-2 mm", "−2 mm"):
        assert parse_value(typed, "length").centre == pytest.approx(-0.002)
    assert with_minus("-1.5 ± 0.2 deg, -3 to -1") == "−1.5 ± 0.2 deg, −3 to −1"
    for no_figure in ("2026-01-02", "-6 AN", "M8-1.25", "bar-links", "5e-3"):
        assert with_minus(no_figure) == no_figure


def test_a_difference_of_temperature_is_said_in_degrees_and_read_in_kelvin_too():
    # SI Brochure, 9th edition, 2.3.1: a difference has the same number in kelvin and in °C
    assert show_number("temperature_difference", 17.2) == "17.2 °C"
    assert written("temperature_difference", 6.0) == "6 °C"
    for typed in ("6 K", "6 °C"):
        assert parse_value(typed, "temperature_difference").centre == pytest.approx(6.0)
    assert parse_value("25 ± 5 °C", "temperature").half_width == pytest.approx(5.0)


def test_machines_read_one_unit():
    assert fixed_unit("pressure_gauge") == "Pa"
    assert to_unit("length", 0.0254, "in") == pytest.approx(1.0)
