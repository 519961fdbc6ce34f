"""Columns of draws: quasi-random numbers that belong to a stable key.

Method: Latin supercube sampling (A. B. Owen, ACM Trans. Model. Comput. Simul. 8 (1998) 71-102).
Every key group has its own scrambled Sobol set over its slots, and its own random order:

- the Sobol integers come from Joe and Kuo's direction numbers (``_joe_kuo``);
- each slot is scrambled by Owen's nested uniform scrambling, done by hashing (B. Burley,
  J. Comput. Graph. Tech. 9(4) (2020); the mixing function is that of S. Laine and T. Karras,
  improved constants by N. Vegdahl);
- the rows of the group are then put in a random order of the group's own. All seeds are a stable
  hash (BLAKE2b) of seed and group, never Python's salted hash.

A column is therefore a function of (n, seed, group, slot) and of nothing else: adding an input
moves no other column. Slots of one group fill their few dimensions evenly together; columns of
different groups are independent, each evenly spread by itself. One big Sobol set, with a
dimension chosen by hashing the key, would not do: see docs/decisions/draws.md.
"""

from __future__ import annotations

from collections import OrderedDict
from functools import cache
from hashlib import blake2b
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from drybuild.values._joe_kuo import JOE_KUO
from drybuild.values.effects import hermite

Column = npt.NDArray[np.float64]
_U32 = npt.NDArray[np.uint32]

SLOTS = len(JOE_KUO)
_Stack = tuple[tuple[tuple[str, int], ...], int]
_CACHE_BYTES = 64 * 2**20


@cache
def direction_numbers(slot: int) -> tuple[int, ...]:
    """The 32 direction numbers of a Sobol dimension, as 32-bit integers (left-aligned)."""
    polynomial, start = JOE_KUO[slot]
    degree = polynomial.bit_length() - 1
    if slot == 0:
        return tuple(1 << (31 - k) for k in range(32))
    m = list(start)
    for k in range(degree, 32):
        new = m[k - degree] ^ (m[k - degree] << degree)
        for j in range(1, degree):
            if polynomial >> (degree - j) & 1:
                new ^= m[k - j] << j
        m.append(new)
    return tuple(m[k] << (31 - k) for k in range(32))


def _sobol(n: int, slot: int) -> _U32:
    """The first ``n`` Sobol integers of a dimension, in Gray-code order, not scrambled."""
    index = np.arange(n, dtype=np.uint32)
    gray = index ^ (index >> np.uint32(1))
    out = np.zeros(n, dtype=np.uint32)
    for bit, number in enumerate(direction_numbers(slot)):
        if n >> bit == 0:
            break
        on = (gray >> np.uint32(bit)) & np.uint32(1)
        out ^= on * np.uint32(number)
    return out


def sobol_integers(n: int, slot: int) -> _U32:
    """The first ``n`` Sobol integers (32 bits) of dimension ``slot``, not scrambled."""
    return _sobol(n, slot)


def _reverse_bits(x: _U32) -> _U32:
    x = ((x >> np.uint32(1)) & np.uint32(0x55555555)) | (
        (x & np.uint32(0x55555555)) << np.uint32(1))
    x = ((x >> np.uint32(2)) & np.uint32(0x33333333)) | (
        (x & np.uint32(0x33333333)) << np.uint32(2))
    x = ((x >> np.uint32(4)) & np.uint32(0x0F0F0F0F)) | (
        (x & np.uint32(0x0F0F0F0F)) << np.uint32(4))
    return x.byteswap()


def owen_scramble(reversed_bits: _U32, seed: int) -> _U32:
    """Nested uniform scrambling by hashing, of integers whose bits are already reversed.

    Each bit is flipped by a function of the more significant bits (the lower ones here) and the
    seed only, so that every dyadic interval keeps its share of points. Returns the scrambled
    integers in natural bit order.
    """
    x = reversed_bits.copy()
    s = np.uint32(seed & 0xFFFFFFFF)
    x ^= x * np.uint32(0x3D20ADEA)
    x += s
    x *= (s >> np.uint32(16)) | np.uint32(1)
    x ^= x * np.uint32(0x05526C56)
    x ^= x * np.uint32(0x53A22864)
    return _reverse_bits(x)


@cache
def _reversed_sobol(n: int, slot: int) -> _U32:
    out = _reverse_bits(_sobol(n, slot))
    out.flags.writeable = False
    return out


def _hash(seed: int, *words: str) -> int:
    text = "\x1f".join((str(seed), *words)).encode()
    return int.from_bytes(blake2b(text, digest_size=8).digest(), "little")


