"""What the spreads do to a reading once the screws are turned to their best: each number alone, then added up.

Turning has no slope of its own: every joint is set anew, in steps. So one number at a time is put off, the joint is set in
fine steps and read exactly. At worst what each number does at its limits adds up; by root-sum-square what it does at one standard
deviation. Half a step of each screw comes on top. These are sums, not bounds: where numbers work together (a least reading, a
stop, three screws that come nearer than their steps) they part from the count, and the count is right.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.studies.first_order import COVER_95
from lutherie_geom.studies.setup import ENOUGH, SetUp, best_turns, set_up
from lutherie_geom.studies.spreads import Spreads

__all__ = ["TurnedSums", "turned_sums"]

FINE = 1 / 128  # turn: a step so small that its rounding is lost in what the numbers do


@dataclass(frozen=True)
class TurnedSums:
    """Readings [mm] after set-up, (readings, 2) from and to: ``worst``, and ``usual``, which holds 95 in 100 by
    root-sum-square; ``standard`` (readings,) its standard uncertainty. nan where a number alone leaves no setting."""

    worst: np.ndarray
    usual: np.ndarray
    standard: np.ndarray


def turned_sums(design: Any, plan: SetUp, spreads: Spreads, read: Callable[[ManyReadings], Any]) -> TurnedSums:
    """Of every reading that ``read`` takes (readings, n) [mm], for a design set up by the ``plan`` under the spreads."""
    variables, r = spreads.variables(plan.nominal), spreads.correlation(plan.nominal)
    n = len(variables)
    mean, sd = (np.array([getattr(v.spread, k) for v in variables]) for k in ("mean", "standard_deviation"))
    low, high = np.array([v.spread.limits for v in variables]).T
    fine = set_up(design, limits=plan.limits, step=min(FINE, plan.step), reach=plan.reach, enough=ENOUGH)
    off = np.concatenate([np.zeros((n, 1)), np.diag(low), np.diag(high), np.diag(sd), -np.diag(sd)], axis=1)
    dims, turned = spreads.built(plan.nominal, off)
    best = best_turns(fine, dims.replaced(alpha=np.broadcast_to(dims.alpha, off.shape[1]).copy()), **turned)
    found = np.asarray(read(best.after))
    base, ends = found[:, :1], found[:, 1:2 * n + 1].reshape(-1, 2, n)
    up, down = found[:, 2 * n + 1:3 * n + 1], found[:, 3 * n + 1:]
    halves = _half_steps(plan, read)
    half = halves.sum(axis=1)
    does = ends - base[:, :, None]
    worst = np.stack([base[:, 0] + np.minimum(does.min(axis=1), 0).sum(axis=1) - half,
                      base[:, 0] + np.maximum(does.max(axis=1), 0).sum(axis=1) + half], axis=1)
    parts = (up - down) / 2
    rounding = (halves**2).sum(axis=1) / 3  # any place within half a step is as likely
    standard = np.sqrt(np.maximum(((parts @ r) * parts).sum(axis=1), 0.0) + rounding)
    slope = np.divide(parts, sd, out=np.zeros_like(parts), where=sd > 0)
    middle = base[:, 0] + slope @ mean
    return TurnedSums(worst, np.stack([middle - COVER_95 * standard, middle + COVER_95 * standard], axis=1), standard)


def _half_steps(plan: SetUp, read: Callable[[ManyReadings], Any]) -> np.ndarray:
    """What half a step of each screw does to each reading [mm], (readings, 3)."""
    half = plan.step / 2 * np.eye(3)
    y = np.asarray(read(plan.read(plan.nominal, np.concatenate([np.zeros((3, 1)), half, -half], axis=1))))
    return np.asarray(np.abs(y[:, 1:] - y[:, :1]).reshape(-1, 2, 3).max(axis=1))
