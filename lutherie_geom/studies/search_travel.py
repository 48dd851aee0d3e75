"""Travel of the tilt screw of many joints at once: how far each goes both ways, and what stops it there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import REACH, margins
from lutherie_geom.studies.joint_page import FRET
from lutherie_geom.studies.setup import SCREW_STOPS

__all__ = ["Ends", "travel_ends"]

LATTICE = 0.25
"""Turns from one look outward for a stop to the next."""
HALVINGS = 16


@dataclass(frozen=True)
class Ends:
    """Travel of the tilt screw of n joints: ``turns`` (2, n) [turn] down and up, the ``stops`` there by name (2, n), and the
    ``change`` of the mean action there (2, n) [mm]. A joint that is stopped at rest has none."""

    turns: np.ndarray
    stops: np.ndarray
    change: np.ndarray

    @property
    def low(self) -> np.ndarray:
        """Lowest turn (n,) [turn]."""
        return self.turns[0]

    @property
    def high(self) -> np.ndarray:
        """Highest turn (n,) [turn]."""
        return self.turns[1]


def _margins(design: Any, d: Dimensions, turns: np.ndarray) -> tuple[tuple[str, ...], np.ndarray, np.ndarray]:
    """Names of the stops, what is left to each (stops, n) [mm], and the mean action (n,) [mm], at turns (n,)."""
    r = many(d, turns, frets=(1, FRET))
    p = pose(d, tilt=turns)
    screws = {name: np.broadcast_to(m(p), turns.shape) for name, _, _, m in margins(design, d) if name in SCREW_STOPS}
    stands = np.broadcast_to(np.where(np.isnan(p.theta), -1.0, 1.0), turns.shape)
    rows = {"gap": r.least_gap, "floor": r.floor, "pocket": r.reveal, "strings": r.action[:, 0].min(axis=0), **screws,
            "reach": stands}
    found = np.stack(list(rows.values()))
    return tuple(rows), np.where(np.isnan(found), np.inf, found), r.action[:, 1].mean(axis=0)


def travel_ends(design: Any, d: Dimensions) -> Ends:
    """Travel of many joints at once, from rest both ways up to 12 turns: looked for on a lattice, then halved to 4e-6 turn.

    ``d`` holds a batch with one axis of samples (n,); the screw's own lengths are the design's. The gap is that of ``many``.
    """
    n = max(np.size(getattr(d, k)) for k in ("x_p", "z_p", "z_head", "spacing", "pitch_tilt", "pitch_pivot", "gap_joint",
                                             "floor_clearance"))
    names, rest, start = _margins(design, d, np.zeros(n))
    turns, stops, change = np.zeros((2, n)), np.zeros((2, n), dtype=int), np.zeros((2, n))
    stuck = rest.min(axis=0) < 0
    for k, way in enumerate((-1.0, 1.0)):
        good, bad = np.zeros(n), np.where(stuck, 0.0, np.nan)
        for t in np.arange(LATTICE, REACH + LATTICE / 2, LATTICE):
            out = (_margins(design, d, np.full(n, way * t))[1].min(axis=0) < 0) & np.isnan(bad)
            bad[out] = t
            good[np.isnan(bad)] = t
            if not np.isnan(bad).any():
                break
        bad = np.where(np.isnan(bad), REACH, bad)
        for _ in range(HALVINGS):
            middle = (good + bad) / 2
            out = _margins(design, d, way * middle)[1].min(axis=0) < 0
            good, bad = np.where(out, good, middle), np.where(out, middle, bad)
        turns[k] = way * good
        _, left, there = _margins(design, d, way * bad)
        stops[k] = left.argmin(axis=0)
        change[k] = np.where(stuck, 0.0, there - start)
    return Ends(turns, np.array(names)[stops], change)
