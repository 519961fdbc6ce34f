"""Looking outlines up in the field of room: the loop that a search over catalogues lives on."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybuild.values.loops import Engine, compiled, shared

from .kernel import F32


def _march_loop(
    field: F32,
    corners: F32,
    sides: NDArray[np.int32],
    shape: NDArray[np.int32],
    shift: F32,
    first: int,
    last: int,
    inverse: np.float32,
    axial_low: np.float32,
    radius_low: np.float32,
    step: np.float32,
    probes: int,
    room: F32,
    where: F32,
) -> None:
    """Least value of a field along each candidate's outline.

    The field changes by no more than one metre a metre, so where it reads d, nothing below the
    least value b can lie within d − b: that much of the outline is skipped.
    """
    rows, columns = field.shape
    half = np.float32(0.5)
    zero = np.float32(0.0)
    right = np.float32(columns) - np.float32(1.001)
    top = np.float32(rows) - np.float32(1.001)
    for m in range(first, last):
        line = corners[shape[m]]
        count = sides[shape[m]]
        total = line[count, 2]
        best = np.float32(1e9)
        place = zero
        for go in range(2):
            # first some probes spread over the outline, so that the march can take long steps
            side = 0
            stride = total / np.float32(probes)
            s = stride * half if go == 0 else zero
            while s < total:
                while line[side + 1, 2] <= s:
                    side += 1
                part = s - line[side, 2]
                a = line[side, 0] + part * line[side, 3] + shift[m]
                r = line[side, 1] + part * line[side, 4]
                u = min(max((a - axial_low) * inverse - half, zero), right)
                v = min(max((r - radius_low) * inverse - half, zero), top)
                i = np.int32(u)
                j = np.int32(v)
                fu = u - np.float32(i)
                fv = v - np.float32(j)
                lower = field[j, i] + fu * (field[j, i + 1] - field[j, i])
                upper = field[j + 1, i] + fu * (field[j + 1, i + 1] - field[j + 1, i])
                d = lower + fv * (upper - lower)
                gain = d - best
                if gain < zero:
                    best = d
                    place = s
                if go == 0:
                    s += stride
                else:
                    s += max(gain, step)
        room[m] = best
        where[m] = place


def _march_numpy(
    lookup: Lookup,
    corners: F32,
    sides: NDArray[np.int32],
    shape: NDArray[np.int32],
    shift: F32,
    room: F32,
    where: F32,
) -> None:
    """The same by reading every step of each outline."""
    field, step, inverse = lookup.field, lookup.pitch, 1.0 / lookup.pitch
    axial_low, radius_low = lookup.axial_low, lookup.radius_low
    rows, columns = field.shape
    for one in np.unique(shape):
        chosen = np.flatnonzero(shape == one)
        line = corners[one, : sides[one] + 1]
        s = np.arange(0.0, line[-1, 2], step, dtype=np.float32)
        side = np.searchsorted(line[:, 2], s, side="right") - 1
        part = s - line[side, 2]
        a = line[side, 0] + part * line[side, 3]
        v = (line[side, 1] + part * line[side, 4] - radius_low) * inverse - 0.5
        v = np.clip(v, 0.0, rows - 1.001)
        j = v.astype(np.int32)
        for m in chosen:
            u = np.clip((a + shift[m] - axial_low) * inverse - 0.5, 0.0, columns - 1.001)
            i = u.astype(np.int32)
            fu, fv = u - i, v - j
            lower = field[j, i] + fu * (field[j, i + 1] - field[j, i])
            upper = field[j + 1, i] + fu * (field[j + 1, i + 1] - field[j + 1, i])
            d = lower + fv * (upper - lower)
            at = int(np.argmin(d))
            room[m], where[m] = d[at], s[at]


def _least_loop(
    field: F32,
    across: F32,
    upward: F32,
    level: NDArray[np.int32],
    corners: F32,
    sides: NDArray[np.int32],
    shape: NDArray[np.int32],
    shift: F32,
    first: int,
    last: int,
    inverse: np.float32,
    axial_low: np.float32,
    radius_low: np.float32,
    step: np.float32,
    room: F32,
) -> None:
    """Least value alone, faster: level and upright sides by range minimum, two reads a line.

    across[l, j, i] is the least of 2^l cells of row j from i on, upward[l, i, j] of column i.
    """
    rows, columns = field.shape
    half, zero = np.float32(0.5), np.float32(0.0)
    right, top = np.float32(columns) - np.float32(1.001), np.float32(rows) - np.float32(1.001)
    at = np.empty(corners.shape[1], np.float32)
    for m in range(first, last):
        line = corners[shape[m]]
        count = sides[shape[m]]
        moved = shift[m] - axial_low
        best = np.float32(1e9)
        for k in range(count):
            if line[k, 4] == zero:
                u0 = (line[k, 0] + moved) * inverse - half
                u1 = (line[k + 1, 0] + moved) * inverse - half
                i0 = np.int32(max(min(u0, u1), zero)) + 1
                i1 = np.int32(min(max(u0, u1), right))
                if i1 >= i0:
                    v = min(max((line[k, 1] - radius_low) * inverse - half, zero), top)
                    j = np.int32(v)
                    n = level[i1 - i0 + 1]
                    i2 = i1 + 1 - (1 << n)
                    lower = min(across[n, j, i0], across[n, j, i2])
                    upper = min(across[n, j + 1, i0], across[n, j + 1, i2])
                    best = min(best, lower + (v - np.float32(j)) * (upper - lower))
            elif line[k, 3] == zero:
                v0 = (line[k, 1] - radius_low) * inverse - half
                v1 = (line[k + 1, 1] - radius_low) * inverse - half
                i0 = np.int32(max(min(v0, v1), zero)) + 1
                i1 = np.int32(min(max(v0, v1), top))
                if i1 >= i0:
                    u = min(max((line[k, 0] + moved) * inverse - half, zero), right)
                    j = np.int32(u)
                    n = level[i1 - i0 + 1]
                    i2 = i1 + 1 - (1 << n)
                    lower = min(upward[n, j, i0], upward[n, j, i2])
                    upper = min(upward[n, j + 1, i0], upward[n, j + 1, i2])
                    best = min(best, lower + (u - np.float32(j)) * (upper - lower))
        # the corners do not wait for each other: read them all, then march only where it can matter
        for k in range(count):
            u = min(max((line[k, 0] + moved) * inverse - half, zero), right)
            v = min(max((line[k, 1] - radius_low) * inverse - half, zero), top)
            i, j = np.int32(u), np.int32(v)
            fu, fv = u - np.float32(i), v - np.float32(j)
            lower = field[j, i] + fu * (field[j, i + 1] - field[j, i])
            upper = field[j + 1, i] + fu * (field[j + 1, i + 1] - field[j + 1, i])
            at[k] = lower + fv * (upper - lower)
        at[count] = at[0]
        for k in range(count):
            best = min(best, at[k])
        for k in range(count):
            length = line[k + 1, 2] - line[k, 2]
            if line[k, 3] == zero or line[k, 4] == zero:
                continue
            if at[k] + at[k + 1] - length - best - best >= -step:
                continue
            s = max(at[k] - best, step)
            while s < length:
                u = min(max((line[k, 0] + s * line[k, 3] + moved) * inverse - half, zero), right)
                v = line[k, 1] + s * line[k, 4] - radius_low
                v = min(max(v * inverse - half, zero), top)
                i, j = np.int32(u), np.int32(v)
                fu, fv = u - np.float32(i), v - np.float32(j)
                lower = field[j, i] + fu * (field[j, i + 1] - field[j, i])
                upper = field[j + 1, i] + fu * (field[j + 1, i + 1] - field[j + 1, i])
                d = lower + fv * (upper - lower)
                gain = d - best
                best = min(best, d)
                s += max(gain, step)
        room[m] = best


def range_minima(field: F32) -> F32:
    """(L, rows, columns): least of 2^l neighbours along each row, from each cell on."""
    levels = [field]
    reach = 1
    while 2 * reach <= field.shape[1]:
        below = levels[-1]
        wider = below.copy()
        wider[:, :-reach] = np.minimum(below[:, :-reach], below[:, reach:])
        levels.append(wider)
        reach *= 2
    return np.ascontiguousarray(np.stack(levels))


@dataclass(frozen=True)
class Lookup:
    """A field with what makes looking along it fast."""

    field: F32
    pitch: float
    axial_low: float
    radius_low: float

    @functools.cached_property
    def _minima(self) -> tuple[F32, F32, NDArray[np.int32]]:
        most = max(self.field.shape) + 1
        level = np.array([0] + [n.bit_length() - 1 for n in range(1, most)], dtype=np.int32)
        turned = np.ascontiguousarray(self.field.T)
        return range_minima(self.field), range_minima(turned), level

    def _scale(self) -> tuple[np.float32, np.float32, np.float32, np.float32]:
        f = np.float32
        return f(1.0 / self.pitch), f(self.axial_low), f(self.radius_low), f(self.pitch)

    def least(
        self, corners: F32, sides: NDArray[np.int32], shape: NDArray[np.int32], shift: F32,
        *, engine: Engine, threads: int,
    ) -> F32:  # fmt: skip
        """Least field value along each candidate's outline.

        corners (S, K+1, 5): axial position, radius, way along, and direction of each side; sides
        (S,); shape (M,) which outline, shift (M,) its axial movement.
        """
        if engine == "numpy":
            return self.places(corners, sides, shape, shift, engine=engine, threads=threads)[0]
        across, upward, level = self._minima
        room = np.empty(len(shape), dtype=np.float32)
        loop = compiled(_least_loop)

        def share(first: int, last: int) -> None:
            loop(
                self.field, across, upward, level, corners, sides, shape, shift, first, last,
                *self._scale(), room,
            )  # fmt: skip

        shared(share, len(shape), min(threads, 1 + len(shape) // 256))
        return room

    def places(
        self, corners: F32, sides: NDArray[np.int32], shape: NDArray[np.int32], shift: F32,
        *, engine: Engine, threads: int,
    ) -> tuple[F32, F32]:  # fmt: skip
        """The same with where along the outline the least value is (m of outline); slower."""
        room = np.empty(len(shape), dtype=np.float32)
        where = np.empty(len(shape), dtype=np.float32)
        if engine == "numpy":
            _march_numpy(self, corners, sides, shape, shift, room, where)
            return room, where
        loop = compiled(_march_loop)

        def share(first: int, last: int) -> None:
            loop(
                self.field, corners, sides, shape, shift, first, last, *self._scale(), 32,
                room, where,
            )  # fmt: skip

        shared(share, len(shape), min(threads, 1 + len(shape) // 256))
        return room, where
