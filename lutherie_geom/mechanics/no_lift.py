"""No-lift: the least clamp force that keeps both balls down in their seats, and bounds where balance does not decide.

One criterion everywhere: no ball may climb its seat. Each seat gives only what its cone of normals allows; how two seats share
the force along the line from ball to ball is free. Each side of a cone then asks a least or a most of that share, in a straight
line with the clamp force. What all sides leave open is convex, so stepping from bend to bend finds the least clamp force exactly,
at any number of poses and loads at once. A seat lifts off later than its ball climbs. Bounds come by linear programming.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import find
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.mechanics.loads import DIRECTIONS, place
from lutherie_geom.mechanics.pull import axis_middle, wrench_at
from lutherie_geom.mechanics.seats import friction_range
from lutherie_geom.mechanics.statics import Joint, balance
from lutherie_geom.theory import fasteners

__all__ = ["Bound", "bounds", "clamp_torque", "least_clamp", "least_times", "screw_torque", "side_push"]

FLANK = math.radians(30)
"""Flank angle of metric and unified threads."""
HEAD_RUBS = 1.3
"""Mean diameter on which a cap head rubs, in nominal diameters: common practice, no source."""


def _program(joint: Joint, wrench: Array, hold: str, cost: Array, clamp: tuple[float, float]) -> Any:
    """Least ``cost`` over seats' rows, tilt screw and clamp [N]; one pose, one load. None when nothing balances."""
    from scipy.optimize import linprog

    if np.ndim(wrench) != 1 or joint.rows.ndim != 2:
        raise ValueError(f"wrench has shape {np.shape(wrench)} at poses of shape {joint.rows.shape[:-2]}; linear programming "
                         "takes one load at one pose: shapes (6,) and ()")
    b, t = joint.seat_rows
    n = joint.unit.shape[-1] + 1
    limits, at = [], 0
    for seat, rows in zip(joint.seats, (b, t), strict=True):
        # What the rows of this contact give to the ball, held against the seat's cone of normals.
        facets = seat.facets(hold) @ rows[:, :3].T
        block = np.zeros((len(facets), n))
        block[:, at:at + len(rows)] = facets
        limits.append(block)
        at += len(rows)
    columns = np.concatenate([joint.unit, joint.clamp_pull[:, None]], axis=1)
    size = np.array([1.0, 1, 1, 50, 50, 50])  # moments in the size of forces: arms in the joint are some 50 mm
    upper = np.concatenate(limits)
    found = linprog(cost, A_ub=upper, b_ub=np.zeros(len(upper)), A_eq=columns / size[:, None], b_eq=-np.asarray(wrench) / size,
                    bounds=[(None, None)] * (n - 1) + [clamp], method="highs")
    return found if found.status == 0 else None


def least_times(joint: Joint, wrench: Array, by: Array, hold: str = "smooth") -> Array:
    """How many times a wrench ``by`` it takes to keep both balls down under a load, clamp slack: (...) [1]; inf: never enough.

    Wrenches are (..., 6) [N, N mm] at the joint's poses. ``hold``: "smooth" (no ball climbs its seat, no friction), "rubbing"
    (the same with little friction) or "axial" (a seat lifts off only when it would have to pull). nan where there is no pose.
    Raises ValueError for another ``hold``.
    """
    loaded, helped = balance(joint, wrench, 0.0), balance(joint, by, 0.0)
    parts: list[tuple[Array, Array, Array]] = []
    for seat, force, more, sign in zip(joint.seats, (loaded.bass, loaded.treble), (helped.bass, helped.treble), (1, -1),
                                       strict=True):
        sides = seat.facets(hold).T
        parts.append((force @ sides, more @ sides, sign * joint.fight @ sides * (hold != "axial")))
    asked, given, share = np.broadcast_arrays(*(np.concatenate(x, axis=-1) for x in zip(*parts, strict=True)))
    free = np.abs(share) > 1e-6
    asked, given = (x / np.where(free, np.abs(share), 1.0) for x in (asked, given))

    def worst(which: Array) -> tuple[Array, Array]:
        """What the side that asks most still lacks, and what once more of the help changes in it."""
        lacks = np.where(which, asked + times[..., None] * given, -np.inf)
        k = lacks.argmax(axis=-1)[..., None]
        return np.take_along_axis(lacks, k, axis=-1)[..., 0], np.take_along_axis(given, k, axis=-1)[..., 0]

    times, never = np.zeros(asked.shape[:-1]), np.zeros(asked.shape[:-1], dtype=bool)
    for _ in range(asked.shape[-1]):  # once for each side at the most; a handful in practice
        (up, up_more), (down, down_more) = worst(free & (share > 0)), worst(free & (share < 0))
        steps = [np.where(lacks > 0, lacks / np.where(more < 0, -more, np.nan), 0.0)
                 for lacks, more in ((up + down, up_more + down_more), worst(~free))]
        never |= np.isnan(steps).any(axis=0)
        step = np.where(never, 0.0, np.maximum(*steps))
        times = times + step
        if not np.any(step > 1e-12 * (1 + times)):
            break
    return np.where(np.isnan(asked).any(axis=-1), np.nan, np.where(never, np.inf, times))


