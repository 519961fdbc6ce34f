"""A curve with doubt: points, one offset doubt and one scale doubt, never independent points.

A real pump differs from its printed curve by a factor, or a gauge by an amount, along the whole
curve; it does not zigzag between the points.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from drybuild.values.errors import CurveFault, ValueFault, brief
from drybuild.values.kinds import Kind, kind_named
from drybuild.values.methods import METHODS
from drybuild.values.parse import checked_method
from drybuild.values.text import plain_number, read, read_width
from drybuild.values.units import nearest, unit_of
from drybuild.values.value import Array, HowKnown

if TYPE_CHECKING:
    from drybuild.values.draws import Draws

Floats = npt.NDArray[np.float64]
CURVE_KEYS = ("x", "y", "x_unit", "y_unit", "points", "offset_doubt", "scale_doubt", "by", "tool",
              "how", "note")


@dataclass(frozen=True, slots=True)
class DrawnCurve:
    """A curve in its draws: ``x`` (K,), ``y`` (K, N), or (K,) when it is exact."""

    x: Floats
    y: Floats

    @property
    def span(self) -> tuple[float, float]:
        """The ends of x."""
        return float(self.x[0]), float(self.x[-1])

    def at(self, xq: Array) -> Array:
        """y at ``xq``, linear between points, nan outside the curve.

        ``xq``: a scalar; (N,), one per draw; (K2,), the same for all draws -> (K2, N); or
        (K2, N) or (K2, 1). A row whose length is N is taken as one per draw; write (K2, 1) where
        both are meant to be the same length.
        """
        return self._at(np.asarray(xq, dtype=np.float64), outside=True)

    def clip_at(self, xq: Array) -> Array:
        """As ``at``, but the ends are held outside the curve."""
        held = np.clip(np.asarray(xq, dtype=np.float64), self.x[0], self.x[-1])
        return self._at(held, outside=False)

    def _at(self, xq: Floats, *, outside: bool) -> Array:
        x, y = self.x, self.y
        drawn = y.ndim == 2
        if drawn and xq.ndim == 1 and xq.shape[0] != y.shape[1]:
            xq = xq[:, None]
        if x.size == 1:
            found = np.broadcast_to(y[0], np.broadcast_shapes(xq.shape, y.shape[1:])).copy()
            lo = hi = x[0]
        else:
            left = np.clip(np.searchsorted(x, xq, side="right") - 1, 0, x.size - 2)
            part = (xq - x[left]) / (x[left + 1] - x[left])
            if not drawn or xq.ndim == 0:
                low, high = y[left], y[left + 1]
            elif xq.shape[-1] == 1:
                low, high = y[left[..., 0]], y[left[..., 0] + 1]
            else:
                each = np.arange(y.shape[1])
                low, high = y[left, each], y[left + 1, each]
            found = low + part * (high - low)
            lo, hi = x[0], x[-1]
        if outside:
            found = np.where((xq >= lo) & (xq <= hi), found, np.nan)
        return float(found) if found.ndim == 0 else found


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve with doubt. SI inside; ``offset_half`` in the unit of y, ``scale_half`` a fraction,
    both 95 % half-widths."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    x_kind: str
    y_kind: str
    offset_half: float = 0.0
    scale_half: float = 0.0
    how: HowKnown = HowKnown.CATALOGUE
    by: str | None = None
    tool: str | None = None
    bias: float = 0.0
    """The part of ``offset_half`` that all readings with the instrument share."""
    note: str | None = None

    @property
    def exact(self) -> bool:
        """True when it has no doubt."""
        return self.offset_half == 0.0 and self.scale_half == 0.0

    @property
    def instrument(self) -> str:
        """The group of the column that holds the instrument's bias."""
        return f"instrument:{self.tool or self.by}/{self.y_kind}"

    def columns_used(self, group: str, slot: int = 0) -> tuple[tuple[str, int], ...]:
        """The (group, slot) of every column of normal scores that ``column`` reads."""
        used: list[tuple[str, int]] = []
        if self.scale_half > 0.0:
            used.append((f"{group}|scale", slot))
        if self.offset_half > self.bias:
            used.append((f"{group}|offset", slot))
        if self.bias > 0.0:
            used.append((self.instrument, 0))
        return tuple(used)

    def column(self, draws: Draws, group: str, slot: int = 0) -> DrawnCurve:
        """The curve in its draws. The scale acts about zero; a quantity that cannot be negative
        is held at zero."""
        x, y = np.array(self.x), np.array(self.y)
        if self.exact:
            return DrawnCurve(x, y)
        key = ("curve", self, group, slot)
        kept = draws.kept(key)
        if kept is None:
            shift = np.zeros(draws.n)
            factor = np.ones(draws.n)
            own = math.sqrt(max(self.offset_half**2 - self.bias**2, 0.0))
            if own > 0.0:
                shift = shift + own / 2.0 * draws.normal(f"{group}|offset", slot)
            if self.bias > 0.0:
                shift = shift + self.bias / 2.0 * draws.normal(self.instrument)
            if self.scale_half > 0.0:
                score = draws.normal(f"{group}|scale", slot)
                # lognormal: a factor is never negative, and its median is 1
                factor = np.exp(score * (math.log1p(self.scale_half) / 2.0))
            drawn = y[:, None] * factor + shift
            bounds = kind_named(self.y_kind)
            if bounds.low is not None:
                drawn = np.clip(drawn, bounds.low, bounds.high)
            kept = draws.keep(key, drawn)
        return DrawnCurve(x, kept)


