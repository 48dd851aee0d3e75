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
from lutherie_geom.mechanics.loads import each_way
from lutherie_geom.mechanics.no_lift import clamp_torque, least_clamp, side_push
from lutherie_geom.mechanics.pull import CAUTION, Pull, string_pull
from lutherie_geom.mechanics.statics import Joint, Reactions, balance, joint_of, load_wrenches

__all__ = ["Forces", "LoadRow", "OverTravel", "StringsOff", "forces", "over_travel", "preload_verdict"]

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
    """Least clamp force with which no ball climbs its seat, without friction [N]."""
    least_clamp_axial: float
    """Clamp force below which a seat has lifted off [N]: the last warning."""
    torque: tuple[float, float]
    """Key torque for the least clamp force, at low and high friction [N mm]."""
    head_moves: float
    """How far the captive head leaves its face [mm]."""
    cover: float
    """What the glued cover carries [N]."""
    verdict: Verdict


HAND = 50.0
"""Push of a hand at the headstock's end [N] that the caution for slack strings counts with (common practice, no source)."""


@dataclass(frozen=True)
class StringsOff:
    """What a hand at the headstock's end does with the strings off, clamp at its preload [N]."""

    side: float
    """Push sideways with which a ball begins to climb, the worse way."""
    clamp: float
    """Least clamp force for 50 N sideways, the worse way."""
    cover: float
    """What the glued cover carries under 50 N back."""

    def __str__(self) -> str:
        asks = (f"{HAND:g} N would ask {self.clamp:.0f} N of the clamp screw" if math.isfinite(self.clamp) else
                f"{HAND:g} N no clamp force holds")
        return (f"with the strings off, {self.side:.0f} N sideways at the headstock's end make a ball climb ({asks}), and "
                f"{HAND:g} N back press {self.cover:.0f} N on spring and cover: do not lift or lean on the neck then")


@dataclass(frozen=True)
class Forces:
    """Forces in a joint at one pose; ``rows`` worst first, none when no load is listed. Complete when it exists; print it."""

    name: str
    pull: Pull
    joint: Joint
    rest: Reactions
    band: Band
    rows: tuple[LoadRow, ...]
    reversals: tuple[Reversal, ...]
    preload: float
    off: StringsOff

    @property
    def worst(self) -> LoadRow | None:
        """The load that asks most of the clamp screw; None when no load is listed."""
        return self.rows[0] if self.rows else None

    def _needs(self) -> str:
        w = self.worst
        if w is None:
            return "No load listed."
        if w.least_clamp == 0:
            return "No load listed makes a ball climb, even with the clamp screw slack."
        cure = f" To mend: {w.verdict.cure}." if w.verdict.cure else ""
        if math.isinf(w.least_clamp):
            return f"Worst: {w.load}. A ball climbs in its seat, however tight the clamp screw.{cure}"
        return (f"Worst: {w.load}. A clamp force under {w.least_clamp:.0f} N lets a ball climb in its seat (under "
                f"{w.least_clamp_axial:.0f} N the seat has lifted off); the design's preload is {self.preload:.0f} N.{cure}")

    def __str__(self) -> str:
        columns = (("tilt screw", "N", 11), ("bass seat", "N", 10), ("treble seat", "N", 12), ("clamp at least", "N", 15),
                   ("key", "N m", 13), ("cover", "N", 7))
        wide = max((len(r.load) for r in self.rows), default=4)
        head = "\n".join([f"{'load':<{wide}}" + "".join(f"{c[0]:>{c[2]}}" for c in columns),
                          f"{'':<{wide}}" + "".join(f"{c[1]:>{c[2]}}" for c in columns)])
        lines = []
        for r in self.rows:
            key = f"{r.torque[0] / 1000:.2f} to {r.torque[1] / 1000:.2f}" if r.least_clamp > 0 else "-"
            bass, treble = ("lifts" if s < 0 else f"{s:.0f}" for s in r.seats)
            lines.append(f"{r.load:<{wide}}{r.tilt:>11.0f}{bass:>10}{treble:>12}{r.least_clamp:>15.0f}{key:>13}{r.cover:>7.0f}")
        moving = [f"  {r.load}: the captive head is pushed {r.head_moves:.2f} mm off its face, unless friction holds"
                  for r in self.rows if r.head_moves > 0]
        if self.reversals:
            moving.append("  where the force reverses, the play of the tilt screw's thread is felt; the washer spring takes up "
                          "only the head's")
        if self.band.band[1] >= self.rest.tilt:
            moving.append("with the clamp screw tight, friction alone can hold the neck against the strings: slacken it before "
                          "the tilt screw is turned")
        most = max(self.rows, key=lambda r: r.cover, default=None)
        if most and most.cover > min(r.cover for r in self.rows):
            moving.append(f"the cover carries most under \"{most.load}\": {most.cover:.0f} N")
        pulled = f"pull of the strings {self.pull.total:.0f} N, {self.pull.line.height_over_pivot:.1f} mm over the pivot axis"
        # The table keeps its columns, however wide; only sentences are broken.
        return "\n".join([
            f"{self.name}: forces in the joint", pulled, str(self.rest), str(self.band), "",
            *([head, *lines, ""] if lines else []), folded(
                self._needs(), *(str(r) for r in self.reversals), *moving,
                "the cover always carries the washer spring's push, and all that the tilt screw pushes beyond it",
                str(self.joint).splitlines()[-1],
                "key torques: at low and high friction; the higher one is safe against lifting",
                LEFT_OUT, f"caution: {self.off}", f"caution: {CAUTION}")])

    __repr__ = __str__


