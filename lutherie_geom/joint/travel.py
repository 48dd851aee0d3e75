"""Travel: how far the tilt screw can go either way, and what stops it, each stop at its own turn.

A stop is a margin that falls to zero. Each is searched outward from the present turn on ever finer lattices, so that its
turn is known to better than 1e-6. Two kinds: a *stop* ends the travel; a *warning* does not (a string that touches a
fret can still be passed; a screw that bears on its hole bends before it stops anything).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.theory.swivel import clearance_hole, head_rock, swivel_dowel, swivel_rod

__all__ = ["Stop", "Travel", "travel"]

REACH = 12.0  # turns searched either way
LATTICE = 97


@dataclass(frozen=True)
class Stop:
    """One stop: its name, what happens, the turn at which it happens (None: not within 12 turns), stop or warning."""

    name: str
    words: str
    turn: float | None
    direction: int
    kind: str


@dataclass(frozen=True)
class Travel:
    """Lowest and highest turn of the tilt screw [turn], the stops both ways, nearest first."""

    low: float
    high: float
    stops: tuple[Stop, ...]

    def first(self, direction: int) -> Stop | None:
        """The stop that ends the travel that way."""
        for s in self.stops:
            if s.direction == direction and s.kind == "stop" and s.turn is not None:
                return s
        return None

    def __str__(self) -> str:
        lines = [f"travel {self.low:+.3f} to {self.high:+.3f} turns"]
        lines += [f"  {s.turn:+9.3f}  {s.words}" + (" (warning)" if s.kind == "warning" else "")
                  for s in self.stops if s.turn is not None]
        return "\n".join(lines)

    __repr__ = __str__


def swings(p: Any) -> tuple[Array, Array]:
    """Swing of the tilt screw at its captive head [rad]: in the plane of symmetry, and sideways."""
    d = p.of
    relation = swivel_dowel if d.receiver == "dowel across" else swivel_rod
    found = relation(psi=p.psi, theta=p.theta, advance=p.advance, x_p=d.x_p, z_p=d.z_p, x_head=d.x_head, z_head=d.z_head,
                     x_receiver=d.x_receiver, z_receiver=d.z_receiver)
    return found.swing_head, found.swing_side


def margins(design: Any, d: Any) -> list[tuple[str, str, str, Callable[[Any], Array]]]:
    """(name, words, kind, margin of a pose [mm]); a margin below zero is a stop passed."""
    t = design.tilt_screw

    def floor(part: str) -> Callable[[Any], Array]:
        def margin(p: Any) -> Array:
            fit = heel_fit(p)
            low = fit.z < d.z_p
            use = low if part == "foot" else ~low
            return np.where(use, fit.floor, np.inf).min(axis=(0, 1))

        return margin

    def bottom(p: Any) -> Array:
        return t.hole_past_receiver - t.past_receiver + d.pitch_tilt * p.tilt

    def engaged(p: Any) -> Array:
        held = t.receiver_diameter / 2 + t.past_receiver - d.pitch_tilt * p.tilt
        return np.minimum(held, t.receiver_diameter) - t.least_engagement

    def total_swing(p: Any) -> Array:
        a, b = swings(p)
        return np.hypot(a, b)

    def spring(p: Any) -> Array:
        return t.spring_room - head_rock(head_diameter=t.head_diameter, swing=total_swing(p))

    def wall(p: Any) -> Array:
        return t.hole_in_block - clearance_hole(shank=t.diameter, depth=max(d.x_head, 0.0), swing=total_swing(p), side_shift=0.0)

    return [
        ("tongue", "the tongue meets the soundboard", "stop", lambda p: least_gap(p).gap),
        ("floor at the foot", "the heel's foot meets the pocket's floor", "stop", floor("foot")),
        ("floor above the pivot", "the heel's top meets the pocket's floor", "stop", floor("top")),
        ("pocket", "the heel leaves its pocket and a gap shows", "stop", lambda p: heel_fit(p).reveal.min(axis=(0, 1))),
        ("strings", "the strings lie on the frets, down to the first", "stop", lambda p: action(p, 1).min(axis=(0, 1))),
        ("first touch", "an open string touches a fret", "warning",
         lambda p: action(p, np.arange(1, d.last_fret + 1)).min(axis=(0, 1))),
        ("screw bottoms", "the tilt screw bottoms in the heel", "stop", bottom),
        ("thread", "the tilt screw's thread engagement ends", "stop", engaged),
        ("washer spring", "the washer spring behind the captive head goes flat", "stop", spring),
        ("hole", "the tilt screw bears on the wall of its hole in the block", "warning", wall),
    ]


def _search(margin: Callable[[Array], Array], start: float, direction: int) -> float | None:
    """First turn from ``start`` at which the margin is below zero, to 1e-7 turn; None when there is none in reach."""
    near, far = start, start + direction * REACH
    for _ in range(5):
        turns = np.linspace(near, far, LATTICE)
        with np.errstate(invalid="ignore"):
            bad = margin(turns) < 0
        if not bad.any():
            return None if near == start and far == start + direction * REACH else far
        k = int(bad.argmax())
        if k == 0:
            return near
        near, far = float(turns[k - 1]), float(turns[k])
    return (near + far) / 2


def travel(design: Any, *, bass: float = 0.0, treble: float = 0.0, start: float = 0.0) -> Travel:
    """Travel of the tilt screw [turn] from ``start``, with the pivot screws at the turns given."""
    d = design.dimensions()
    found = []
    for name, words, kind, margin in margins(design, d):
        def at(turns: Array, m: Callable[[Any], Array] = margin) -> Array:
            p = pose(d, tilt=turns, bass=bass, treble=treble)
            value = np.broadcast_to(m(p), np.shape(turns))
            return np.where(np.isnan(p.theta), np.inf, value)

        for direction in (-1, 1):
            found.append(Stop(name, words, _search(at, start, direction), direction, kind))
    out = pose(d, tilt=np.linspace(start - REACH, start + REACH, 961), bass=bass, treble=treble)
    for direction, k in ((-1, slice(None, 480)), (1, slice(481, None))):
        lost = np.isnan(np.broadcast_to(out.theta, (961,))[k])
        if lost.any():
            turns = np.linspace(start - REACH, start + REACH, 961)[k][lost]
            edge = float(turns[np.abs(turns - start).argmin()])
            found.append(Stop("reach", "no pose of the neck fits that length of the screw", edge, direction, "stop"))
    found.sort(key=lambda s: np.inf if s.turn is None else abs(s.turn - start))
    ends = {k: [s.turn for s in found if s.direction == k and s.kind == "stop" and s.turn is not None] for k in (-1, 1)}
    return Travel(max(ends[-1], default=start - REACH), min(ends[1], default=start + REACH), tuple(found))
