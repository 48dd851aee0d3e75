"""The instrument as it was measured: dimensions that show, at the turns at which its screws stand, what the gauges showed.

What the gauges show does not say which part is wrong. Here the saddle's height takes up the action, the saddle's place across
takes up the margins, and the gap takes up itself; relief and nut are what they were read to be. Were it the neck angle instead,
the joint would answer a turn in the same way to first order: that is why two builders who blame different parts still turn the
same screw by the same amount.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.relief import with_relief
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.setup.measured import Measured
from lutherie_geom.shop.setup.shown import shown

__all__ = ["AsMeasured", "as_measured"]

ROUNDS = 3  # of correcting: action runs straight in the saddle's height, margins in its place, to a thousandth


class AsMeasured:
    """A design whose dimensions are those of one instrument as it was measured; all else is the design's."""

    def __init__(self, design: Any, d: Dimensions) -> None:
        self._design, self._d = design, d

    def dimensions(self) -> Dimensions:
        """The instrument's own dimensions."""
        return self._d

    def __getattr__(self, name: str) -> Any:
        return getattr(self._design, name)


def _strings(values: dict[int, Array], n: int) -> Array:
    """A number for every string (strings, *batch) from those of some: evenly between, carried on beyond the last known."""
    known = sorted(values)
    part = np.interp(np.arange(n), known, np.arange(len(known)))
    low = np.minimum(part.astype(int), max(len(known) - 2, 0))
    rows = np.stack([np.asarray(values[k], dtype=float) for k in known])
    high = np.minimum(low + 1, len(known) - 1)
    share = (part - low).reshape((n,) + (1,) * (rows.ndim - 1))
    return rows[low] * (1 - share) + rows[high] * share


def _of(m: Measured, fret: int, n: int) -> dict[int, tuple[Array, float]]:
    """Readings and errors [mm] of the action at a fret by string."""
    places = {"bass": 0, "treble": n - 1} | {f"string_{i + 1}": i for i in range(n)}
    keys = {places[k.split(".")[2]]: k for k in m if k.startswith(f"action.{fret}.")}
    return {i: (m.values[k], m.errors[k]) for i, k in keys.items()}


def as_measured(d: Dimensions, m: Measured, *, tilt: Array = 0.0, bass: Array = 0.0, treble: Array = 0.0) -> Dimensions:
    """Dimensions [mm, rad] that show the readings at the turns [turn] of tilt, bass and treble screw; arrays broadcast.

    Action read at several frets is weighed by its errors. Readings that were not taken leave the dimension as it is.
    """
    if "relief.middle" in m:
        d = with_relief(d, np.asarray(m.get("relief.middle"), dtype=float))
    n = d.strings
    nut = {i: np.asarray(m.get(k), dtype=float) for i, k in ((0, "nut.bass"), (n - 1, "nut.treble")) if k in m}
    if nut:
        off = {i: v - np.asarray(d.h_nut)[i] for i, v in nut.items()}
        d = d.replaced(h_nut=_wide(d.h_nut, off) + _strings(off, n))
    for _ in range(ROUNDS):
        p = pose(d, tilt=tilt, bass=bass, treble=treble)
        top: dict[int, Array] = {}
        weight: dict[int, Array] = {}
        for fret in m.frets:
            rate, at = action_slopes(p, fret)["h_saddle"][:, 0], action(p, fret)[:, 0]
            for i, (value, sd) in _of(m, fret, n).items():
                top[i] = top.get(i, 0.0) + rate[i] * (value - at[i]) / sd**2
                weight[i] = weight.get(i, 0.0) + rate[i] ** 2 / sd**2
        if top:
            rise = {i: top[i] / weight[i] for i in top}
            d = d.replaced(h_saddle=_wide(d.h_saddle, rise) + _strings(rise, n))
        d = _centred(d, m, tilt, bass, treble)
    return d


def _wide(field: Array, by: dict[int, Array]) -> Array:
    """A field per string with room for the batch of what is added to it."""
    field = np.asarray(field, dtype=float)
    batch = np.broadcast_shapes(*(np.shape(v) for v in by.values()))
    return field.reshape(field.shape + (1,) * (len(batch) + 1 - field.ndim))


def _centred(d: Dimensions, m: Measured, tilt: Array, bass: Array, treble: Array) -> Dimensions:
    keys = [k for k in m if k.startswith("margin") or k == "gap.end"]
    if not keys:
        return d
    here = shown(pose(d, tilt=tilt, bass=bass, treble=treble), keys, m.handed)
    off = {k: np.asarray(m.values[k], dtype=float) - here[k] for k in keys}
    sides = [(sign, m.margin(side)) for sign, side in ((1.0, "bass"), (-1.0, "treble")) if m.margin(side) in off]
    if sides:
        moved = d.replaced(y_saddle=np.asarray(d.y_saddle) + 1.0)
        there = shown(pose(moved, tilt=tilt, bass=bass, treble=treble), keys, m.handed)
        aside = sum(sign * off[k] for sign, k in sides) / sum(sign * (there[k] - here[k]) for sign, k in sides)
        d = d.replaced(y_saddle=_wide(d.y_saddle, {0: aside}) + aside)
    if "gap.end" in off:
        d = d.replaced(gap_joint=d.gap_joint + off["gap.end"])
    return d


def batched(d: Dimensions, n: int) -> Dimensions:
    """The same with one axis of n instruments in every field that was measured, as the search wants it."""
    return d.replaced(**{k: np.broadcast_to(np.asarray(getattr(d, k), dtype=float).reshape(
        (d.strings, -1) if k in PER_STRING else (-1,)), (d.strings, n) if k in PER_STRING else (n,))
       
        for k in ("h_saddle", "y_saddle", "h_nut", "gap_joint", "relief", "alpha", "z_joint", "fall_away_line")})
