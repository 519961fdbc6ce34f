"""A corner as five constraints between the body and the upright.

Axes of a corner, the same on both sides of the car: x forward, y outboard from the car's middle
plane, z up; metres. A right-handed set on the left of the car, its mirror image on the right, so
that one description serves both. The body stands still and the wheel moves.

Points are arrays of shape (3,) or (3, N): N draws. Rotations are Gibbs vectors (axis times the
tangent of half the angle), which need no trigonometry and have no seam below a half turn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from drybuild.values import Array

Floats = npt.NDArray[np.float64]
# A point: (3,), or (3, N) for N draws.
Point = Array | Sequence[float]
LINKS = 5


@dataclass(frozen=True)
class Linkage:
    """Five constraints. Row i is a link of fixed length, or one half of a slider.

    A link keeps |c + R·s − a| = size; a slider's half keeps (R·s)·(a − c) = size, where s is a
    unit vector square to the slider. c is the wheel centre and R the turn of the upright.
    """

    anchor: Floats  # a, (3, 5, N): where it holds on the body
    arm: Floats  # s, (3, 5, N): in the upright, from the wheel centre
    size: Floats  # (5, N)
    is_link: tuple[bool, ...]  # (5,)
    centre: Floats  # (3, N): wheel centre as drawn
    steer_row: int | None = None  # the link whose inner end the rack moves
    steer_direction: tuple[float, float, float] = (0.0, 1.0, 0.0)

    @property
    def draws(self) -> int:
        """Number of draws: 1 when every point is exact."""
        columns = (self.anchor, self.arm, self.size, self.centre)
        return max(int(column.shape[-1]) for column in columns)


def as_points(points: Sequence[Point]) -> Floats:
    """Points stacked as (3, count, N); each is (3,) or (3, N)."""
    columns = [np.atleast_2d(np.asarray(point, dtype=float).T).T for point in points]
    draws = max(column.shape[1] for column in columns)
    return np.stack([np.broadcast_to(column, (3, draws)) for column in columns], axis=1)


def dot(first: Floats, second: Floats) -> Floats:
    """Scalar product over the leading axis of 3."""
    product: Floats = first[0] * second[0] + first[1] * second[1] + first[2] * second[2]
    return product


def cross(first: Floats, second: Floats) -> Floats:
    """Vector product over the leading axis of 3; shapes broadcast."""
    return np.stack(
        [
            first[1] * second[2] - first[2] * second[1],
            first[2] * second[0] - first[0] * second[2],
            first[0] * second[1] - first[1] * second[0],
        ]
    )


def unit(vector: Floats) -> Floats:
    """The vector at length 1."""
    scaled: Floats = vector / np.sqrt(dot(vector, vector))
    return scaled


def links(
    *,
    inner: Sequence[Point],
    outer: Sequence[Point],
    wheel_centre: Point,
    steer_link: int | None = None,
) -> Linkage:
    """A corner of five links of fixed length between ball joints (multi-link).

    inner, outer: five points each, on the body and on the upright, m, in the drawn position;
    wheel_centre m; steer_link: number (from 0) of the link whose inner end the rack moves.
    Errors: another number of links is refused; two links in one place, or five that leave the
    upright free, show as unsolved poses. Bushes are taken as ball joints, without give.
    Source: definition.
    """
    if len(inner) != LINKS or len(outer) != LINKS:
        raise ValueError("an upright is held by five links, and its wheel travel is the sixth")
    points = as_points([*inner, *outer, wheel_centre])
    centre = points[:, 10]
    anchor, arm = points[:, :5], points[:, 5:10] - centre[:, None]
    between = points[:, 5:10] - anchor
    return Linkage(
        anchor=anchor,
        arm=arm,
        size=np.sqrt(dot(between, between)),
        is_link=(True,) * LINKS,
        centre=centre,
        steer_row=steer_link,
    )


def double_wishbone(
    *,
    lower_front: Point,
    lower_rear: Point,
    lower_outer: Point,
    upper_front: Point,
    upper_rear: Point,
    upper_outer: Point,
    tie_inner: Point,
    tie_outer: Point,
    wheel_centre: Point,
) -> Linkage:
    """A corner of two wishbones and a tie rod (at the rear: a toe link).

    Each wishbone turns about the line through its two body joints and is, exactly, two links
    that share their outer joint. Points in m in the drawn position. Source: definition.
    """
    return links(
        inner=[lower_front, lower_rear, upper_front, upper_rear, tie_inner],
        outer=[lower_outer, lower_outer, upper_outer, upper_outer, tie_outer],
        wheel_centre=wheel_centre,
        steer_link=4,
    )


def strut_and_arm(
    *,
    lower_front: Point,
    lower_rear: Point,
    lower_outer: Point,
    strut_top: Point,
    strut_foot: Point,
    tie_inner: Point,
    tie_outer: Point,
    wheel_centre: Point,
) -> Linkage:
    """A corner of a lower wishbone, a strut that is part of the upright, and a tie rod.

    The strut slides along a line fixed in the upright, through strut_foot (any point of its axis
    on the upright) and, as drawn, through strut_top, the middle of the top mount on the body.
    Points in m. The top mount is taken as a ball joint. Source: definition.
    """
    points = as_points([strut_top, strut_foot, wheel_centre])
    along = unit(points[:, 0] - points[:, 1])
    square = _square_to(along)
    base = links(
        inner=[lower_front, lower_rear, strut_top, strut_top, tie_inner],
        outer=[lower_outer, lower_outer, strut_foot, strut_foot, tie_outer],
        wheel_centre=wheel_centre,
        steer_link=4,
    )
    return _with_slider(base, 2, square, points[:, 0] - points[:, 2])


def _square_to(along: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors square to a unit vector and to each other, (3, N) each."""
    # a strut stands nearly upright, so x is never along it
    helper = np.zeros_like(along)
    helper[0] = 1.0
    first = unit(helper - along * dot(helper, along))
    return first, cross(along, first)


def _with_slider(
    base: Linkage, row: int, square: tuple[Floats, Floats], through: Floats
) -> Linkage:
    """Rows `row` and `row + 1` become a slider whose line passes `through` (in the upright)."""
    draws = max(base.draws, square[0].shape[1], through.shape[1])
    arm = np.array(np.broadcast_to(base.arm, (3, LINKS, draws)))
    size = np.array(np.broadcast_to(base.size, (LINKS, draws)))
    is_link = list(base.is_link)
    for half, vector in enumerate(square):
        arm[:, row + half] = vector
        size[row + half] = dot(vector, through)
        is_link[row + half] = False
    return replace(base, arm=arm, size=size, is_link=tuple(is_link))
