"""What is kept of many samples: count, mean, variance, extremes, a histogram, and how many meet the limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Summary", "Tally"]

Array = NDArray[Any]
BINS = 4096


@dataclass(frozen=True)
class Tally:
    """A summary of samples, one entry a reading. Values are in the unit of the reading.

    ``count`` samples have a value and ``missing`` have none (a pose out of reach); mean, ``squares`` (sum of squared deviations
    from the mean), low and high are of those with a value. ``inside`` meet the limits of the reading, ``all_inside``
    those of every reading at once; a missing value meets none. ``histogram`` has one bin below and one above the ``start``
    ... ``start + bins * width``.
    """

    count: Array
    missing: Array
    mean: Array
    squares: Array
    low: Array
    high: Array
    inside: Array
    all_inside: int
    start: Array
    width: Array
    histogram: Array

    @property
    def samples(self) -> int:
        """How many samples, with or without a value."""
        return int(self.count[0] + self.missing[0])

    @property
    def variance(self) -> Array:
        """Variance [unit²]; nan without a value.

        By the count, not by one less: even points do not hang about their own mean as independent ones do.
        """
        return np.where(self.count > 0, self.squares / np.maximum(self.count, 1), np.nan)

    @property
    def deviation(self) -> Array:
        """Standard deviation [unit]."""
        return np.sqrt(self.variance)

    @property
    def share_inside(self) -> Array:
        """Share of all samples [-] within the limits of each reading."""
        return np.asarray(self.inside / self.samples)

    @property
    def share_all_inside(self) -> float:
        """Share of all samples [-] within the limits of every reading: the yield."""
        return self.all_inside / self.samples

    @property
    def mean_error(self) -> Array:
        """Standard error of the mean [unit] were the samples drawn by chance; so are the two that follow.

        Even samples are mostly much better, and for a power of two of them at worst 1.65 times as bad (Owen's bound, from
        memory). From run to run this hardly changes, unlike an error taken from the parts of a run: fit for choosing digits.
        """
        return self.deviation / np.sqrt(np.maximum(self.count, 1))

    @property
    def share_error(self) -> Array:
        """Standard error [-] of :attr:`share_inside`; none or all inside does not make it 0 (Laplace's rule of succession)."""
        return self._share_error(self.inside)

    @property
    def share_all_error(self) -> float:
        """Standard error [-] of :attr:`share_all_inside`."""
        return float(self._share_error(self.all_inside))

    def _share_error(self, inside: Any) -> Array:
        share = (np.asarray(inside) + 1) / (self.samples + 2)
        return np.asarray(np.sqrt(share * (1 - share) / self.samples))

    def quantile_error(self, p: Any) -> Array:
        """Standard error [unit] of :meth:`quantile`, and never less than a bin tells.

        How thin the samples lie there is taken from half as much to half again as much beyond the value: few samples more
        near by would let the error itself swing.
        """
        p = np.asarray(p, dtype=float)
        off = np.sqrt(p * (1 - p) / max(int(self.count.min()), 1))
        reach = np.maximum(off, np.minimum(p, 1 - p) / 2)
        apart = self.quantile(np.minimum(p + reach, 1.0)) - self.quantile(np.maximum(p - reach, 0.0))
        with np.errstate(invalid="ignore"):
            error = np.where(reach > 0, apart / 2 * off / reach, 0.0)
        return np.maximum(error, self.width.reshape(-1, *[1] * p.ndim) / math.sqrt(12))

    @property
    def resolution(self) -> Array:
        """Width of a bin [unit]: a quantile between start and end of the histogram is right to this, mostly far better."""
        return self.width

    def quantile(self, p: Any) -> Array:
        """Value [unit] below which the share ``p`` lies, of the samples that have a value; (readings,) + shape of p.

        Even within a bin. Beyond the ends of the histogram only the extreme is known, and the bin reaches to it: see
        :meth:`beyond`.
        """
        p = np.asarray(p, dtype=float)
        if not np.all((p >= 0) & (p <= 1)):
            raise ValueError(f"p is {p}: give shares from 0 to 1")
        out = np.full((len(self.count), *p.shape), np.nan)
        bins = self.histogram.shape[1] - 2
        for r in np.flatnonzero(self.count):
            edges = self.start[r] + self.width[r] * np.arange(bins + 1)
            left = np.concatenate([[min(self.low[r], edges[0])], edges])
            right = np.concatenate([edges, [max(self.high[r], edges[-1])]])
            total = np.cumsum(self.histogram[r])
            rank = p * self.count[r]
            k = np.minimum(np.searchsorted(total, rank), np.searchsorted(total, self.count[r]))
            k = np.maximum(k, np.flatnonzero(self.histogram[r])[0])
            inner = np.clip((rank - (total[k] - self.histogram[r, k])) / np.maximum(self.histogram[r, k], 1), 0, 1)
            out[r] = np.clip(left[k] + (right[k] - left[k]) * inner, self.low[r], self.high[r])
        return out

    def beyond(self) -> Array:
        """Shares [-] below and above the histogram, (readings, 2): quantiles out there are not to be printed."""
        return self.histogram[:, [0, -1]] / np.maximum(self.count, 1)[:, None]

    def interval(self, share: float, shortest: bool = False) -> Array:
        """Interval [unit] that holds the share, (readings, 2): as much left out on both sides, or the shortest."""
        if not 0 < share < 1:
            raise ValueError(f"share is {share!r}: give a number between 0 and 1, 0.95 for 95 in 100")
        if not shortest:
            return self.quantile([(1 - share) / 2, (1 + share) / 2])
        below = np.linspace(0, 1 - share, 2001)
        low, high = self.quantile(below), self.quantile(np.minimum(below + share, 1))
        out = np.full((len(self.count), 2), np.nan)
        for r in np.flatnonzero(self.count):
            # The length is flat at its least: the middle of all that are as short as the bins can tell is steadier than one.
            length = high[r] - low[r]
            near = np.flatnonzero(length <= length.min() + 0.1 * self.width[r])
            k = near[len(near) // 2]
            out[r] = low[r, k], high[r, k]
        return out


@dataclass(frozen=True, eq=False)
class Summary:
    """Which tally is kept: the histogram from ``start`` to ``end`` in ``bins``, and the ``limits``, one a reading [its unit].

    ``limits`` are (low, high) a reading; None or infinity for no limit.
    """

    start: Sequence[float] | Array
    end: Sequence[float] | Array
    limits: Sequence[tuple[float | None, float | None]] | None = None
    bins: int = BINS

    def __post_init__(self) -> None:
        start, end = np.atleast_1d(np.asarray(self.start, float)), np.atleast_1d(np.asarray(self.end, float))
        if start.shape != end.shape or start.ndim != 1:
            raise ValueError(f"the histogram has {start.size} starts and {end.size} ends: give one of each for every reading")
        for r, (a, b) in enumerate(zip(start, end, strict=True)):
            if not (np.isfinite(a) and np.isfinite(b) and a < b):
                raise ValueError(f"histogram of reading {r} goes from {a} to {b}: give two finite values, the lower first")
        if not 1 <= self.bins <= 2**20:
            raise ValueError(f"bins is {self.bins}: give 1 to {2**20}")
        pairs = [(None, None)] * len(start) if self.limits is None else list(self.limits)
        if len(pairs) != len(start):
            raise ValueError(f"limits are given for {len(pairs)} readings, the histogram for {len(start)}")
        low = np.array([-np.inf if a is None else a for a, _ in pairs], float)
        high = np.array([np.inf if b is None else b for _, b in pairs], float)
        for r, (a, b) in enumerate(zip(low, high, strict=True)):
            if not a <= b:
                raise ValueError(f"limits of reading {r} are {a} to {b}: the lower must come first")
        for name, value in (("start", start), ("end", end), ("_low", low), ("_high", high)):
            object.__setattr__(self, name, value)

    @classmethod
    def fitted(cls, values: Array, limits: Sequence[tuple[float | None, float | None]] | None = None, bins: int = BINS
               ) -> Summary:
        """A summary that fits some first ``values`` (readings, n) or (n,): their range, and half of it more on both sides."""
        values = np.atleast_2d(np.asarray(values, float))
        start, end = np.empty(len(values)), np.empty(len(values))
        for r, v in enumerate(values):
            v = v[np.isfinite(v)]
            a, b = (v.min(), v.max()) if v.size else (-1.0, 1.0)
            room = max((b - a) / 2, 1e-9 * max(abs(a), abs(b), 1.0))
            start[r], end[r] = a - room, b + room
        return cls(start, end, limits, bins)

    def of(self, values: Array) -> Tally:
        """The tally of values (readings, n)."""
        start, end = np.asarray(self.start), np.asarray(self.end)
        if values.shape[0] != len(start):
            raise ValueError(f"the model gave {values.shape[0]} readings, the summary is for {len(start)}")
        n = values.shape[1]
        has = np.isfinite(values)
        count = has.sum(axis=1)
        full = bool(count.min() == n)
        low: Array = self._low[:, None]  # type: ignore[attr-defined]
        high: Array = self._high[:, None]  # type: ignore[attr-defined]
        within = (values >= low) & (values <= high) & has
        v = values if full else np.where(has, values, 0.0)
        mean = v.sum(axis=1) / np.maximum(count, 1)
        off = v - mean[:, None]
        if not full:
            off[~has] = 0.0
        width = (end - start) / self.bins
        histogram = np.empty((len(start), self.bins + 2), dtype=np.int64)
        for r, x in enumerate(values):
            place = np.clip((x if full else x[has[r]]) / width[r] - start[r] / width[r], -1.0, float(self.bins))
            histogram[r] = np.bincount(np.floor(place).astype(np.int64) + 1, minlength=self.bins + 2)
        return Tally(count, n - count, mean, (off * off).sum(axis=1), np.where(has, values, np.inf).min(axis=1),
                     np.where(has, values, -np.inf).max(axis=1), within.sum(axis=1), int(within.all(axis=0).sum()), start, width,
                     histogram)

    def merge(self, first: Tally, second: Tally) -> Tally:
        """Both together, by the update of Chan, Golub and LeVeque: no difference of large sums is taken."""
        count = first.count + second.count
        some = np.maximum(count, 1)
        off = second.mean - first.mean
        return Tally(count, first.missing + second.missing, first.mean + off * (second.count / some),
                     first.squares + second.squares + off * off * (first.count * (second.count / some)),
                     np.minimum(first.low, second.low), np.maximum(first.high, second.high), first.inside + second.inside,
                     first.all_inside + second.all_inside, first.start, first.width, first.histogram + second.histogram)
