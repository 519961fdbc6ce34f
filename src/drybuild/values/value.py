"""A value: a number with its doubt, how it is known, and the column of draws it becomes.

Shapes (docs/decisions/values.md gives the reasons):

exact       no doubt
normal      ``±`` is the 95 % half-width, k = 2 (GUM). Each half of the bell is cut at the kind's
            hard bound and rescaled by itself, so that the median stays at the stated figure
lognormal   a quantity that cannot be negative with a half-width above half its size: the median
            stays, and the upper end of the doubt (97.7 %) stays where it was written
uniform     ``55 to 65 mm``: hard edges
above       ``> 70 mm``: never below the limit; beyond it an exponential tail of scale a tenth of
            the limit, so that little is claimed beyond what was shown
below       ``< 5 mm``: anywhere from 0 to the limit (for a negative limit, the mirror of above)
readings    repeated readings: scaled and shifted t (JCGM 101:2008, 6.4.9)
same_as     a reference to another address; the build resolves it
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import numpy.typing as npt

from drybuild.values.kinds import KINDS

if TYPE_CHECKING:
    from drybuild.values.draws import Draws

Array = float | npt.NDArray[np.float64]
"""A float, or a numpy array of floats: what formulas take and give."""

Shape = Literal["exact", "normal", "lognormal", "uniform", "above", "below", "readings", "same_as"]

LOGNORMAL_FROM = 0.5
"""Relative half-width above which a quantity that cannot be negative becomes lognormal."""
_TAIL = 0.1
_FAR = 6.5  # in sigmas; no 32-bit draw lies further out


class HowKnown(IntEnum):
    """How a number is known, least trusted first."""

    ASSUMED = 1
    CATALOGUE = 2
    MAKER = 3
    MEASURED = 4
    SEEN = 5

    @property
    def words(self) -> str:
        """As it is said to people."""
        return {1: "assumed", 2: "catalogue", 3: "maker's data", 4: "measured",
                5: "seen by a second person"}[self.value]

    @classmethod
    def named(cls, text: str | HowKnown) -> HowKnown:
        """From text: assumed, catalogue, maker, measured, seen (or the longer words)."""
        if isinstance(text, HowKnown):
            return text
        for one in cls:
            if text in (one.name.lower(), one.words):
                return one
        raise ValueError(f"how known must be one of {', '.join(o.name.lower() for o in cls)}; "
                         f"found {text!r}")


@dataclass(frozen=True, slots=True)
class Value:
    """A number with its doubt. SI inside; widths are 95 % half-widths (k = 2)."""

    kind: str
    shape: Shape
    centre: float
    """The stated figure: the median, except for above, below and half-normals at a bound."""
    half_width: float = 0.0
    """Doubt about the figure, instrument bias included, ``spread`` not."""
    low: float = -math.inf
    """Hard lower edge: of the range, or of the kind."""
    high: float = math.inf
    dof: int | None = None
    """Degrees of freedom of repeated readings."""
    how: HowKnown = HowKnown.CATALOGUE
    by: str | None = None
    """The way of measuring."""
    tool: str | None = None
    """Which instrument, when there are several of a sort; readings with one share its bias."""
    bias: float = 0.0
    """The part of ``half_width`` that all readings with the instrument share."""
    spread: float = 0.0
    """95 % half-width between items of the part (four injectors differ)."""
    text: str = ""
    """As it was written."""
    unit: str = ""
    """The unit it was written in; the currency of money."""
    note: str | None = None
    same_as: str | None = None

    @property
    def exact(self) -> bool:
        """True when it has no doubt at all and its column is a float."""
        return self.shape == "exact" and self.spread == 0.0

    @property
    def median(self) -> float:
        """The value that it is as likely above as below."""
        return self.quantile(0.5)

    @property
    def interval(self) -> tuple[float, float]:
        """The central 95 %, without the spread between items."""
        return self.quantile(0.025), self.quantile(0.975)

    def quantile(self, p: float) -> float:
        """The value below which a share ``p`` lies, without the spread between items."""
        if self.shape == "same_as":
            raise ValueError(f"a reference to {self.same_as} is resolved by the build first")
        if self.shape == "exact":
            return self.centre
        return _quantile(self, p)

    def column(self, draws: Draws, group: str, slot: int = 0, item: str | None = None) -> Array:
        """The draws of this value, shape (n,); a float when it is exact.

        ``group`` and ``slot`` are the stable key of the common column. With ``spread``, ``item``
        names which of the part's items is meant; each item has one more column of its own. The
        bias of an instrument comes from a column that all its readings share.
        """
        if self.shape == "same_as":
            raise ValueError(f"a reference to {self.same_as} is resolved by the build first")
        if self.exact:
            return self.centre
        each = item if self.spread > 0.0 else None
        key = (self, group, slot, each)
        kept = draws.kept(key)
        return draws.keep(key, self._draw(draws, group, slot, each)) if kept is None else kept

    def columns_used(self, group: str, slot: int = 0, item: str | None = None) -> tuple[
            tuple[str, int], ...]:
        """The (group, slot) of every column of normal scores that ``column`` reads."""
        used: list[tuple[str, int]] = []
        if self.shape not in ("exact", "same_as") and self.own > 0.0:
            used.append((group, slot))
        if self.bias > 0.0:
            used.append((self.instrument, 0))
        if self.spread > 0.0:
            used.append((_item_group(group, item), slot))
        return tuple(used)

    @property
    def own(self) -> float:
        """The part of ``half_width`` that is not the instrument's shared bias."""
        return math.sqrt(max(self.half_width**2 - self.bias**2, 0.0))

    @property
    def instrument(self) -> str:
        """The group of the column that holds the instrument's bias."""
        return f"instrument:{self.tool or self.by}/{self.kind}"

    def replaced(self, **changes: object) -> Value:
        """A copy with other fields."""
        return replace(self, **changes)  # type: ignore[arg-type]

    def _draw(self, draws: Draws, group: str, slot: int, item: str | None) -> npt.NDArray[
            np.float64]:
        z_bias = draws.normal(self.instrument) if self.bias > 0.0 else 0.0
        z_item = draws.normal(_item_group(group, item), slot) if self.spread > 0.0 else 0.0
        if self.shape in ("exact", "normal", "lognormal"):
            total = math.hypot(self.half_width, self.spread)
            z_own = draws.normal(group, slot) if self.own > 0.0 else 0.0
            score = (self.own * z_own + self.bias * z_bias + self.spread * z_item) / total
            return np.array(_bell(self, score, total), dtype=np.float64)
        column = _from_unit(self, draws.unit(group, slot))
        if self.bias > 0.0 or self.spread > 0.0:
            column = column + 0.5 * (self.bias * z_bias + self.spread * z_item)
            bounds = KINDS[self.kind]
            column = np.clip(column, bounds.low, bounds.high) if bounds.low is not None else column
        return np.array(column, dtype=np.float64)