def parse_curve(raw: object, x_kind: str, y_kind: str, *, how: str | HowKnown = "catalogue",
                default_doubt: str | None = None) -> Curve:
    """Read a curve from a table: ``{ x = ["0 mm", "20 mm"], y = ["-0.5 deg", "-0.9 deg"],
    offset_doubt = "0.1 deg", scale_doubt = "5 %" }``; bare numbers with ``x_unit``, ``y_unit``;
    or ``points = [["0 mm", "-0.5 deg"], ...]``.

    ``default_doubt``: the doubt of a curve that states none; a percentage is of scale, a width
    of offset. Raises CurveFault, ValueFault.
    """
    if not isinstance(raw, Mapping):
        raise CurveFault(f"{brief(raw)}", _wanted(x_kind, y_kind))
    for key in raw:
        if key not in CURVE_KEYS:
            near = nearest(str(key), CURVE_KEYS)
            raise CurveFault(f"the key {brief(key)} in a curve", ", ".join(CURVE_KEYS),
                             f"Nearest right key: {near}." if near else "")
    xs, ys = _axes(raw, kind_named(x_kind), kind_named(y_kind))
    order = sorted(range(len(xs)), key=xs.__getitem__)
    xs, ys = [xs[i] for i in order], [ys[i] for i in order]
    for first, second in pairwise(xs):
        if first == second:
            raise CurveFault("two points at one x", "one y for each x")
    kind = kind_named(y_kind)
    by, tool = _word(raw, "by"), _word(raw, "tool")
    known = HowKnown.named(how)
    bias = offset = scale = 0.0
    size = max(abs(y) for y in ys)
    if by is not None:
        by = checked_method(by, kind)
        known = METHODS[by].how
        if METHODS[by].doubts:
            parts = METHODS[by].doubts[y_kind]
            for text, shared in ((parts[0], True), (parts[1], False)):
                if text.endswith("%"):
                    scale = math.hypot(scale, float(text[:-1]) / 100.0)
                elif text != "0":
                    width = read_width(text, kind, 0.0)
                    bias, offset = (width, width) if shared else (bias, math.hypot(bias, width))
    stated = _word(raw, "how")
    if stated is not None:
        try:
            known = HowKnown.named(stated)
        except ValueError as error:
            raise CurveFault(f"how = {stated!r}", str(error)) from None
    has = "offset_doubt" in raw or "scale_doubt" in raw
    if has:
        offset = _doubt(raw.get("offset_doubt"), kind, "offset_doubt", size)
        scale = _scale(raw.get("scale_doubt"))
        bias = min(bias, offset)
    elif by is None or not METHODS[by].doubts:
        text = default_doubt or ("5 %" if kind.doubt == "0" else kind.doubt)
        more = {HowKnown.ASSUMED: 3.0}.get(known, 1.0)
        if text.endswith("%") and kind.family != "temperature":
            scale = more * float(text[:-1]) / 100.0
        else:
            offset = more * read_width(text, kind, size)
    return Curve(tuple(xs), tuple(ys), x_kind, y_kind, offset, scale, known, by, tool, bias,
                 _word(raw, "note"))


