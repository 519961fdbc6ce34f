"""Where the upright stands: Newton's method over travel, steer and draws at once.

Unknown are the wheel centre's x and y and the turn of the upright; its height is given. Each step
solves five equations in five unknowns for thousands of poses together. Poses are marched outwards
from the drawn position: the next one is foreseen by the cubic through the last two and their
rates, so that one step, at times two, settles it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybuild.systems.ride.kinematics.elimination import eliminate, pivot_order
from drybuild.systems.ride.kinematics.linkage import LINKS, Floats, Linkage, cross
from drybuild.values import Array

# Poses worked on together: their arrays stay in the fast memory of one core.
CHUNK = 4096
# A correction below this (m, rad) leaves about its square.
SETTLED = 2e-7
TRIES = 10
# Marching from the drawn position: no stride longer than these, m.
TRAVEL_STRIDE = 0.03
STEER_STRIDE = 0.012
# Columns with a pose unsolved are marched once more in strides this much shorter.
FINER = 8
# A pose further than this from the one foreseen (half an angle, or m/2) is another way of
# putting the same links together: not reached by any motion.
JUMP = 0.15

# Height, state and rates of a pose that is solved.
Known = tuple[Floats, Floats, Floats]


@dataclass(frozen=True)
class Poses:
    """Solved positions of the upright: travel × steer × draws. Unsolved ones are NaN."""

    travel: Floats  # (K, 1 or S, 1 or N) m, height of the wheel centre above the drawn one
    steer: Floats  # (S,) m, movement of the rack outboard on this side
    centre: Floats  # (3, K, S, N) m
    gibbs: Floats  # (3, K, S, N)
    rate_centre: Floats  # (3, K, S, N) per wheel travel; near enough to foresee with
    rate_gibbs: Floats  # (3, K, S, N)

    @property
    def solved(self) -> Floats:
        """Share of poses solved, (K,)."""
        share: Floats = np.mean(np.isfinite(self.gibbs[0]), axis=(1, 2))
        return share


class _Chunk:
    """Room and constants for a number of poses worked on together."""

    def __init__(self, linkage: Linkage, steer: Floats) -> None:
        # one column of the linkage and one steer for each pose
        count = len(steer)
        self.count = count
        self.steer = steer
        self.linkage = linkage
        rows, columns = _order(linkage)
        self.rows, self.columns = rows, columns
        shape = (3, LINKS, count)
        self.arm = np.ascontiguousarray(linkage.arm[:, rows])
        self.anchor = np.array(linkage.anchor[:, rows])
        kappa = np.array([1.0 if linkage.is_link[row] else 0.0 for row in rows])
        self.kappa = None if kappa.all() else kappa[:, None]
        size = linkage.size[rows]
        squares = self.arm[0] ** 2 + self.arm[1] ** 2 + self.arm[2] ** 2
        self.constant = np.where(kappa[:, None] > 0.0, 0.5 * (squares - size**2), size)
        self.turned = np.empty(shape)
        self.away = np.empty(shape)
        self.work = np.empty((LINKS, count))
        self.work2 = np.empty((LINKS, count))
        self.turn = np.empty((3, 3, count))
        self.system = np.empty((LINKS, LINKS + 2, count))
        self.spare = np.empty((LINKS - 1, LINKS + 1, count))
        # where x, y and the three turns stand among the columns
        self.place = [columns.index(i) for i in range(LINKS)]

    def set_steer(self, share: float) -> None:
        """Puts the rack at a share of its movement."""
        row = self.linkage.steer_row
        if row is None:
            return
        here = self.rows.index(row)
        for axis, along in enumerate(self.linkage.steer_direction):
            self.anchor[axis, here] = self.linkage.anchor[axis, row] + share * along * self.steer

    def step(self, centre: Floats, gibbs: Floats) -> tuple[Floats, Floats]:
        """Newton's correction and the rates per wheel travel at a pose, each (5, P)."""
        turn, turned, away = self.turn, self.turned, self.away
        work, work2, system = self.work, self.work2, self.system
        _turn_into(turn, gibbs)
        for i in range(3):
            np.multiply(turn[i, 0], self.arm[0], out=turned[i])
            for j in (1, 2):
                np.multiply(turn[i, j], self.arm[j], out=work)
                turned[i] += work
            np.subtract(centre[i], self.anchor[i], out=away[i])
        place = self.place
        # moments r × (c − a): the columns of the three turns
        for i, (j, k) in enumerate(((1, 2), (2, 0), (0, 1))):
            np.multiply(turned[j], away[k], out=work)
            np.multiply(turned[k], away[j], out=work2)
            np.subtract(work, work2, out=system[:, place[2 + i]])
        # left over: r·w + κ·w²/2 + constant, and forces r + κ·w
        left = system[:, LINKS]
        np.multiply(turned[0], away[0], out=left)
        for i in (1, 2):
            np.multiply(turned[i], away[i], out=work)
            left += work
        left += self.constant
        np.multiply(away[0], away[0], out=work)
        for i in (1, 2):
            np.multiply(away[i], away[i], out=work2)
            work += work2
        work *= 0.5
        if self.kappa is not None:
            work *= self.kappa
            away *= self.kappa
        left += work
        np.negative(left, out=left)
        np.add(turned[0], away[0], out=system[:, place[0]])
        np.add(turned[1], away[1], out=system[:, place[1]])
        np.add(turned[2], away[2], out=work)
        np.negative(work, out=system[:, LINKS + 1])
        answer = eliminate(system=system, spare=self.spare)
        return answer[self.place, 0], answer[self.place, 1]