def least_clamp(joint: Joint, wrench: Array, hold: str = "smooth") -> Array:
    """Least clamp force [N] with which no ball climbs its seat under a load, (...) for wrenches (..., 6) [N, N mm]; inf when no
    clamp force does. ``hold`` and errors as in :func:`least_times`."""
    return least_times(joint, wrench, joint.clamp_pull, hold)


def side_push(joint: Joint, held: Array) -> Array:
    """Push at the headstock's end with which a ball begins to climb, to the bass and to the treble: (2, *batch) [N].

    ``held`` (*batch, 6) [N, N mm]: the wrench that keeps the balls down meanwhile, the clamp's own pull counted in; inf where a
    push lifts nothing.
    """
    p = joint.pose
    one = [wrench_at(axis_middle(p), place(joint.design, p, "headstock end"), np.array(DIRECTIONS[way]))
           for way in ("to the bass", "to the treble")]
    with np.errstate(divide="ignore"):
        return np.asarray(1 / least_times(joint, np.stack(one), held))


@dataclass(frozen=True)
class Bound:
    """Least and greatest value [N] that balance and the seats allow; equal when balance decides."""

    name: str
    low: float
    high: float

    @property
    def decided(self) -> bool:
        """True when the two agree to a millionth of a newton and a millionth of their size."""
        return self.high - self.low <= 1e-6 * (1 + abs(self.low))

    def __str__(self) -> str:
        if self.decided:
            return f"{self.name}: {self.low:.0f} N"
        return f"{self.name}: not decided, {self.low:.0f} to {self.high:.0f} N"


def bounds(joint: Joint, wrench: Array, clamp: tuple[float, float] | None = None, hold: str = "smooth") -> tuple[Bound, ...]:
    """Bounds of every force [N] under a load (6,), the clamp's force between two values (by default at its preload).

    Raises ValueError for a batch; all are nan when the load can't be held without a ball leaving its seat.
    """
    preload = float(joint.design.clamp.preload)
    limits = (preload, preload) if clamp is None else clamp
    b, t = joint.seat_rows
    n = joint.unit.shape[-1] + 1
    wanted: list[tuple[str, Array]] = []
    for seat, rows, at in ((joint.seats[0], b, 0), (joint.seats[1], t, len(b))):
        for axis, (words, sign) in enumerate((("along its axis", -1.0), ("to the treble", 1.0), ("up", 1.0))):
            cost = np.zeros(n)
            cost[at:at + len(rows)] = sign * rows[:, axis]
            wanted.append((f"{seat.name} {words}", cost))
    wanted.append(("tilt screw, tension", np.eye(n)[-2]))
    found = []
    for name, cost in wanted:
        ends = [_program(joint, wrench, hold, s * cost, limits) for s in (1, -1)]
        found.append(Bound(name, *(np.nan if e is None else s * e.fun for s, e in zip((1, -1), ends, strict=True))))
    return tuple(found)


def screw_torque(design: Any, which: str, force: Array, friction: Array, *, head_friction: Array | None = None,
                 loosening: bool = False) -> Array:
    """Torque at the key [N mm] of the "tilt_screw" or the "clamp" at a force in the screw [N] and a friction [1].

    Thread from diameter and pitch, ISO form; the head rubs on 1.3 diameters, with ``friction`` too unless ``head_friction`` [1]
    is given. ``loosening``: turned so that the load helps.
    """
    screw = getattr(design, find(which, ("tilt_screw", "clamp"), "screw"))
    d2 = fasteners.metric_thread(diameter=screw.diameter, pitch=screw.pitch).pitch_diameter
    relation = fasteners.torque_with if loosening else fasteners.torque_against
    return relation(force=force, pitch_diameter=d2, tan_lead=fasteners.lead_slope(pitch=screw.pitch, pitch_diameter=d2, starts=1),
                    flank=FLANK, friction=friction, head_mean_diameter=HEAD_RUBS * screw.diameter,
                    head_friction=friction if head_friction is None else head_friction)


def clamp_torque(design: Any, force: Array) -> tuple[Array, Array]:
    """Key torque [N mm] that gives the clamp screw a force [N]: at low and at high friction of thread and head.

    The higher one is safe against lifting; on an oiled thread it gives nearly twice the force: look at the screw's strength.
    """
    low, high = (screw_torque(design, "clamp", force, thread, head_friction=head)
                 for thread, head in zip(friction_range("thread").both, friction_range("head").both, strict=True))
    return low, high