def preload_verdict(design: Any, need: float) -> Verdict:
    """The design's clamp preload against a least clamp force [N]: half as much again is wanted, since the torque that a hand
    gives scatters by a quarter either way, and wood settles."""
    preload = float(design.clamp.preload)
    if math.isinf(need):
        return Verdict(preload, preload + 1, -1.0, 1.0, "no clamp force holds this load")
    short = 1.5 * need - preload
    return at_least(preload, need, 0.5 * need, f"clamp.preload: {short:.0f} N more" if short > 0 else "")


def _row(design: Any, load: Load, need: float, axial: float, r: Reactions) -> LoadRow:
    band = friction_band(r).band
    moved, cover = spring_and_cover(design, r.tilt)
    low, high = clamp_torque(design, need)
    bass, treble = r.seat_push
    return LoadRow(load.name, float(r.tilt), (float(band[0]), float(band[1])), (float(bass), float(treble)), need, axial,
                   (float(low), float(high)), float(moved), float(cover), preload_verdict(design, need))


def _reversals(design: Any, joint: Joint, loads: list[Load], under: Array) -> list[Reversal]:
    """When each push, strings at pitch, reverses the tilt screw's force; ``under`` every load (loads, *batch) [N]."""
    found = []
    for load, tilt in zip(loads, under, strict=True):
        if load.strings == "at pitch" and load.push:
            still = load_wrenches(design, joint.pose, [load.model_copy(update={"push": 0.0, "weights": 0.0})])[0]
            found.append(reversal(design, load, balance(joint, still).tilt, tilt))
    return found


def _strings_off(design: Any, joint: Joint) -> StringsOff:
    still = Load(name="no hand", strings="off")
    hand = Load.model_validate({"name": "hand", "push": f"{HAND} N", "strings": "off"})
    weight, back, *aside = load_wrenches(design, joint.pose, [still, hand, hand.model_copy(update={"direction": "sideways"})])
    return StringsOff(float(side_push(joint, weight + design.clamp.preload * joint.clamp_pull).min()),
                      float(least_clamp(joint, np.stack(aside)).max()),
                      float(spring_and_cover(design, balance(joint, back).tilt)[1]))


