"""The drawing that goes with a measuring sheet, by its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from drybuild.examine.sheets import Sheet
from drybuild.show import measuring_car, measuring_corner
from drybuild.show.measuring_lines import Sketch

SKETCHES: Mapping[str, Callable[[Sketch], None]] = MappingProxyType(
    {
        "standing": measuring_corner.standing, "travel": measuring_corner.travel,
        "wheel": measuring_corner.wheel, "hub": measuring_corner.hub,
        "car": measuring_car.car, "springs": measuring_car.springs, "fuel": measuring_car.fuel,
        "air": measuring_car.air, "electrics": measuring_car.electrics,
        "road": measuring_car.road,
    }
)  # fmt: skip


def drawing_of(sheet: Sheet) -> str:
    """The drawing as SVG, with the letters that the sheet asks for."""
    sketch = Sketch({row.spot: row.letter for row in sheet.rows})
    SKETCHES[sheet.drawing](sketch)
    told = "; ".join(f"{row.letter}: {row.doc}" for row in sheet.rows)
    return sketch.svg(measuring_corner.WIDE, measuring_corner.TALL, f"{sheet.title}. {told}")
