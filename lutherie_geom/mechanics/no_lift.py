"""No-lift: the least clamp force that keeps both balls in their seats, and bounds where balance does not decide.

Linear programming over the contact rows: the forces of both seats, the tilt screw and the clamp balance the load, and each seat
gives only what its cone of normals allows. The number of programs is small: one for a least clamp force, two for each bound. For
sweeps over many poses there is a closed form for the axial force, and a short rule for a side load checks both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import find
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.mechanics.seats import friction_range
from lutherie_geom.mechanics.statics import Joint, balance
from lutherie_geom.theory import fasteners

__all__ = ["Bound", "bounds", "clamp_torque", "least_clamp", "least_clamp_axial", "screw_torque"]

FLANK = math.radians(30)
"""Flank angle of metric and unified threads."""
HEAD_RUBS = 1.3
"""Mean diameter on which a cap head rubs, in nominal diameters: common practice, no source."""


def _program(joint: Joint, wrench: Array, hold: str, cost: Array, clamp: tuple[float, float | None], *,
             push: tuple[float | None, float | None] = (None, None)) -> Any:
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
                    bounds=[(None, None)] * (n - 2) + [push, clamp], method="highs")
    return found if found.status == 0 else None


def least_clamp(joint: Joint, wrench: Array, hold: str = "smooth") -> float:
    """Least clamp force [N] with which a load (6,) [N, N mm] lifts no ball; inf when no clamp force does.

    ``hold``: "axial" (each seat still pushes along its axis), "smooth" (no ball rides up its rim, no friction) or "rubbing" (the
    same with little friction). Raises ValueError for a batch.
    """
    n = joint.unit.shape[-1] + 1
    cost = np.zeros(n)
    cost[-1] = 1.0
    found = _program(joint, wrench, hold, cost, (0.0, None))
    return math.inf if found is None else float(found.fun)


def least_clamp_axial(joint: Joint, wrench: Array) -> Array:
    """The same for "axial" in closed form, over any poses and loads (..., 6): (...) [N].

    Each seat's axial force is decided, and rises evenly with the clamp; the seat that needs most of it counts.
    """
    bare, one = balance(joint, wrench, 0.0), balance(joint, wrench, 1.0)
    need = [-n0 / np.where(n1 - n0 > 1e-12, n1 - n0, np.nan) for n0, n1 in zip(bare.seat_push, one.seat_push, strict=True)]
    return np.maximum(np.maximum(*need), 0.0)


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
