"""What lets go: for each single part that fails, what moves, how far until something else catches it, what the strings give up.

The part's rows are taken out of the contact wrench matrix. Its null space then holds the motions set free; the loads that act
(strings, clamp preload, neck's weight not counted) choose among them the way that they push hardest. Along that motion, to the
first order, every point of heel and tongue is followed until it meets floor, cheek or soundboard.

Left out: what breaks next, friction (it may hold for a while, and then let go at once), and the wood's own give.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.carried import Load
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.body import gap_grid, half_width, heel_fit
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.strings import string_lines
from lutherie_geom.mechanics.no_lift import side_push
from lutherie_geom.mechanics.pull import Pull, stacked, string_ends, string_pull
from lutherie_geom.mechanics.statics import Joint, balance, joint_of, load_wrenches
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.statics import energy_kept
from lutherie_geom.theory.stiffness import action_give

__all__ = ["Failure", "LettingGo", "PARTS", "freed", "letting_go"]

PARTS = ("glued cover", "tilt screw", "receiver's wood", "clamp screw", "bass seat", "treble seat")
CAUTION = ("Slacken all strings, evenly, at the first sign of it: action that rises or falls by itself, a crack, a gap at the "
           "heel, a buzz that was not there. Wear eye protection; keep hands out from under the tongue; do not play on to see.")
REACH = 50.0
"""Rotations count as the way of a point this far from the axis [mm], when the loads choose among free motions."""


@dataclass(frozen=True)
class Failure:
    """One part that fails. Lengths [mm], angles [rad], forces [N], energy [N mm]; nan where nothing moves or nothing catches."""

    part: str
    free: int
    """Motions set free [1], with the contacts that still press."""
    motion: Array
    """The motion up to the catch: moves [mm] of the pivot axis' middle and rotation [rad], body axes (6,)."""
    nut_way: float
    action: float
    """Change of the mean action at fret 12 [mm]."""
    caught_by: str
    catch_force: float
    """Force on what catches it [N]."""
    released: float
    """Energy that the strings give up until then [N mm]."""
    words: str

    @property
    def tilt(self) -> float:
        """Tilt up to the catch [rad], nut up positive."""
        return float(self.motion[4])

    @property
    def yaw(self) -> float:
        """Yaw up to the catch [rad], nut to bass positive."""
        return float(self.motion[5])

    def __str__(self) -> str:
        lines = [f"{self.part}: {self.words}"]
        if np.isfinite(self.nut_way):
            force = f"; {self.catch_force:.0f} N on what catches it" if np.isfinite(self.catch_force) else ""
            lines.append(f"  until {self.caught_by}: tilt {np.degrees(self.tilt):+.2f} deg, yaw {np.degrees(self.yaw):+.2f} deg, "
                         f"nut {self.nut_way:.1f} mm, action at fret 12 {self.action:+.1f} mm{force}")
            gives = "give" if self.released >= 0 else "take"
            lines.append(f"  the strings {gives} up {abs(self.released) / 1000:.2f} J on the way")
        return "\n".join(lines)


@dataclass(frozen=True)
class LettingGo:
    """All single failures of a joint; prints itself with the caution."""

    name: str
    pull: Pull
    failures: tuple[Failure, ...]

    def __getitem__(self, part: str) -> Failure:
        return {f.part: f for f in self.failures}[part]

    def __str__(self) -> str:
        stored, slack = self.pull.energy.sum() / 1000, self.pull.slack
        return folded(
            f"{self.name}: what lets go",
            f"the strings store {stored:.2f} J, give or take {100 * self.pull.spread:.0f} in 100; they are slack when their ends "
            f"have come {slack.min():.1f} to {slack.max():.1f} mm together", *(str(f) for f in self.failures),
            "left out: what breaks next, friction that holds for a while, the give of the wood", f"caution: {CAUTION}")

    __repr__ = __str__


def freed(rows: Array, wrench: Array) -> tuple[int, Array]:
    """Motions that the rows (n, 6) leave free, and the one among them that a wrench (6,) pushes hardest (6,), of length 1 mm.

    Rotations are scaled by 50 mm. All zero when nothing is free or the wrench does no work.
    """
    scale = np.array([1.0, 1, 1, REACH, REACH, REACH])
    _, s, vt = np.linalg.svd(rows / scale)
    rank = int(np.sum(s > 1e-9 * s[0])) if s.size else 0
    null = vt[rank:]
    push = null.T @ (null @ (wrench / scale))
    size = np.linalg.norm(push)
    return 6 - rank, np.zeros(6) if size < 1e-9 * np.linalg.norm(wrench / scale) else push / size / scale


def _way(motion: Array, point: Array, middle: Array) -> Array:
    """Move of a point (..., 3) [mm]."""
    return motion[:3] + np.cross(motion[3:], point - middle)