def forces(design: Any, p: Pose | None = None) -> Forces:
    """Forces in the joint at one pose (by default the nominal one) under every load of the design.

    A sideways load stands there twice, to the bass and to the treble. Raises ValueError for a batch of poses (over the travel:
    :func:`over_travel`), CatalogueError for an unknown string set or tuning.
    """
    p = design.pose() if p is None else p
    if p.batch:
        raise ValueError("forces() reads one pose; over_travel() and balance() take any number of poses and loads at once")
    joint, pull, loads = joint_of(design, p), string_pull(design, p), each_way(design.loads)
    wrench = load_wrenches(design, p)
    found, rest = balance(joint, wrench), balance(joint, pull.wrench)
    need, axial = least_clamp(joint, wrench), least_clamp(joint, wrench, "axial")
    rows = [_row(design, load, float(need[k]), float(axial[k]),
                 Reactions(joint, found.bass[k], found.treble[k], found.tilt[k], found.clamp[k])) for k, load in enumerate(loads)]
    rows.sort(key=lambda r: -r.least_clamp)
    turned = tuple(t for t in _reversals(design, joint, loads, found.tilt) if np.isfinite(t.at))
    return Forces(design.name, pull, joint, rest, friction_band(rest), tuple(rows), turned, float(design.clamp.preload),
                  _strings_off(design, joint))


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
    """Tilt screw under every load of the design (loads, turns) [N]; no rows when no load is listed."""
    loads: tuple[str, ...]
    """Names of the loads."""
    need: Array
    """Least clamp force with which no ball climbs its seat, every load at every turn (loads, turns) [N]."""
    reversals: tuple[Reversal, ...]
    """When each push, strings at pitch, reverses the tilt screw's force: each at every turn (turns,) [N]."""
    cover: Array
    """Most that the glued cover carries under any load (turns,) [N]."""

    @property
    def least_clamp(self) -> Array:
        """Least clamp force with which no ball climbs its seat, the worst load at each turn (turns,) [N]."""
        return self.need.max(axis=0, initial=0.0)

    @property
    def worst(self) -> tuple[str, float]:
        """The load that asks most of the clamp anywhere on the travel, and that force [N]."""
        if not self.loads:
            return "no load listed", 0.0
        load, turn = np.unravel_index(np.nanargmax(self.need), self.need.shape)
        return self.loads[load], float(self.need[load, turn])

    @property
    def reversal(self) -> tuple[str, float, float]:
        """The load that reverses the tilt screw's force first anywhere on the travel, at which push, and the push that takes the
        captive head off its face [N]; inf where none listed does."""
        found = [(float(np.min(r.at)), float(np.min(r.head_leaves)), r.load) for r in self.reversals]
        at, leaves, load = min(found, default=(math.inf, math.inf, "no load listed"))
        return load, at, leaves

    @property
    def handled(self) -> tuple[Array, Array]:
        """Least and most in the tilt screw, strings alone or any load (turns,) [N]."""
        every = np.vstack([self.tilt[None], self.loaded])
        return every.min(axis=0), every.max(axis=0)

    def __str__(self) -> str:
        head = (f"{'turns':>8}{'tilt screw':>12}{'friction':>18}{'bass seat':>11}{'treble seat':>13}{'all loads':>18}"
                f"{'clamp at least':>16}{'cover':>7}")
        rows = [f"{t:>+8.2f}{f:>12.0f}{f'± {lo:.0f} to {hi:.0f}':>18}{b:>11.0f}{s:>13.0f}{f'{a:.0f} to {z:.0f}':>18}"
                f"{c:>16.0f}{g:>7.0f}"
                for t, f, (lo, hi), b, s, a, z, c, g in zip(self.turns, self.tilt, self.band.T, *self.seats, *self.handled,
                                                            self.least_clamp, self.cover, strict=True)]
        load, need = self.worst
        said = ["no load listed: strings alone"]
        if self.loads:
            said = [f"clamp at least: force under which a ball climbs in its seat; most of all {need:.0f} N, {load}"]
        back, at, leaves = self.reversal
        if math.isfinite(at):
            said.append(f"{back}: the tilt screw's force reverses at {at:.0f} N, the captive head leaves its face at "
                        f"{leaves:.0f} N; the least on the travel")
        title = f"{self.name}: forces over the travel [N]; tilt screw in tension, a minus is a push"
        return "\n".join([title, head, *rows, *said])

    __repr__ = __str__


def over_travel(design: Any, *, steps: int = 9, bass: float = 0.0, treble: float = 0.0) -> OverTravel:
    """Forces over the whole travel of the tilt screw, with the pivot screws at the turns given; all in one go.

    Raises ValueError for fewer than two steps.
    """
    if steps < 2:
        raise ValueError(f"steps is {steps}: give 2 or more, both ends of the travel are among them")
    ends = travel(design, bass=bass, treble=treble)
    p = design.pose(tilt=np.linspace(ends.low, ends.high, steps), bass=bass, treble=treble)
    joint, w, loads = joint_of(design, p), load_wrenches(design, p), each_way(design.loads)
    rest, loaded = balance(joint, string_pull(design, p).wrench), balance(joint, w).tilt
    cover = spring_and_cover(design, np.vstack([rest.tilt[None], loaded]))[1].max(axis=0)
    turned = tuple(_reversals(design, joint, loads, loaded))
    return OverTravel(design.name, p.tilt, rest.tilt, friction_band(rest).band, rest.seat_push, loaded,
                      tuple(load.name for load in loads), least_clamp(joint, w), turned, cover)
