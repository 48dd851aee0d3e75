"""The strings' pull: tension of each string, their resultant, and where its line passes the joint.

Free body: neck, headstock, tuners and the strings with them, cut at the saddle. What acts on it from outside is each string's
tension, along the string from nut to saddle. Break angle, turns on the post and friction in the nut slot lie inside this body,
so they change nothing here; friction at the nut changes only what the tuner feels.

Arrays: tension is (strings, *batch); forces and moments are (*batch, 3), x y z along the body's axes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, read_table
from lutherie_geom.design.lines import folded
from lutherie_geom.design.tuning import Strung, strung
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import Pose, arm
from lutherie_geom.joint.strings import column, saddle_tops, string_lines
from lutherie_geom.theory.lever import screw_force
from lutherie_geom.theory.statics import pull_line, string_energy, wire_strength

__all__ = ["CAUTION", "Pull", "axis_middle", "pull_of", "stacked", "string_ends", "string_pull", "wrench_at"]

CAUTION = ("Strings at pitch hold some 700 N and more. Wear eye protection near them, slacken all strings evenly before a screw "
           "of the joint is loosened, and keep your face out of their line.")


def axis_middle(p: Pose) -> Array:
    """Middle of the pivot axis at a pose (*batch, 3) [mm]."""
    return np.stack(np.broadcast_arrays(np.asarray(p.of.x_p - p.advance, dtype=float), 0.0, p.of.z_p, p.theta, p.psi)[:3], -1)


def stacked(x: Array, y: Array, z: Array) -> Array:
    """Three coordinates as points (*batch, 3), from numbers or arrays that broadcast."""
    return np.stack(np.broadcast_arrays(x, y, z), -1)


def string_ends(p: Pose) -> tuple[Array, Array]:
    """Both ends of every string in the body frame: nut and saddle, each (3, strings, *batch) [mm]."""
    lines = string_lines(p)
    nut = np.broadcast_arrays(*p.to_body(lines.x_nut, lines.y_nut, lines.z_nut))
    return np.stack(nut), np.stack(np.broadcast_arrays(*saddle_tops(p), nut[0])[:3])


def wrench_at(middle: Array, point: Array, force: Array) -> Array:
    """Force [N] and its moment [N mm] about ``middle`` (*batch, 3) of a force (*batch, 3) at a point: (*batch, 6)."""
    force, lever = np.broadcast_arrays(force, np.asarray(point) - middle)
    return np.concatenate([force, np.cross(lever, force)], axis=-1)


@dataclass(frozen=True)
class Pull:
    """The strings' pull on the neck at a pose."""

    pose: Pose
    names: tuple[str, ...]
    course: tuple[int, ...]
    """Place of each string at nut and saddle, 0 is the bass course."""
    tension: Array
    """Tension of each string (strings, *batch) [N]."""
    wrench: Array
    """Resultant and its moment about the middle of the pivot axis (*batch, 6) [N, N mm], body frame."""
    energy: Array
    """Energy stored in each string (strings, *batch) [N mm = mJ]; nan when the strings are not named."""
    slack: Array
    """How far each string must shorten until it is slack (strings, *batch) [mm]; nan when they are not named."""
    wire_share: Array
    """Stress in each core over the least strength of its wire (strings, *batch) [1]; nan when the strings are not named."""
    spread: float
    """Share by which energy and slack may lie off, from the spread of the steel's modulus [1]; tensions do not depend on it."""
    source: str
    about: str

    @property
    def total(self) -> Array:
        """Sum of the tensions [N]."""
        return self.tension.sum(axis=0)

    @property
    def force(self) -> Array:
        """Resultant on the neck (*batch, 3) [N], body frame."""
        return self.wrench[..., :3]

    @property
    def moment(self) -> Array:
        """Moment about the steered pivot axis [N mm]; positive lifts the nut and turns the heel's foot out."""
        p = self.pose
        return self.wrench[..., 4] * p.cos_psi - self.wrench[..., 3] * p.sin_psi

    @property
    def line(self) -> Any:
        """Where the resultant passes the pivot axis, seen from the side: ``height_over_pivot`` and ``lever`` [mm]."""
        return pull_line(force_x=self.wrench[..., 0], force_z=self.wrench[..., 2], moment_y=self.moment)

    @property
    def point(self) -> Array:
        """Where the resultant crosses the plane of the joint face, x = 0 (*batch, 3) [mm].

        The strings spread, so besides the resultant there is left a small couple about its own line: see ``twist``.
        """
        f, m = self.wrench[..., :3], self.wrench[..., 3:]
        foot = axis_middle(self.pose) + np.cross(f, m) / (f * f).sum(axis=-1, keepdims=True)
        return foot - f * (foot[..., :1] / f[..., :1])

    @property
    def direction(self) -> Array:
        """Direction of the resultant (*batch, 3) [1]."""
        return self.force / np.linalg.norm(self.force, axis=-1, keepdims=True)

    @property
    def twist(self) -> Array:
        """Couple about the resultant's own line [N mm]."""
        return (self.wrench[..., 3:] * self.direction).sum(axis=-1)

    @property
    def by_virtual_work(self) -> Array:
        """Force in the tilt screw at the nominal pose by the rule total pull x lever arm / arm [N]."""
        return screw_force(pull=np.hypot(self.wrench[..., 0], self.wrench[..., 2]), string_lever=self.line.lever,
                           arm=arm(self.pose.of))

    def __str__(self) -> str:
        if self.tension.ndim > 1:
            return f"pull of {len(self.names)} strings at {self.tension.shape[1:]} poses"
        lines = [f"{n:<10} {t:7.1f} N" for n, t in zip(self.names, self.tension, strict=True)]
        y, z = self.point[1:]
        return folded(
            *lines, f"{'together':<10} {self.total:7.1f} N, {self.about}",
            f"passes the joint face {z:.1f} mm over the soundboard, {abs(y):.1f} mm to the {'treble' if y >= 0 else 'bass'} "
            f"side, {self.line.height_over_pivot:.1f} mm over the pivot axis",
            f"turns the neck about the pivot axis with {self.moment / 1000:.2f} N m, nut up",
            *([f"stores {self.energy.sum() / 1000:.2f} J, give or take {100 * self.spread:.0f} in 100 for the steel's modulus"]
              if np.isfinite(self.energy).all() else []),
            *([f"the core under most stress is at {100 * self.wire_share.max():.0f} in 100 of the least strength of its wire"]
              if np.isfinite(self.wire_share).all() else []),
            f"source: {self.source}", f"caution: {CAUTION}")

    __repr__ = __str__