def _catch(p: Pose, motion: Array, middle: Array) -> tuple[float, str, float]:
    """How many times the motion until something is met, what it is, and how fast that point comes near [mm each time]."""
    d, fit = p.of, heel_fit(p)
    side = np.array([-1.0, 1.0]).reshape(1, 2)
    y = side * half_width(d, fit.z)
    face = stacked(*heel_point(x_face=-d.floor_clearance, y_face=y, z_face=fit.z, **p.turned))
    move = _way(motion, face, middle)
    gaps = gap_grid(p)
    n, m = gaps.shape
    x = np.linspace(0, 1, n)[:, None] * d.tongue_length
    across = np.linspace(-0.5, 0.5, m)[None] * d.tongue_width
    tongue = stacked(x, across, 0.0)
    found = []
    for words, margin, rate in (
            ("the heel meets the pocket's floor", fit.floor, move[..., 0]),
            ("the heel meets a cheek of the pocket", fit.side, side * move[..., 1]),
            ("the tongue meets the soundboard", gaps, -_way(motion, tongue, middle)[..., 2])):
        with np.errstate(divide="ignore", invalid="ignore"):
            times = np.where(rate > 1e-12, np.maximum(margin, 0.0) / rate, np.inf)
        k = np.unravel_index(np.argmin(times), times.shape)
        found.append((float(times[k]), words, float(rate[k])))
    return min(found)


def _failure(joint: Joint, pull: Pull, part: str, rows: Array, wrench: Array, words: str) -> Failure:
    p, middle = joint.pose, joint.stands.position
    free, motion = freed(rows, wrench)
    none = np.nan
    if not motion.any():
        return Failure(part, free, motion, none, none, "", none, none, words)
    times, by, rate = _catch(p, motion, middle)
    if not np.isfinite(times):
        return Failure(part, free, motion, none, none, "", none, none, words + " Nothing near catches it.")
    whole = motion * times
    d = p.of
    x12 = d.x_fret(12)
    nut, fret = (_way(whole, np.array(p.to_body(x, 0.0, 0.0), dtype=float), middle) for x in (d.x_nut, x12))
    more = action_give(rise_nut=nut[2], rise_fret=fret[2], to_fret=x12 - d.x_nut,
                       to_saddle=string_lines(p).xn_saddle.mean() - d.x_nut)
    places, saddles = (np.moveaxis(e, 0, -1) for e in string_ends(p))
    # Strings of one course share its place; each course's line tells how far its strings shorten.
    line = (saddles - places) / np.linalg.norm(saddles - places, axis=-1, keepdims=True)
    each = (_way(whole, places, middle) * line).sum(axis=-1)[list(pull.course)]
    kept = energy_kept(energy_full=pull.energy, slack=pull.slack, shortened=np.minimum(each, pull.slack))
    force = float(wrench @ motion) / rate
    return Failure(part, free, whole, float(np.linalg.norm(nut)), float(more), by, force,
                   float((pull.energy - kept).sum()), words)


def letting_go(design: Any, p: Pose | None = None) -> LettingGo:
    """What each single part's failure does, strings at pitch and clamp at its preload, at one pose (by default the nominal one).

    Raises ValueError for a batch of poses, CatalogueError for an unknown string set or tuning.
    """
    p = design.pose() if p is None else p
    if p.batch:
        raise ValueError("letting_go() reads one pose")
    joint, pull = joint_of(design, p), string_pull(design, p)
    b, t = joint.seat_rows
    tilt = joint.tilt_pull[None]
    drive = pull.wrench + design.clamp.preload * joint.clamp_pull
    rest, slack = balance(joint, pull.wrench), balance(joint, pull.wrench, 0.0)
    seats = np.concatenate([b, t])
    total = float(sum(slack.seat_push))
    bass, treble = side_push(joint, load_wrenches(design, p, [Load(name="no hand")])[0])
    # What would have to press the tilt screw back, so that the cover is asked at all: the strings' moment, turned round.
    back = drive - 2 * joint.about_axis(drive) * np.array([0, 0, 0, -p.sin_psi, p.cos_psi, 0], dtype=float)
    rows: list[tuple[str, Array, Array, str]] = [
        ("glued cover", np.concatenate([seats, tilt]), drive,
         f"nothing moves while the tilt screw is in tension ({rest.tilt:.0f} N now); the washer spring falls out of place. Only "
         "a load that reverses the screw can then push the heel's foot in."),
        ("tilt screw", seats, drive, "the strings tilt the neck: nut up, the foot of the heel out of its pocket, tongue down."),
        ("receiver's wood", seats, drive, "the receiver tears toward the heel's end; the neck tilts as if the screw had gone."),
        ("clamp screw", np.concatenate([seats, tilt]), drive,
         f"nothing moves at pitch: the strings press the balls home with {total:.0f} N. But at the headstock's end {bass:.0f} N "
         f"to the bass or {treble:.0f} N to the treble then make a ball climb out of its seat, and with the strings off only the "
         "tilt screw holds the neck."),
        ("bass seat", np.concatenate([t, tilt]), drive, "its ball sinks into the block; the neck swings about the treble ball."),
        ("treble seat", np.concatenate([b, tilt]), drive, "its ball sinks into the block; the neck swings about the bass ball."),
    ]
    found = [_failure(joint, pull, *row) for row in rows]
    pushed = replace(_failure(joint, pull, "cover gone and the neck pushed back", seats, back,
                              "as the cover's failure, once a load has reversed the tilt screw."), catch_force=np.nan)
    return LettingGo(design.name, pull, (*found, pushed))
