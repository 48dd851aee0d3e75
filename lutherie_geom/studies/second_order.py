"""Second order: what the bend of a reading does to its mean and spread.

The reading is written in numbers z that err independently with standard deviation 1, about the mean of all that varies:
y = y0 + g z + z H z / 2 + (third derivatives) / 6. Its mean and variance follow from the moments of z: of the spreads themselves
where a number errs by itself, of the normal distribution for numbers in a group.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import PER_STRING, Array
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.studies.gradients import Exact
from lutherie_geom.studies.spreads import Spreads

__all__ = ["Around", "AsBuilt", "second_order"]


@dataclass(frozen=True)
class AsBuilt:
    """The joint at one pose of its screws, built at deviations (variables, *samples), and how every varying number moves it."""

    pose: Pose
    moving: Callable[[], tuple[dict[str, Array], ...]]
    shape: tuple[int, ...]

    @cached_property
    def moves(self) -> tuple[dict[str, Array], ...]:
        """What every varying number moves, by field and turn [unit per unit]: needed for slopes only, and slow."""
        return self.moving()

    @classmethod
    def of(cls, p: Pose, spreads: Spreads, deviations: Array) -> AsBuilt:
        """Built at the deviations [unit of each number], the screws turned as at the pose."""
        deviations = np.asarray(deviations, dtype=float)
        dims, off = spreads.built(p.of, deviations)
        with np.errstate(invalid="ignore"):  # what cannot be read is nan
            made = pose(dims, **{t: getattr(p, t) + by for t, by in off.items()})
        return cls(made, lambda: tuple(fields | turns for fields, turns in spreads.pushed(p.of, deviations)),
                   deviations.shape[1:])

    def value(self, e: Exact) -> np.ndarray:
        """The exact reading, (*samples)."""
        with np.errstate(invalid="ignore"):
            return np.broadcast_to(e.value(self.pose), self.shape)

    def gradient(self, e: Exact) -> np.ndarray:
        """Exact slopes of a reading by every varying number, (variables, *samples) [unit of reading per unit of number]."""
        with np.errstate(invalid="ignore"):
            return self.along(e.slopes(self.pose))

    def along(self, slopes: dict[str, Any]) -> np.ndarray:
        """Slopes by dimensions and turns at the pose handed on to every varying number, (variables, *samples)."""
        return np.stack([self._along(slopes, moves) for moves in self.moves])

    def _along(self, slopes: dict[str, Any], moves: dict[str, Array]) -> np.ndarray:
        total: Any = np.zeros(self.shape)
        for name, move in moves.items():
            if name in slopes and np.any(move):
                slope, by, batch = np.asarray(slopes[name], float), np.asarray(move, float), len(self.shape)
                if name in PER_STRING:
                    slope, by = (v.reshape(v.shape + (1,) * (batch + 1 - v.ndim)) if v.ndim else v for v in (slope, by))
                    total = total + np.sum(slope * by, axis=0)
                else:
                    total = total + slope * by
        return np.asarray(total)


@dataclass(frozen=True)
class Around:
    """The joint at the mean of all that varies, and one independent number at a time off by 1 and by 1/2 standard deviation.

    root: columns are what 1 standard deviation of each independent number moves [unit of each varying number]; skew and
    flatness: third and fourth moment of each independent number [1].
    """

    root: np.ndarray
    skew: np.ndarray
    flatness: np.ndarray
    mean: AsBuilt
    steps: AsBuilt

    @classmethod
    def of(cls, p: Pose, spreads: Spreads) -> Around:
        """About the pose of one joint."""
        variables, r = spreads.variables(p.of), spreads.correlation(p.of)
        w, q = np.linalg.eigh(r)  # unlike Cholesky, fit for a correlation of 1
        sds = np.array([v.spread.standard_deviation for v in variables])
        root = sds[:, None] * ((q * np.sqrt(np.maximum(w, 0.0))) @ q.T)
        alone = [np.count_nonzero(row) == 1 and v.spread.standard_deviation > 0 for row, v in zip(r, variables, strict=True)]
        moments = [v.spread.skew_and_flat if by_itself else (0.0, 3.0) for v, by_itself in zip(variables, alone, strict=True)]
        size = np.where(alone, sds, 1.0)
        third, fourth = np.array(moments).reshape(-1, 2).T
        mean = np.array([v.spread.mean for v in variables])
        off = np.concatenate([root, -root, root / 2, -root / 2], axis=1)
        return cls(root, third / size**3, fourth / size**4, AsBuilt.of(p, spreads, mean),
                   AsBuilt.of(p, spreads, mean[:, None] + off))

    def moments(self, e: Exact) -> tuple[float, float, float, float]:
        """Mean and standard deviation of a reading [its unit] by derivatives that are changes of its exact slopes over ± 1
        standard deviation, and the same two over ± 1/2: they differ where the reading breaks."""
        n = len(self.root)
        g0 = self.root.T @ self.mean.gradient(e)
        g = np.einsum("im,iks->mks", self.root, self.steps.gradient(e).reshape(n, 4, n))
        y0, found = float(self.mean.value(e)), []
        for k, size in ((0, 1.0), (2, 0.5)):
            up, down = g[:, k], g[:, k + 1]
            h = (up - down) / (2 * size)
            shift, sd = second_order(g0, (h + h.T) / 2, (up + down - 2 * g0[:, None]) / size**2, self.skew, self.flatness)
            found += [y0 + shift, sd]
        return found[0], found[1], found[2], found[3]


def second_order(g: Array, h: Array, t: Array, skew: Array = 0.0, flatness: Array = 3.0) -> tuple[float, float]:
    """What the second order adds to the mean, and the standard deviation with it [unit of the reading], for independent numbers
    of standard deviation 1 [1]: slopes ``g``, second derivatives ``h``, third derivatives ``t[i, k]`` by i, k, k; ``skew``
    and ``flatness`` are their third and fourth moments (normal: 0 and 3).

    Exact for a quadratic reading; for a normal one with all terms of the fourth order in the standard deviations.
    """
    g, h, t = (np.asarray(v, dtype=float) for v in (g, h, t))
    skew, flatness = np.broadcast_to(skew, g.shape), np.broadcast_to(flatness, g.shape)
    own, cubic = np.diag(h), np.diag(t)
    variance = (g @ g + (h**2).sum() / 2 + (g * own * skew).sum() + (own**2 * (flatness - 3)).sum() / 4
                + g @ t.sum(axis=1) + (g * cubic * (flatness / 3 - 1)).sum())
    return float(own.sum() / 2 + (cubic * skew).sum() / 6), math.sqrt(max(float(variance), 0.0))
