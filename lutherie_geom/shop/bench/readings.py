"""What can be measured while the box is open: each reading with its exact value and slopes at a pose, its gauge, and whether it
can still be measured, or mended, afterwards.

The neck is bolted on without strings, the clamp tight, and a hand presses the nut end up, so that the screws bear as the strings
would make them. The wood is taken as stiff. Lengths in mm, turns in turns.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.body import gap, heel_fit
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.studies.gradients import Exact, gap_slopes, through_pose
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.pose import to_body

__all__ = ["BENCH_READINGS", "BenchReading", "reading_of", "straightedge_posed"]


@dataclass(frozen=True)
class BenchReading:
    """One reading [mm]: ``how`` it is taken, with which gauge, whether at every turn; ``later``: what is still possible once
    the box is closed. ``exact.slopes`` of a reading that has none raises NotImplementedError."""

    exact: Exact
    how: str
    gauge: str
    every_turn: bool
    later: str
    sloped: bool = True

    @property
    def key(self) -> str:
        return self.exact.key

    @property
    def words(self) -> str:
        return self.exact.words


def _edge_at(p: Pose) -> tuple[Array, Array, Array]:
    """Bridge along the body [mm], and where the straightedge is over it: along the neck x', across the body y [mm]."""
    x = np.asarray(p.of.x_saddle, dtype=float).mean(axis=0)
    a, b = p.to_body(0.0, 0.0, 0.0), p.to_body(1000.0, 0.0, 0.0)
    part = (x - a.x) / (b.x - a.x)
    return x, 1000.0 * part, a.y + part * (b.y - a.y)


def _top(p: Pose) -> dict[str, Array]:
    d = p.of
    return dict(curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)


def straightedge_posed(p: Pose) -> Array:
    """Straightedge on the crowns of the centreline, carried on to the mean saddle place: height over the soundboard there [mm],
    (*batch), at any pose (:func:`.joint.neck_set.straightedge_at_bridge` with all turns zero)."""
    x, xn, y = _edge_at(p)
    return p.to_body(xn, 0.0, 0.0).z - dome_height(x=x, y=y, **_top(p))


def _straightedge_slopes(p: Pose) -> dict[str, Any]:
    x, xn, y = _edge_at(p)
    s = to_body.slopes(xn=xn, yn=0.0, zn=0.0, **p.set_, **p.turned)
    top = dome_height.slopes(x=x, y=y, **_top(p))["z_top"]
    rise, drift = s["z"]["xn"] / s["x"]["xn"], s["y"]["xn"] / s["x"]["xn"]
    # The reading stays over the bridge: what moves a point along the body is taken back along the straightedge.
    out = {n: s["z"][n] - rise * s["x"][n] - top["y"] * (s["y"][n] - drift * s["x"][n]) for n in s["z"]
           if n not in ("xn", "yn", "zn")}
    cos_alpha, sin_alpha = out.pop("cos_alpha"), out.pop("sin_alpha")
    out["alpha"] = sin_alpha * np.cos(p.of.alpha) - cos_alpha * np.sin(p.of.alpha)
    out |= {n: -top[n] for n in ("curvature", "x_apex")}
    n = p.of.strings
    by_place = np.asarray(rise - top["x"] - top["y"] * drift)
    return through_pose(p, out) | {"x_saddle": np.broadcast_to(by_place / n, (n, *by_place.shape))}


def _centre(p: Pose) -> Array:
    return _edge_at(p)[2] - np.asarray(p.of.y_saddle, dtype=float).mean(axis=0)


def _centre_slopes(p: Pose) -> dict[str, Any]:
    _, xn, _ = _edge_at(p)
    s = to_body.slopes(xn=xn, yn=0.0, zn=0.0, **p.set_, **p.turned)
    drift = s["y"]["xn"] / s["x"]["xn"]
    out = {n: s["y"][n] - drift * s["x"][n] for n in s["y"] if n not in ("xn", "yn", "zn")}
    cos_alpha, sin_alpha = out.pop("cos_alpha"), out.pop("sin_alpha")
    out["alpha"] = sin_alpha * np.cos(p.of.alpha) - cos_alpha * np.sin(p.of.alpha)
    n = p.of.strings
    drift = np.asarray(drift)
    return through_pose(p, out) | {"x_saddle": np.broadcast_to(drift / n, (n, *drift.shape)),
                                    "y_saddle": np.full((n, *drift.shape), -1 / n)}