def _wanted(x_kind: str, y_kind: str) -> str:
    x, y = kind_named(x_kind), kind_named(y_kind)
    return (f"a curve: {{ x = [\"{x.example}\", ...], y = [\"{y.example}\", ...], "
            f"scale_doubt = \"5 %\" }}")


def _word(raw: Mapping[str, object], key: str) -> str | None:
    found = raw.get(key)
    if found is None:
        return None
    if not isinstance(found, str) or not found.strip():
        raise CurveFault(f"{key} = {brief(found)}", "a text")
    return found.strip()


def _axes(raw: Mapping[str, object], x_kind: Kind, y_kind: Kind) -> tuple[list[float],
                                                                        list[float]]:
    wanted = _wanted(x_kind.name, y_kind.name)
    if "points" in raw:
        points = raw["points"]
        if "x" in raw or "y" in raw:
            raise CurveFault("both points and x or y", "one of the two")
        if not _is_list(points) or not all(_is_list(p) and len(p) == 2 for p in points):  # type: ignore[attr-defined]
            raise CurveFault(f"points = {brief(points)}", "points = [[x, y], [x, y], ...]")
        x_raw: object = [p[0] for p in points]  # type: ignore[attr-defined]
        y_raw: object = [p[1] for p in points]  # type: ignore[attr-defined]
    else:
        x_raw, y_raw = raw.get("x"), raw.get("y")
    if not _is_list(x_raw) or not _is_list(y_raw):
        raise CurveFault("a curve without x or y", wanted, "x and y are lists of equal length.")
    xs = _axis(x_raw, x_kind, _word(raw, "x_unit"), "x")
    ys = _axis(y_raw, y_kind, _word(raw, "y_unit"), "y")
    if len(xs) != len(ys):
        raise CurveFault(f"{len(xs)} of x and {len(ys)} of y", "lists of equal length")
    if len(xs) < 2:
        raise CurveFault("a curve of fewer than two points", wanted)
    return xs, ys


def _is_list(raw: object) -> bool:
    return isinstance(raw, Sequence) and not isinstance(raw, str | bytes)


def _axis(raw: object, kind: Kind, unit: str | None, name: str) -> list[float]:
    out: list[float] = []
    for item in raw:  # type: ignore[attr-defined]
        if isinstance(item, bool) or not isinstance(item, int | float | str):
            raise CurveFault(f"{brief(item)} in {name}", f"{kind.what} such as {kind.example!r}")
        if isinstance(item, str):
            written = read(item, kind)
            if written.form != "plain" or written.half is not None:
                raise CurveFault(f"{brief(item)} in {name}", "a plain figure",
                                 "A curve has one offset_doubt and one scale_doubt for all its "
                                 "points.")
            value = written.centre
        else:
            if unit is None and not kind.dimensionless:
                raise CurveFault(f"the bare number {brief(item)} in {name}",
                                 f"{kind.what} such as {kind.example!r}",
                                 f"Or say {name}_unit once for all of them.")
            number = plain_number(item)
            value = math.inf if number is None else unit_of(unit or "", kind.name).to_si(number)
        if not math.isfinite(value):
            raise CurveFault(f"a number of {name} that is not finite", "a finite number")
        if (kind.low is not None and value < kind.low) or (
                kind.high is not None and value > kind.high):
            raise CurveFault(f"{brief(item)} in {name}", f"{kind.what} such as {kind.example!r}",
                             "It lies outside what this quantity can be.")
        out.append(value)
    return out


def _doubt(raw: object, kind: Kind, key: str, size: float) -> float:
    if raw is None:
        return 0.0
    if not isinstance(raw, str):
        number = plain_number(raw)
        if kind.dimensionless and number is not None and number >= 0.0:
            return number
        raise CurveFault(f"{key}: {type(raw).__name__}", f"a text such as '{kind.doubt}'")
    return read_width(raw, kind, size)


def _scale(raw: object) -> float:
    if raw is None:
        return 0.0
    try:
        half = read_width(raw, kind_named("number"), 1.0) if isinstance(raw, str) else (
            plain_number(raw))
    except ValueFault:
        half = None
    if half is None:
        raise CurveFault(f"scale_doubt: {brief(raw)}", "a percentage such as '5 %'")
    if not 0.0 <= half <= 1.0:
        raise CurveFault(f"scale_doubt: {brief(raw)}", "0 % to 100 %")
    return half
