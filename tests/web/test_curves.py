"""Curves on screen: the one figure on a pump's box, and a curve changed point by point."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from forms import token_in, visit
from starlette.testclient import TestClient

from drybuild.examine.opened import open_build

CURVE = "part.box.curve"


def _add(here: TestClient, **facts: str):  # type: ignore[no-untyped-def]
    facts = {"name": "Box", **facts}
    data = {"token": token_in(here.get("/drafts").text), "kind": "pump", "by": "catalogue",
            "like": "std_pump", "fact": list(facts), "value": list(facts.values())}  # fmt: skip
    return here.post("/parts/add", data=data)


def _curve(folder: Path):  # type: ignore[no-untyped-def]
    return open_build(folder).build.parts["box"].curve


def _flow(folder: Path, bar: float) -> float:
    curve = _curve(folder)
    return dict(zip(curve.x, curve.y, strict=True))[bar * 1e5] * 3.6e6


def test_the_figure_on_a_pump_s_box_sizes_its_curve(hatch: Path) -> None:
    here = visit(hatch)
    form = here.get("/parts/add?kind=pump").text
    assert ">Flow, L/h <" in form
    assert ">Flow: at which, bar gauge<" in form
    assert _add(here, **{"curve.y": "255", "curve.x": "3 bar"}).status_code == 303
    assert _flow(hatch, 3) == pytest.approx(255, rel=1e-3)
    assert _flow(hatch, 6) == pytest.approx(255 * 77 / 160, rel=1e-3)  # as the standard one falls
    assert 0.10 < _curve(hatch).scale_half < 0.13  # no longer the 20 % of a mere guess
    text = (hatch / "parts" / "added.toml").read_text(encoding="utf-8")
    assert "through 255 L/h at 3 bar gauge, by catalogue; its shape is a guess, as" in text


def test_half_a_point_of_a_pump_is_refused_and_kept_in_its_box(hatch: Path) -> None:
    answer = _add(visit(hatch), **{"curve.y": "255"})
    assert answer.status_code == 409
    assert "both of its figures are wanted" in answer.text
    assert 'name="value" value="255"' in answer.text
    assert not (hatch / "parts" / "added.toml").exists()


def _sent(here: TestClient, **fields: str):  # type: ignore[no-untyped-def]
    page = here.get("/set", params={"address": CURVE}).text
    (seen,) = set(re.findall(r'name="seen" value="([^"]*)"', page))
    data = {"token": token_in(page), "address": CURVE, "seen": seen, **fields}
    return here.post("/set/curve", data=data)


def test_a_curve_is_changed_point_by_point(hatch: Path) -> None:
    here = visit(hatch)
    _add(here)
    page = unescape(here.get("/set", params={"address": CURVE}).text)
    assert "change it in the file" not in page
    assert "\n3; 160\n" in page  # the points of the standard one, as a guess
    rows = "0; 300\n3; 255\n6; 150"
    assert _sent(here, points=rows, doubt="4 %", by="maker").status_code == 303
    assert [round(_flow(hatch, bar)) for bar in (0, 3, 6)] == [300, 255, 150]
    assert _curve(hatch).scale_half == pytest.approx(0.04)
    assert _curve(hatch).how.words == "maker's data"
    assert rows in unescape(here.get("/set", params={"address": CURVE}).text)


def test_a_curve_that_is_there_is_laid_through_one_point(hatch: Path) -> None:
    here = visit(hatch)
    _add(here)
    assert _sent(here, value="255 l/h", at="3", by="document").status_code == 303
    assert _flow(hatch, 3) == pytest.approx(255, rel=1e-3)
    assert "through 255 L/h at 3 bar gauge, by document" in (
        hatch / "parts" / "added.toml").read_text(encoding="utf-8")  # fmt: skip


def test_points_that_are_no_curve_are_refused_and_kept(hatch: Path) -> None:
    here = visit(hatch)
    _add(here)
    before = (hatch / "parts" / "added.toml").read_bytes()
    answer = _sent(here, points="0; 300\n3; much", by="maker")
    assert answer.status_code == 409
    assert "row 2" in answer.text
    assert "3; much" in answer.text
    assert (hatch / "parts" / "added.toml").read_bytes() == before


def test_what_is_no_curve_takes_no_points(hatch: Path) -> None:
    here = visit(hatch)
    data = {"token": token_in(here.get("/drafts").text), "address": "car.wheelbase",
            "points": "0; 1\n1; 2"}  # fmt: skip
    assert here.post("/set/curve", data=data).status_code == 404


def test_of_a_curve_its_ends_are_said(hatch: Path) -> None:
    here = visit(hatch)
    _add(here, **{"curve.y": "255", "curve.x": "3"})
    page = here.get("/parts/box").text
    ends = r"29\d L/h at 0 bar gauge to 1[0-9]\d L/h at 6 bar gauge"
    assert re.search(f"a curve of 5 points, {ends}", page)