def _gap_at(along: float, across: float) -> tuple[Callable[[Pose], Array], Callable[[Pose], dict[str, Any]]]:
    """Gap at a place of the tongue's underside, given in parts of its length and of its width from the middle."""
    def value(p: Pose) -> Array:
        return gap(p, along * np.asarray(p.of.tongue_length), across * np.asarray(p.of.tongue_width))

    def slopes(p: Pose) -> dict[str, Any]:
        return gap_slopes(p, along * p.of.tongue_length, across * p.of.tongue_width)

    return value, slopes


def _foot(side: float, sign: float) -> tuple[Callable[[Pose], Array], Callable[[Pose], dict[str, Any]]]:
    """End face at the heel's foot, at a part of its half-width: off the floor (sign -1), or inside the pocket (sign 1)."""
    def place(p: Pose) -> dict[str, Array]:
        d = p.of
        return dict(x_face=-np.asarray(d.floor_clearance), y_face=side * np.asarray(d.half_width_foot),
                    z_face=np.asarray(d.foot_z))

    def value(p: Pose) -> Array:
        return sign * heel_point(**place(p), **p.turned).x + (p.of.pocket if sign > 0 else 0.0)

    def slopes(p: Pose) -> dict[str, Any]:
        s = {k: sign * v for k, v in heel_point.slopes(**place(p), **p.turned)["x"].items()}
        s |= dict(floor_clearance=-s.pop("x_face"), foot_z=s.pop("z_face"), half_width_foot=side * s.pop("y_face"))
        return through_pose(p, s) | ({"pocket": 1.0} if sign > 0 else {})

    return value, slopes


def _side(k: int) -> Callable[[Pose], Array]:
    return lambda p: heel_fit(p, 2).side[-1, k]


def _none(p: Pose) -> dict[str, Any]:
    raise NotImplementedError("a side gap has no slopes here; its spread is read from the joint as built")


_NECK_OFF = "measured and mended with the neck off"
_ANY_DAY = "measured any day; mended with the neck off"
BENCH_READINGS: tuple[BenchReading, ...] = (
    BenchReading(Exact("straightedge.bridge", "straightedge on the frets, over the soundboard at the bridge", "mm",
                       straightedge_posed, _straightedge_slopes),
                 "long straightedge on the crowns, ruler at the saddle's place", "steel ruler", True,
                 "measured any day; made up by turning (it costs travel), by the saddle, or with the neck off"),
    BenchReading(Exact("centre.bridge", "board's middle to the treble of the bridge's middle, at the bridge", "mm", _centre,
                       _centre_slopes),
                 "long straightedge or thread along the board's middle, ruler at the saddle's place", "steel ruler", True,
                 "measured any day; made up by steering"),
    *(BenchReading(Exact(f"floor.foot_{side}", f"floor clearance at the heel's foot, {side} side", "mm", *_foot(at, -1.0)),
                   "feelers between the heel's end face and the pocket's floor", "feeler gauge", True, _NECK_OFF)
      for side, at in (("bass", -1.0), ("treble", 1.0))),
    *(BenchReading(Exact(f"gap.{place}_{side}", f"gap under the tongue at {words}, {side} edge", "mm", *_gap_at(along, at)),
                   "feelers under the tongue's edge", "feeler gauge", True, _ANY_DAY)
      for place, words, along in (("end", "its end", 1.0), ("joint", "the joint", 0.0))
      for side, at in (("bass", -0.5), ("treble", 0.5))),
    BenchReading(Exact("reveal.foot", "heel inside the pocket, at the middle of its foot", "mm", *_foot(0.0, 1.0)),
                 "depth rod from the pocket's rim along the heel's end", "calipers", True, _ANY_DAY),
    *(BenchReading(Exact(f"side.foot_{side}", f"side gap at the heel's foot, {side} cheek", "mm", _side(k), _none),
                   "feelers between cheek and pocket", "feeler gauge", False, _ANY_DAY, False)
      for k, side in enumerate(("bass", "treble"))),
)
"""Every reading of the bench proof, in the order in which they are taken."""


def reading_of(key: str) -> BenchReading:
    """The reading of that key. Raises KeyError with what is known."""
    for r in BENCH_READINGS:
        if r.key == key:
            return r
    raise KeyError(f"no bench reading {key!r}; known: {', '.join(r.key for r in BENCH_READINGS)}")