def pull_of(p: Pose, tension: Array, *, course: tuple[int, ...] | None = None, names: tuple[str, ...] | None = None) -> Pull:
    """The pull of strings whose tensions (strings, *batch) [N] are given; ``course`` is each string's place, bass first.

    Raises ValueError when there are not as many tensions as strings.
    """
    where = tuple(range(p.of.strings)) if course is None else course
    tension = column(np.asarray(tension, dtype=float), p.batch)
    if tension.ndim == 0 or len(tension) != len(where):
        raise ValueError(f"tension has shape {tension.shape}; expected one value for each of the {len(where)} strings, in N")
    nut, saddle = (end[:, list(where)] for end in string_ends(p))
    along = saddle - nut
    force = tension * along / np.sqrt((along**2).sum(axis=0))
    tension = np.broadcast_to(tension, force.shape[1:])
    middle = axis_middle(p)
    wrench = wrench_at(middle[None], np.moveaxis(saddle, 0, -1), np.moveaxis(force, 0, -1)).sum(axis=0)
    none = np.full(tension.shape, np.nan)
    return Pull(p, names or tuple(f"string {i + 1}" for i in range(len(where))), where, tension, wrench, none, none, none, 0.0,
                "given", "tensions given")


def string_pull(design: Any, p: Pose | None = None) -> Pull:
    """The pull of the design's string set at its tuning, every string tuned to pitch at the pose (by default the nominal one).

    Tension by Mersenne's law from mass, length and pitch. Raises CatalogueError for an unknown set or tuning, or a set with
    another number of courses.
    """
    p = design.pose() if p is None else p
    s: Strung = strung(design)
    if max(s.course) + 1 != p.of.strings:
        raise CatalogueError(f"the pose has {p.of.strings} strings, the set {max(s.course) + 1} courses")
    n, own = p.batch, strings_of(design, p)
    found = pull_of(p, own.tension, course=s.course, names=own.names)
    stored = string_energy(tension=found.tension, length=own.length + own.free, stiffness=column(own.stiffness, n))
    low, core = read_table("strings")["wire"]["low"], column(np.array([x.core_diameter for x in s.strings]), n)
    share = found.tension / (np.pi / 4 * core**2) / wire_strength(
        wire_constant=low["constant"], wire_exponent=low["exponent"], wire_diameter=core)
    one = s.strings[0]
    spread = max(one.modulus_high / one.modulus - 1, 1 - one.modulus_low / one.modulus)
    return Pull(p, found.names, s.course, found.tension, found.wrench, stored.energy, stored.slack, share, spread,
                f"{one.source} ({one.mark})", f"{design.strings.called}, {s.tuning} ({s.about})")