def _order(n: int, seed: int) -> npt.NDArray[np.int64]:
    """A random order of 0 .. n-1: sort by a 32-bit hash of the index (ties by the index).

    Written out, and not taken from a generator, so that it stays the same for ever.
    """
    x = np.arange(n, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15) + np.uint64(seed)
    # splitmix64's finaliser (G. Steele et al., OOPSLA 2014)
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    x ^= x >> np.uint64(31)
    keys = (x & np.uint64(0xFFFFFFFF00000000)) | np.arange(n, dtype=np.uint64)
    keys.sort()
    return (keys & np.uint64(0xFFFFFFFF)).astype(np.int64)


class Draws:
    """Columns of ``n`` draws with one seed. Objects of equal (n, seed) share their columns.

    ``n`` is a power of two, 16 or more. Columns are read-only.
    """

    _shared: ClassVar[OrderedDict[tuple[int, int], OrderedDict[object, Column]]] = OrderedDict()

    _bytes: ClassVar[dict[tuple[int, int], list[int]]] = {}
    _stacks: ClassVar[dict[tuple[int, int], dict[_Stack, npt.NDArray[np.float32]]]] = {}

    def __init__(self, n: int = 4096, seed: int = 2026) -> None:
        if n < 16 or n & (n - 1):
            raise ValueError(f"the number of draws must be a power of two, 16 or more; found {n}")
        self.n = n
        self.seed = seed
        self._memo = Draws._shared.setdefault((n, seed), OrderedDict())
        self._memo_bytes = Draws._bytes.setdefault((n, seed), [0])
        self._hermites = Draws._stacks.setdefault((n, seed), {})
        self._orders: dict[str, npt.NDArray[np.int64]] = {}

    def __repr__(self) -> str:
        return f"Draws(n={self.n}, seed={self.seed})"

    def unit(self, group: str, slot: int = 0) -> Column:
        """Uniform draws in (0, 1), shape (n,), of that group and slot (0 .. 31)."""
        key = ("unit", group, slot)
        kept = self._memo.get(key)
        return self.keep(key, self._make(group, slot)) if kept is None else kept

    def normal(self, group: str, slot: int = 0) -> Column:
        """Standard normal draws, shape (n,), of that group and slot."""
        key = ("normal", group, slot)
        kept = self._memo.get(key)
        if kept is None:
            from scipy.special import ndtri

            kept = self.keep(key, ndtri(self._make(group, slot)))
        return kept

    def hermites(self, keys: tuple[tuple[str, int], ...], n: int) -> npt.NDArray[np.float32]:
        """Normalised Hermite polynomials 1 to 3 of ``normal`` over the first ``n`` draws, for
        shares; shape (K, 3, n). The last ones are kept: examinations ask for the same again."""
        known = self._hermites.get((keys, n))
        if known is None:
            known = np.empty((len(keys), 3, n), dtype=np.float32)
            for index, (group, slot) in enumerate(keys):
                known[index] = hermite(self.normal(group, slot)[:n])
            self._hermites.clear()
            self._hermites[keys, n] = known
        return known

    def kept(self, key: object) -> Column | None:
        """A column kept under a key of the caller's own."""
        return self._memo.get(key)

    def keep(self, key: object, column: Column) -> Column:
        """Keep a column, read-only; drop the oldest when the cache is full."""
        column.flags.writeable = False
        self._memo[key] = column
        self._memo_bytes[0] += column.nbytes
        while self._memo_bytes[0] > _CACHE_BYTES and len(self._memo) > 1:
            self._memo_bytes[0] -= self._memo.popitem(last=False)[1].nbytes
        return column

    def _make(self, group: str, slot: int) -> Column:
        if not 0 <= slot < SLOTS:
            raise ValueError(f"slots run from 0 to {SLOTS - 1}; found {slot}")
        order = self._orders.get(group)
        if order is None:
            order = _order(self.n, _hash(self.seed, "order", group))
            if self.n <= 8192 and len(self._orders) < 512:
                self._orders[group] = order
        seed = _hash(self.seed, "scramble", group, str(slot))
        points = owen_scramble(_reversed_sobol(self.n, slot), seed)
        return np.asarray((points[order] + 0.5) * 2.0**-32, dtype=np.float64)

    def drop(self) -> None:
        """Drop the kept columns of this many draws and this seed."""
        self._orders.clear()
        self._memo.clear()
        self._memo_bytes[0] = 0
        self._hermites.clear()

    @classmethod
    def forget(cls, above: int = 0) -> None:
        """Drop every kept column of this process, or those of more draws than ``above``."""
        for n, seed in list(cls._shared):
            if n > above:
                cls(n, seed).drop()


