"""A compressor's map from a table of points, as somebody reads them off the maker's sheet."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, Final

from drybuild.build import Build
from drybuild.systems.breathing.compressor_map import SpeedLine, make_grid
from drybuild.values import ValueFault, parse_value, typed_number, unit_of

COLUMNS: Final = ("speed", "flow", "pressure ratio", "efficiency")
HEADED: Final = {"speed": "speed|rpm", "flow": "flow", "pressure ratio": r"ratio|\bpr\b",
                 "efficiency": "eff"}  # fmt: skip
"""Column → how its heading is known."""

UNITS: Final = {"speed": ("rotation_speed", "rpm"), "flow": ("flow_mass", "g/s")}
"""Column → kind of its figures, and the unit where none is named."""

GUESSED_EFFICIENCY: Final = 0.70
"""Where the table has no column of efficiency; the part then says so by a wide scale."""

REFERENCE: Final = {"temperature": "298.15 K", "pressure": "100 kPa absolute"}
"""What a map is taken to be corrected to (common practice, *from memory*); sheets differ by a few
percent of flow."""

LEAST_LINES, LEAST_POINTS = 3, 2


class MapRefused(ValueError):
    """A table of points that is no map; the text says what was found and what is wanted."""


def read_points(text: str) -> tuple[dict[str, Any], bool]:
    """The table ``map`` of a turbocharger, and whether the efficiency was read.

    text: a row a point, its figures apart by semicolons, commas or tabs, in the order of COLUMNS;
    a first row may name columns and units (``flow lb/min``). Points of one speed are one line, from
    its surge end on. Raises MapRefused.
    """
    rows = [(n, _cells(line)) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not rows:
        raise MapRefused("no points: a row a point, such as 120000; 95; 1.9; 0.72")
    columns, units = list(COLUMNS), {name: unit for name, (_, unit) in UNITS.items()}
    if not re.match(r"[-+.\d]", rows[0][1][0]):
        columns, units = _header(rows[0][1])
        rows = rows[1:]
    lines: dict[float, list[tuple[float, float, float]]] = {}
    efficient = "efficiency" in columns and all(len(cells) == len(columns) for _, cells in rows)
    for number, cells in rows:
        speed, *point = _point(number, dict(zip(columns, cells, strict=False)), units)
        lines.setdefault(speed, []).append((point[0], point[1], point[2]))
    _refuse_few(lines)
    made = [_line(speed, sorted(points)) for speed, points in sorted(lines.items())]
    _refuse_unlike(made)
    exact = {f"reference_{k}": {"is": v, "exact": True} for k, v in REFERENCE.items()}
    return {**exact, "lines": [_written(one) for one in made]}, efficient


def largest_flow(map: Mapping[str, Any]) -> float:
    """The largest flow on a map as its file has it, kg/s."""
    return max(
        parse_value(flow, "flow_mass").centre for line in map["lines"] for flow in line["flow"]
    )


def with_largest_flow(map: Mapping[str, Any], largest: float) -> dict[str, Any]:
    """A map as its file has it, all flows in proportion, that ends at a largest flow (kg/s)."""
    scale, grams = largest / largest_flow(map), unit_of("g/s", "flow_mass")
    lines = [
        {**line, "flow": [
            f"{grams.from_si(parse_value(one, 'flow_mass').centre * scale):.4g} g/s"
            for one in line["flow"]
        ]}
        for line in map["lines"]
    ]  # fmt: skip
    return {**map, "lines": lines}


def flow_as_scaled(build: Build, part: str) -> tuple[float, float, float] | None:
    """Middle, low and high end of the largest flow of a turbocharger's map at its own size, kg/s;
    None where it has no map."""
    scale = getattr(build.parts[part], "flow_scale", None)
    text = build.files.get(build.part_files[part], "")
    table = tomllib.loads(text).get("part", {}).get(part, {})
    if "map" not in table or (scale is not None and scale.same_as):
        return None
    flow, (low, high) = largest_flow(table["map"]), scale.interval if scale else (1.0, 1.0)
    return flow * (scale.centre if scale else 1.0), flow * low, flow * high


def _cells(line: str) -> list[str]:
    sign = next((one for one in (";", "\t") if one in line), ",")
    return [cell.strip().strip('"') for cell in line.strip().rstrip(sign).split(sign)]


def _header(cells: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    columns, units = [], {name: unit for name, (_, unit) in UNITS.items()}
    for cell in cells:
        word = cell.lower()
        name = next((c for c in COLUMNS if re.search(HEADED[c], word)), cell)
        columns.append(name)
        unit = re.sub(r"(?i)corrected|shaft|speed|mass|flow|[\[\](),]", " ", cell).strip()
        if name in UNITS and unit:
            try:
                unit_of(unit, UNITS[name][0])
            except ValueFault as error:
                raise MapRefused(f"the heading {cell!r}: {error}") from None
            units[name] = unit
    missing = [name for name in COLUMNS[:3] if name not in columns]
    if missing:
        raise MapRefused(f"no column of {', '.join(missing)}: expected {', '.join(COLUMNS)}")
    return columns, units


def _point(
    number: int, cells: Mapping[str, str], units: Mapping[str, str]
) -> tuple[float, float, float, float]:
    """Speed and flow in SI, pressure ratio, efficiency."""
    found: dict[str, float] = {"efficiency": GUESSED_EFFICIENCY}
    for name in COLUMNS:
        text = cells.get(name, "")
        if not text and name == "efficiency":
            continue
        try:
            found[name] = typed_number(text)
        except ValueFault as error:
            raise MapRefused(f"row {number}, {name}: {error}") from None
    if found["efficiency"] > 1.5:
        found["efficiency"] /= 100.0  # in percent, as it is printed
    if found["pressure ratio"] < 1.0:
        raise MapRefused(f"row {number}: a pressure ratio below 1; it is total to total")
    speed, flow = (unit_of(units[n], UNITS[n][0]).to_si(found[n]) for n in ("speed", "flow"))
    return speed, flow, found["pressure ratio"], found["efficiency"]


def _refuse_few(lines: Mapping[float, Sequence[Any]]) -> None:
    if len(lines) < LEAST_LINES:
        raise MapRefused(f"{len(lines)} speed lines: at least {LEAST_LINES} are wanted")
    if any(len(points) < LEAST_POINTS for points in lines.values()):
        raise MapRefused("a speed line of one point: its surge end and its choke end are wanted")


def _line(speed: float, points: Sequence[tuple[float, float, float]]) -> SpeedLine:
    flow, ratio, efficiency = zip(*points, strict=True)
    return SpeedLine(speed, flow, ratio, efficiency)


def _refuse_unlike(lines: Sequence[SpeedLine]) -> None:
    try:
        make_grid(
            lines=lines, temperature=parse_value(REFERENCE["temperature"], "temperature").centre,
            pressure=parse_value(REFERENCE["pressure"], "pressure_absolute").centre,
        )  # fmt: skip
    except ValueError as error:
        raise MapRefused(str(error)) from None


def _written(line: SpeedLine) -> dict[str, Any]:
    rpm, grams = unit_of("rpm", "rotation_speed"), unit_of("g/s", "flow_mass")
    return {
        "speed": {"is": f"{rpm.from_si(line.speed):.8g} rpm", "exact": True},
        "flow": [f"{grams.from_si(one):.6g} g/s" for one in line.flow],
        "pressure_ratio": list(line.pressure_ratio),
        "efficiency": list(line.efficiency),
    }