def _turn_into(turn: Floats, gibbs: Floats) -> None:
    """Rotation matrices (3, 3, P) of Gibbs vectors (3, P)."""
    x, y, z = gibbs
    xx, yy, zz = x * x, y * y, z * z
    double = 2.0 / (1.0 + xx + yy + zz)
    twice = double * x, double * y, double * z
    xy, xz, yz = twice[0] * y, twice[0] * z, twice[1] * z
    np.subtract(1.0, double * (yy + zz), out=turn[0, 0])
    np.subtract(1.0, double * (xx + zz), out=turn[1, 1])
    np.subtract(1.0, double * (xx + yy), out=turn[2, 2])
    np.subtract(xy, twice[2], out=turn[0, 1])
    np.add(xy, twice[2], out=turn[1, 0])
    np.add(xz, twice[1], out=turn[0, 2])
    np.subtract(xz, twice[1], out=turn[2, 0])
    np.subtract(yz, twice[0], out=turn[1, 2])
    np.add(yz, twice[0], out=turn[2, 1])


def turn_matrix(*, gibbs: Floats) -> Floats:
    """Rotation matrix, (3, 3, …), of a Gibbs vector (3, …). Source: Cayley's formula."""
    flat = np.asarray(gibbs, dtype=float).reshape(3, -1)
    turn = np.empty((3, 3, flat.shape[1]))
    _turn_into(turn, flat)
    return turn.reshape(3, 3, *np.shape(gibbs)[1:])


def _gibbs_rate(gibbs: Floats, spin: Floats) -> Floats:
    """Rate of a Gibbs vector for an angular rate in body axes, both (3, P)."""
    along = gibbs[0] * spin[0] + gibbs[1] * spin[1] + gibbs[2] * spin[2]
    rate: Floats = 0.5 * (spin + cross(spin, gibbs) + along * gibbs)
    return rate


def _order(linkage: Linkage) -> tuple[list[int], list[int]]:
    """Order of elimination, from the first draw's matrix in the drawn position."""
    arm, anchor, centre = linkage.arm[:, :, 0], linkage.anchor[:, :, 0], linkage.centre[:, 0]
    away = centre[:, None] - anchor
    kappa = np.array(linkage.is_link, dtype=float)
    matrix = np.concatenate([(arm + kappa * away)[:2], cross(arm, away) / 0.2]).T
    scale = np.max(np.abs(matrix), axis=1, keepdims=True)
    return pivot_order(typical=matrix / np.where(scale > 0.0, scale, 1.0))


