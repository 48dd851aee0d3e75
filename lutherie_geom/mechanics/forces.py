"""The forces in the joint under every load of handling, worst first, in one report that prints itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.carried import Load
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.reading import Verdict, at_least
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.friction import Band, Reversal, friction_band, reversal, spring_and_cover
from lutherie_geom.mechanics.no_lift import clamp_torque, least_clamp, least_clamp_axial
from lutherie_geom.mechanics.pull import CAUTION, Pull, string_pull
from lutherie_geom.mechanics.statics import Joint, Reactions, balance, joint_of, load_wrenches

__all__ = ["Forces", "LoadRow", "OverTravel", "forces", "over_travel"]

LEFT_OUT = ("left out: the wood's and the screws' own strength, friction that would help the seats, shocks beyond the loads "
            "listed, and the neck's bending")


@dataclass(frozen=True)
class LoadRow:
    """What one load does: forces [N], the least clamp force that lifts no ball [N], the key torque for it [N mm]."""

    load: str
    tilt: float
    band: tuple[float, float]
    seats: tuple[float, float]
    """Force along the axis of the bass and of the treble seat, clamp at its preload [N]."""
    least_clamp: float
    """Least clamp force, balls held down without friction [N]."""
    least_clamp_axial: float
    """Least clamp force with which both seats still push along their axes [N]."""
    torque: tuple[float, float]
    """Key torque for the least clamp force, at low and high friction [N mm]."""
    head_moves: float
    """How far the captive head leaves its face [mm]."""
    cover: float
    """What the glued cover carries [N]."""
    verdict: Verdict


@dataclass(frozen=True)
class Forces:
    """Forces in a joint at one pose; ``rows`` worst first. Complete when it exists; print it."""

    name: str
    pull: Pull
    joint: Joint
    rest: Reactions
    band: Band
    rows: tuple[LoadRow, ...]
    reversals: tuple[Reversal, ...]
    preload: float

    @property
    def worst(self) -> LoadRow:
        """The load that asks most of the clamp screw."""
        return self.rows[0]

    def __str__(self) -> str:
        columns = (("tilt screw", "N", 11), ("bass seat", "N", 10), ("treble seat", "N", 12), ("clamp at least", "N", 15),
                   ("key", "N m", 13), ("cover", "N", 7))
        wide = max(len(r.load) for r in self.rows)
        head = "\n".join([f"{'load':<{wide}}" + "".join(f"{c[0]:>{c[2]}}" for c in columns),
                          f"{'':<{wide}}" + "".join(f"{c[1]:>{c[2]}}" for c in columns)])
        lines = []
        for r in self.rows:
            key = f"{r.torque[0] / 1000:.2f} to {r.torque[1] / 1000:.2f}" if r.least_clamp > 0 else "-"
            bass, treble = ("lifts" if s < 0 else f"{s:.0f}" for s in r.seats)
            lines.append(f"{r.load:<{wide}}{r.tilt:>11.0f}{bass:>10}{treble:>12}{r.least_clamp:>15.0f}{key:>13}{r.cover:>7.0f}")
        w = self.worst
        needs = ("No load listed lifts a ball, even with the clamp screw slack; it still holds the neck when the strings are off."
                 if w.least_clamp == 0 else
                 f"Worst: {w.load}. A clamp force under {w.least_clamp:.0f} N lets a ball climb in its seat "
                 f"({w.least_clamp_axial:.0f} N: lift off); the design's preload is {self.preload:.0f} N.")
        cure = f" To mend: {w.verdict.cure}." if w.verdict.cure else ""
        moving = [f"  {r.load}: the captive head is pushed {r.head_moves:.2f} mm off its face, unless friction holds"
                  for r in self.rows if r.head_moves > 0]
        if self.reversals:
            moving.append("  where the force reverses, the play of the tilt screw's thread is felt; the washer spring takes up "
                          "only the head's")
        if self.band.band[1] >= self.rest.tilt:
            moving.append("with the clamp screw tight, friction alone can hold the neck against the strings: slacken it before "
                          "the tilt screw is turned")
        pulled = f"pull of the strings {self.pull.total:.0f} N, {self.pull.line.height_over_pivot:.1f} mm over the pivot axis"
        # The table keeps its columns, however wide; only sentences are broken.
        return "\n".join([
            f"{self.name}: forces in the joint", pulled, str(self.rest), str(self.band), "", head, *lines, "", folded(
                needs + cure, *(str(r) for r in self.reversals), *moving,
                "the cover always carries the washer spring's push, and all that the tilt screw pushes beyond it",
                str(self.joint).splitlines()[-1],
                "key torques: at low and high friction; the higher one is safe against lifting",
                LEFT_OUT, f"caution: {CAUTION}")])

    __repr__ = __str__


def _row(design: Any, joint: Joint, load: Load, wrench: Any, r: Reactions) -> LoadRow:
    preload = float(design.clamp.preload)
    need, axial = least_clamp(joint, wrench), least_clamp(joint, wrench, "axial")
    band = friction_band(r).band
    moved, cover = spring_and_cover(design, r.tilt)
    room = 0.5 * need  # the torque that a hand gives scatters by a quarter either way, and wood settles
    short = need + room - preload
    more = f"clamp.preload: {short:.0f} N more" if math.isfinite(short) else "no clamp force holds this load"
    cure = more if short > 0 else ""
    low, high = clamp_torque(design, need)
    bass, treble = r.seat_push
    return LoadRow(load.name, float(r.tilt), (float(band[0]), float(band[1])), (float(bass), float(treble)), need,
                   axial, (float(low), float(high)), float(moved), float(cover), at_least(preload, need, room, cure))


def forces(design: Any, p: Pose | None = None) -> Forces:
    """Forces in the joint at one pose (by default the nominal one) under every load of the design.

    Raises ValueError for a batch of poses (for sweeps use :func:`lutherie_geom.mechanics.statics.balance` and
    :func:`lutherie_geom.mechanics.no_lift.least_clamp_axial`), CatalogueError for an unknown string set or tuning.
    """
    p = design.pose() if p is None else p
    if p.batch:
        raise ValueError("forces() reads one pose; balance() takes any number of poses and loads at once")
    joint, pull = joint_of(design, p), string_pull(design, p)
    wrench = load_wrenches(design, p)
    found = balance(joint, wrench)
    rest = balance(joint, pull.wrench)
    rows, turned = [], []
    for k, load in enumerate(design.loads):
        one = Reactions(joint, found.bass[k], found.treble[k], found.tilt[k], found.clamp[k])
        rows.append(_row(design, joint, load, wrench[k], one))
        if load.strings == "at pitch" and load.push:
            bare = balance(joint, load_wrenches(design, p, [load.model_copy(update={"push": 0.0, "weights": 0.0})])[0])
            turned.append(reversal(design, load, bare.tilt, one.tilt))
    rows.sort(key=lambda r: -r.least_clamp)
    return Forces(design.name, pull, joint, rest, friction_band(rest), tuple(rows), tuple(t for t in turned if np.isfinite(t.at)),
                  float(design.clamp.preload))


@dataclass(frozen=True)
class OverTravel:
    """Forces at even steps over the whole travel, strings tuned to pitch at each: arrays (turns,), and (loads, turns)."""

    name: str
    turns: Array
    tilt: Array
    """Tilt screw under the strings alone (turns,) [N]."""
    band: Array
    """Friction either way, low and high (2, turns) [N]."""
    seats: tuple[Array, Array]
    """Bass and treble seat along their axes, clamp at its preload (turns,) [N]."""
    loaded: Array
    """Tilt screw under every load of the design (loads, turns) [N]."""
    least_clamp: Array
    """Clamp force below which a seat lifts off, axial, the worst load at each turn (turns,) [N]."""

    def __str__(self) -> str:
        head = (f"{'turns':>8}{'tilt screw':>12}{'friction':>18}{'bass seat':>11}{'treble seat':>13}{'all loads':>18}"
                f"{'lift-off':>10}")
        rows = [f"{t:>+8.2f}{f:>12.0f}{f'± {lo:.0f} to {hi:.0f}':>18}{b:>11.0f}{s:>13.0f}{f'{a:.0f} to {z:.0f}':>18}{c:>10.0f}"
                for t, f, (lo, hi), b, s, a, z, c in zip(self.turns, self.tilt, self.band.T, *self.seats, self.loaded.min(axis=0),
                                                         self.loaded.max(axis=0), self.least_clamp, strict=True)]
        return "\n".join([f"{self.name}: forces over the travel [N]; tilt screw in tension, a minus is a push", head, *rows,
                          "lift-off: clamp force below which a seat lifts under the worst load (a ball climbs a little earlier)"])

    __repr__ = __str__


def over_travel(design: Any, *, steps: int = 9, bass: float = 0.0, treble: float = 0.0) -> OverTravel:
    """Forces over the whole travel of the tilt screw, with the pivot screws at the turns given; all in one go."""
    ends = travel(design, bass=bass, treble=treble)
    p = design.pose(tilt=np.linspace(ends.low, ends.high, steps), bass=bass, treble=treble)
    joint, w = joint_of(design, p), load_wrenches(design, p)
    rest = balance(joint, string_pull(design, p).wrench)
    return OverTravel(design.name, p.tilt, rest.tilt, friction_band(rest).band, rest.seat_push, balance(joint, w).tilt,
                      least_clamp_axial(joint, w).max(axis=0))