def _item_group(group: str, item: str | None) -> str:
    return f"{group}|item:{item if item is not None else ''}"


def _bell(value: Value, score: Array, total: float) -> Any:
    """Normal or lognormal figures from standard normal scores."""
    if value.shape == "lognormal":
        return value.centre * np.exp(score * (math.log1p(total / value.centre) / 2.0))
    sigma = total / 2.0
    below = (value.centre - value.low) / sigma
    above = (value.high - value.centre) / sigma
    if below >= _FAR and above >= _FAR:
        return value.centre + sigma * score
    from scipy.special import ndtr, ndtri

    share = ndtr(score)
    if below <= 0.0:  # at the bound: the half of the bell that exists
        return value.centre + sigma * ndtri(0.5 + share * (ndtr(above) - 0.5))
    if above <= 0.0:
        return value.centre - sigma * ndtri(0.5 + (1.0 - share) * (ndtr(below) - 0.5))
    up, down = 2.0 * ndtr(above) - 1.0, 2.0 * ndtr(below) - 1.0
    factor = np.where(share >= 0.5, up, down)
    return np.clip(value.centre + sigma * ndtri(0.5 + (share - 0.5) * factor),
                   value.low, value.high)


def _from_unit(value: Value, u: Array) -> Any:
    """Figures from uniform draws, for the shapes that are not a bell."""
    if value.shape == "uniform":
        return value.low + (value.high - value.low) * u
    if value.shape == "above":
        return value.low - _TAIL * abs(value.low) * np.log1p(-u)
    if value.shape == "below":
        if value.high > 0.0:
            return value.high * u
        return value.high + _TAIL * abs(value.high) * np.log(u)
    from scipy.special import stdtr, stdtrit

    if value.dof is None:
        raise ValueError("repeated readings need their degrees of freedom")
    scale = readings_scale(value)
    if scale == 0.0:
        return value.centre + 0.0 * u
    bounds = KINDS[value.kind]
    share: Array = u
    if bounds.low is not None:
        down = 2.0 * stdtr(value.dof, (value.centre - bounds.low) / scale) - 1.0
        high = math.inf if bounds.high is None else bounds.high
        up = 2.0 * stdtr(value.dof, (high - value.centre) / scale) - 1.0
        share = 0.5 + (u - 0.5) * np.where(np.asarray(u) >= 0.5, up, down)
    return value.centre + scale * stdtrit(float(value.dof), share)


def readings_scale(value: Value) -> float:
    """Scale of the t of repeated readings (s over root n), from the 95 % half-width of its own."""
    return value.own / t95(value.dof or 1)


@lru_cache(maxsize=256)
def t95(dof: int) -> float:
    """Two-sided 95 % point of Student's t."""
    from scipy.special import stdtrit

    return float(stdtrit(float(dof), 0.975))


@lru_cache(maxsize=8192)
def _quantile(value: Value, p: float) -> float:
    if value.shape in ("normal", "lognormal"):
        from scipy.special import ndtri

        return float(_bell(value, float(ndtri(p)), value.half_width))
    if value.shape == "readings" and value.bias > 0.0:
        # t and normal together: the half-widths add in squares
        inner = float(_from_unit(value, p)) - value.centre
        from scipy.special import ndtri

        return value.centre + math.copysign(
            math.hypot(inner, value.bias / 2.0 * float(ndtri(p))), p - 0.5)
    return float(_from_unit(value, p))