class _March:
    """Poses of one chunk, moved from station to station."""

    def __init__(self, chunk: _Chunk, centre: Floats) -> None:
        self.chunk = chunk
        self.drawn = centre
        self.centre = np.array(centre)
        self.gibbs = np.zeros_like(centre)
        self.rate = np.zeros((6, chunk.count))

    def settle(self) -> None:
        """Newton's method at the present height, from the present guess."""
        guess = self.centre, self.gibbs
        centre, gibbs = np.array(self.centre), np.array(self.gibbs)
        move = np.zeros(1)
        for _ in range(TRIES):
            move, rate = self.chunk.step(centre, gibbs)
            centre[0] += move[0]
            centre[1] += move[1]
            self.rate[0], self.rate[1], self.rate[2] = rate[0], rate[1], 1.0
            self.rate[3:] = _gibbs_rate(gibbs, rate[2:])
            gibbs += _gibbs_rate(gibbs, move[2:])
            move = np.abs(move)
            # a NaN never settles, so it must not keep the loop alive
            if not np.any(move > SETTLED):
                break
        far = np.maximum(
            np.max(np.abs(gibbs - guess[1]), axis=0), np.max(np.abs(centre - guess[0]), axis=0)
        )
        bad = ~((np.max(move, axis=0) <= SETTLED) & (far <= JUMP))
        if np.any(bad):
            centre[:, bad] = np.nan
            gibbs[:, bad] = np.nan
            self.rate[:, bad] = np.nan
        self.centre, self.gibbs = centre, gibbs

    def state(self) -> Floats:
        """Centre and Gibbs vector, (6, P)."""
        return np.concatenate([self.centre, self.gibbs])

    def guess(self, state: Floats, height: Floats) -> None:
        """Takes a foreseen state; the height is given, not foreseen."""
        self.centre, self.gibbs = np.array(state[:3]), np.array(state[3:])
        self.centre[2] = height


def _strides(rise: Floats, steer: Floats, finer: int) -> int:
    """How many strides lead from the drawn position to the first station."""
    longest = max(
        float(np.max(np.abs(np.nan_to_num(rise)), initial=0.0)) / TRAVEL_STRIDE,
        float(np.max(np.abs(np.nan_to_num(steer)), initial=0.0)) / STEER_STRIDE,
    )
    return max(1, int(np.ceil(longest * finer)))


def _run(chunk: _Chunk, centre: Floats, travel: Floats, out: Floats, finer: int = 1) -> None:
    """Solves one chunk. travel: (K, P), rising or falling along K; out: (12, K, P)."""
    first = int(np.argmin(np.nanmax(np.abs(np.nan_to_num(travel)), axis=1)))
    start = _March(chunk, centre)
    strides = _strides(travel[first], chunk.steer, finer)
    before = start.state()
    for number in range(strides + 1):
        share = number / strides
        chunk.set_steer(share)
        now = start.state()
        ahead = now if number < 2 else 2.0 * now - before
        before = now
        start.guess(ahead, centre[2] + share * travel[first])
        start.settle()
    _keep(out, first, start)
    for way in (range(first + 1, len(travel)), range(first - 1, -1, -1)):
        march = _March(chunk, centre)
        march.centre, march.gibbs, march.rate = start.centre, start.gibbs, np.array(start.rate)
        here: Floats = travel[first]
        last: Known | None = None
        for station in way:
            begin, rise = here, travel[station] - here
            longest = float(np.max(np.abs(np.nan_to_num(rise))))
            strides = max(1, int(np.ceil(longest * finer / TRAVEL_STRIDE)))
            for number in range(1, strides + 1):
                goal = begin + rise * (number / strides)
                last = _foresee(march, last, here, goal, centre)
                march.settle()
                here = goal
            here = travel[station]
            _keep(out, station, march)


