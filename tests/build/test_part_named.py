"""A part is called by its figures; where its own name says another size, that is said."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from drybuild.build.part_named import for_the_shop, named
from drybuild.values import HowKnown


def _wheel(name: str, offset: float = 44.0, **more: Any) -> Any:
    facts: dict[str, Any] = {
        "kind": "wheel", "name": name, "maker": "", "diameter_code": 18, "bolt_count": 5,
        "rim_width": SimpleNamespace(median=8 * 0.0254),
        "offset": SimpleNamespace(median=offset / 1000),
        "bolt_circle": SimpleNamespace(median=0.112, how=HowKnown.MAKER),
    }  # fmt: skip
    return SimpleNamespace(**{**facts, **more})


def _tyre(name: str, marking: str = "215/40 R18 89Y") -> Any:
    return SimpleNamespace(kind="tyre", name=name, maker="", marking=marking)


@pytest.mark.parametrize(
    ("part", "text", "says"),
    [
        (_wheel("wheel, 8Jx18 ET45"), "wheel, 8Jx18 ET44 5x112", "8Jx18 ET45"),
        (_wheel("wheel, 8Jx18 ET45", offset=45), "wheel, 8Jx18 ET45", ""),
        (_wheel("wheel, 7,5Jx17"), "wheel, 8Jx18 ET44 5x112", "7,5Jx17"),
        (_wheel("Loft Five ET30"), "Loft Five 8Jx18 ET44 5x112", "ET30"),
        (_wheel("Loft Five 5x100"), "Loft Five 5x100", ""),
        (_wheel("Loft 8x18 ET44 5x100"), "Loft 8Jx18 ET44 5x112", "8x18 ET44 5x100"),
        (_wheel("Loft Five"), "Loft Five", ""),
        (_tyre("tyre, 225/40 R18"), "tyre, 215/40 R18 89Y", "225/40 R18"),
        (_tyre("tyre, 215/40R18"), "tyre, 215/40R18", ""),
        (_tyre("tyre, 215/40 R18 85W"), "tyre, 215/40 R18 89Y", "215/40 R18 85W"),
        (_tyre("grippy one"), "grippy one", ""),
    ],
)
def test_figures_win_over_a_name_that_outlived_them(part: Any, text: str, says: str) -> None:
    found = named("my_part", part)
    assert (found.text, found.says) == (text, says)
    assert found.in_full == (f"{text} (its name says {says})" if says else text)


def test_in_the_shop_one_size_stands_with_the_maker() -> None:
    found = for_the_shop("w", _wheel("wheel, 8Jx18 ET45", maker="Loft"))
    assert found.in_full == "Loft wheel, 8Jx18 ET44 5x112 (its name says 8Jx18 ET45)"
    assert for_the_shop("w", _wheel("Loft Five")).text == "Loft Five, 8Jx18 ET44 5x112"
    other = SimpleNamespace(kind="spring", name="", maker="", offset=None)
    assert named("soft_spring", other).text == "soft_spring"  # type: ignore[arg-type]
