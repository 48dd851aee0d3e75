"""At worst: the lowest and the highest reading of any joint with every number within its limits.

A reading that runs straight is lowest with every number at the limit that lowers it. A least reading (gap, floor clearance,
reveal) is not: which numbers hurt depends on the spot where it is least. It is lowest at the spot that can be brought lowest;
it is highest where no spot is left low, which is a linear program. Both are climbed to by the exact slopes and told as the
exact reading of the joint they lead to: some joint within the limits does read so.
"""

from __future__ import annotations

import numpy as np

from lutherie_geom.joint.pose import Pose
from lutherie_geom.studies.gradients import Exact
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.spreads import Spreads

__all__ = ["extremes"]

ROUNDS = 6  # of climbing: two or three are enough where the reading hardly bends between the limits


def extremes(p: Pose, spreads: Spreads, e: Exact) -> tuple[float, float]:
    """Lowest and highest exact reading [its unit] of the joint at its pose, every number within its limits; nan for an end on
    the way to which a joint is out of reach. Numbers that err together are each taken at their own limits."""
    limits = np.array([v.spread.limits for v in spreads.variables(p.of)]).reshape(-1, 2)
    joint = AsBuilt.of(p, spreads, np.zeros((len(limits), e.spots)))
    value, g = _at_spots(joint, e)
    low = -_flipped(p, spreads, e, limits, np.where(g < 0, limits[:, 1:], limits[:, :1]), -1.0)
    if e.at_spots is not None:
        return low, _uphill(p, spreads, e, limits, value, g)
    return low, _flipped(p, spreads, e, limits, np.where(g > 0, limits[:, 1:], limits[:, :1]), 1.0)


def _flipped(p: Pose, spreads: Spreads, e: Exact, limits: np.ndarray, x: np.ndarray, way: float) -> float:
    """``way`` times the reading: the best of the corners x (variables, n), then one number after the other at its other limit as
    long as that is better still, for the slopes at the corner are not quite those that led there."""
    best = -np.inf
    for _ in range(ROUNDS * len(limits)):
        found = way * AsBuilt.of(p, spreads, x).value(e)
        k = int(found.argmax())  # nan, if there is one
        if not found[k] > best + 1e-9:
            return float(found[k]) if np.isnan(found[k]) else best
        best, corner = float(found[k]), x[:, k]
        x = np.repeat(corner[:, None], len(limits), axis=1)
        np.fill_diagonal(x, limits.sum(axis=1) - corner)
    return best


def _uphill(p: Pose, spreads: Spreads, e: Exact, limits: np.ndarray, value: np.ndarray, g: np.ndarray) -> float:
    """The highest least reading, from what the joint as drawn reads at its spots and the slopes there."""
    x, best = np.zeros(len(limits)), -np.inf
    for _ in range(ROUNDS):
        x = _highest(x, value, g, limits)
        joint = AsBuilt.of(p, spreads, np.repeat(x[:, None], e.spots, axis=1))
        found = float(joint.value(e)[0])
        if not found > best + 1e-6:
            return found if np.isnan(found) else best
        best, (value, g) = found, _at_spots(joint, e)
    return best


def _at_spots(joint: AsBuilt, e: Exact) -> tuple[np.ndarray, np.ndarray]:
    """Every joint read at its own spot, (columns,) [unit], and its slopes there, (variables, columns)."""
    if e.at_spots is None:
        return joint.value(e), joint.gradient(e)
    value, slopes = e.at_spots(joint.pose)
    return np.broadcast_to(value, joint.shape), joint.along(slopes)


def _highest(x: np.ndarray, value: np.ndarray, g: np.ndarray, limits: np.ndarray) -> np.ndarray:
    """The deviations (variables,) within the limits at which the least of the straight lines through the spots is highest."""
    from scipy.optimize import linprog

    size = np.maximum(limits[:, 1] - limits[:, 0], 1e-300)  # each number in parts of its limits, or angles would be lost
    rows = np.hstack([-(g * size[:, None]).T, np.ones((len(value), 1))])
    room = value + g.T @ (limits[:, 0] - x)
    found = linprog(np.append(np.zeros(len(x)), -1.0), A_ub=rows, b_ub=room, bounds=[(0, 1)] * len(x) + [(None, None)])
    return np.asarray(limits[:, 0] + size * found.x[:-1])