def _foresee(
    march: _March, last: Known | None, here: Floats, goal: Floats, centre: Floats
) -> Known:
    """Puts the march's guess at the next height; returns what is known of the present pose."""
    state, rate = march.state(), np.array(march.rate)
    step = goal - here
    if last is None:
        ahead = state + step * rate
    else:
        back_height, back, back_rate = last
        run = here - back_height
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where(run != 0.0, 1.0 + step / run, 1.0)
        past, square = t - 1.0, t * t
        ahead = back + (square * (3.0 - 2.0 * t)) * (state - back)
        ahead += run * (t * past) * (past * back_rate + t * rate)
    march.guess(ahead, centre[2] + goal)
    return here, state, rate


def _keep(out: Floats, station: int, march: _March) -> None:
    out[0:3, station] = march.centre
    out[3:6, station] = march.gibbs
    out[6:12, station] = march.rate


def solve_poses(*, linkage: Linkage, travel: Array, steer: Array = 0.0) -> Poses:
    """Positions of the upright over wheel travel × steer × draws.

    travel: heights of the wheel centre above the drawn position, m, + into bump: a number, (K,),
    or (K, N) with a height for each draw; along K it rises or falls. steer: movement of the rack
    outboard on this side, m, a number or (S,). Result arrays are (…, K, S, N), N = 1 for exact
    hardpoints. A pose that cannot be reached (links locked, other side of a dead point) is NaN,
    and so are those beyond it. Left over in a link's length: below 1e-12 m.
    Validity: rigid links, ball joints without give, turns of the upright well below a half turn.
    Source: Newton's method on the constraints; rows are the Plücker coordinates of the links.
    """
    heights = np.asarray(travel, dtype=float)
    heights = heights.reshape(len(heights) if heights.ndim else 1, -1)
    rack = np.atleast_1d(np.asarray(steer, dtype=float))
    stations, turns = len(heights), len(rack)
    draws = max(linkage.draws, heights.shape[1])
    out = np.empty((12, stations, turns, draws))
    per_chunk = max(1, CHUNK // turns) if draws > 1 else 1
    with np.errstate(all="ignore"):
        for begin in range(0, draws, per_chunk):
            end = min(draws, begin + per_chunk)
            _solve_slice(linkage, heights, rack, out, slice(begin, end))
    return Poses(
        travel=heights[:, None, :],
        steer=rack,
        centre=out[0:3],
        gibbs=out[3:6],
        rate_centre=out[6:9],
        rate_gibbs=out[9:12],
    )


def _solve_slice(
    linkage: Linkage, heights: Floats, rack: Floats, out: Floats, draws: slice
) -> None:
    """Solves some of the draws at all steers: columns run steer by steer."""
    turns = len(rack)
    many = draws.stop - draws.start

    def spread(points: Floats) -> Floats:
        part = points[..., draws] if points.shape[-1] > 1 else points
        return np.tile(np.broadcast_to(part, (*points.shape[:-1], many)), turns)

    part = Linkage(
        anchor=spread(linkage.anchor),
        arm=spread(linkage.arm),
        size=spread(linkage.size),
        is_link=linkage.is_link,
        centre=spread(linkage.centre),
        steer_row=linkage.steer_row,
        steer_direction=linkage.steer_direction,
    )
    chunk = _Chunk(part, np.repeat(rack, many))
    travel = spread(heights)
    found = np.empty((12, len(heights), turns * many))
    _run(chunk, part.centre, travel, found)
    lost = np.flatnonzero(np.isnan(found[3]).any(axis=0))
    if len(lost):
        again = replace(
            part,
            anchor=part.anchor[..., lost],
            arm=part.arm[..., lost],
            size=part.size[..., lost],
            centre=part.centre[..., lost],
        )
        finely = np.empty((12, len(heights), len(lost)))
        chunk = _Chunk(again, chunk.steer[lost])
        _run(chunk, again.centre, travel[:, lost], finely, FINER)
        found[:, :, lost] = finely
    out[:, :, :, draws] = found.reshape(12, len(heights), turns, many)
