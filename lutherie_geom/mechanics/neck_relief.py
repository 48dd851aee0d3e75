"""The neck's own relief under string pull: a beam from nut to joint, bent by strings that run beside its neutral axis.

The headstock's end of the neck, cut off anywhere, is held by the strings alone: the moment there is pull times height of the
strings over the neutral axis. The neck bends forward, which lengthens that lever; the action is taken as set again afterwards.
The joint fret is taken as clamped, the truss rod as slack and its slot as empty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.woods import creep_factor, wood
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import string_lines
from lutherie_geom.mechanics.along import column, gauss, read_at, running
from lutherie_geom.mechanics.tongue_sections import cut_parts, sagitta
from lutherie_geom.theory import tongue_beam

__all__ = ["BOARD_SPREAD", "NeckBow", "Relief", "neck_bow", "relief"]

BOARD_SPREAD = 0.2
"""How much stiffer or softer one board may be than its species, as a part (from memory, see the table of woods)."""
_ROUNDS = 10
"""Each round of bow and longer lever is some twenty times smaller than the one before, six times under a monstrous pull."""


@dataclass(frozen=True)
class NeckBow:
    """A neck under its strings. relief: at the middle from fret 1 to the joint fret [mm], (*batch); nut: how far the nut comes
    forward [mm]; x: stations [mm], and there rigidity [N mm^2], lever of the strings over the neutral axis [mm] at rest and
    bow, forward plus [mm]: (stations, *batch)."""

    relief: Array
    nut: Array
    x: Array
    rigidity: Array
    lever: Array
    bow: Array


def _tensions(design: Any, p: Pose) -> Array:
    """Tension of each course at its own length [N], (courses, *batch)."""
    return strings_of(design, p).course_tension


def neck_bow(design: Any, d: Dimensions | None = None, *, at: Pose | None = None, pull: Array | None = None, slots: str = "least",
             clamped: Array = 0.0, **changes: Array) -> NeckBow:
    """Bow of the neck under string pull, all truss-rod force off.

    ``pull`` [N]: all strings together, the design's own set if not said; ``clamped``: where the neck begins to bend [mm before
    the joint fret]; ``slots``: how fret slots count (the strings press them shut on the tangs: ``least``). ``changes``:
    neck_modulus, board_modulus [MPa], depth_nut, depth_joint, truss_width, truss_depth [mm], arrays as wanted. Raises
    ValueError when the truss rod's slot is deeper than the neck wood, or a change is unknown.
    """
    p = at or pose(d or design.dimensions())
    d = p.of
    n, b = design.neck, design.board
    values: dict[str, Array] = dict(neck_modulus=wood(design.woods.neck).modulus, board_modulus=wood(design.woods.board).modulus,
                                    depth_nut=n.depth_nut, depth_joint=n.depth_joint, truss_width=n.slot_width,
                                    truss_depth=n.slot_depth)
    if unknown := sorted(set(changes) - set(values)):
        raise TypeError(f"neck_bow knows no {unknown}; it takes {sorted(values)}")
    values |= changes
    tension = _tensions(design, p)
    pull = tension.sum(axis=0) if pull is None else pull
    batch = max([p.batch, np.ndim(pull), np.ndim(clamped), *(np.ndim(v) for v in values.values())])
    u, w = (column(v, batch) for v in gauss())
    end = np.asarray(d.x_fret(d.joint_fret)) - clamped
    length = end - np.asarray(d.x_nut)
    x = end - u * length  # from the joint to the nut
    part = (x - d.x_nut) / (d.x_fret(d.joint_fret) - d.x_nut)
    depth_nut, depth_joint = (np.asarray(values.pop(k)) for k in ("depth_nut", "depth_joint"))
    depth = depth_nut + (depth_joint - depth_nut) * part - b.thickness
    if np.any(depth <= values["truss_depth"]):
        raise ValueError(f"neck.slot_depth: {float(np.max(values['truss_depth'])):g} mm leave no neck wood where it is "
                         f"{float(np.min(depth)):.1f} mm deep under the board; allowed is less than that")
    breadth = d.width_nut + (d.width_last - np.asarray(d.width_nut)) * (x - d.x_nut) / (d.x_fret(d.last_fret) - d.x_nut)
    common = dict(breadth=breadth, sagitta=sagitta(d, x, breadth), depth=depth, **values)
    whole = tongue_beam.neck_section(board=b.thickness, **common)
    cut = tongue_beam.neck_section(board=b.thickness - design.tongue.slot_depth, **common)
    rigidity = tongue_beam.slotted_rigidity(whole=whole.rigidity, cut=cut.rigidity,
                                            cut_part=cut_parts(design, d, x, depth + b.thickness, slots))
    # Strings' mean height over the fret plane, each with its own pull; the neutral axis lies under crown, board and glue line.
    line, share = string_lines(p), tension / tension.sum(axis=0)
    z_nut, z_saddle, x_saddle = ((share * v).sum(axis=0) for v in (line.z_nut, line.zn_saddle, line.xn_saddle))
    height = z_nut + (z_saddle - z_nut) * (x - line.x_nut) / (x_saddle - line.x_nut)
    lever = height + b.crown + b.thickness - whole.centroid
    bow, nut = np.zeros(np.shape(lever * rigidity)), 0.0
    for _ in range(_ROUNDS):
        bent = pull * (lever + u * nut - bow) / rigidity
        slope = length * running(bent)
        bow = length * running(slope)
        nut = length * (w * slope).sum(axis=0)
    first, joint = np.asarray(d.x_fret(1)), np.asarray(d.x_fret(d.joint_fret))

    def at_place(where: Array) -> Array:
        """Bow [mm] at x' [mm]; none where the neck is clamped."""
        return np.where(where >= end, 0.0, read_at(bow, (end - where) / length))

    middle = at_place((first + joint) / 2)
    return NeckBow((at_place(first) + at_place(joint)) / 2 - middle, nut, x, rigidity, lever, bow)


@dataclass(frozen=True)
class Relief:
    """Report on a neck's relief under string pull; lengths in mm, pull in N."""

    name: str
    pull: float
    relief: float
    low: float
    high: float
    slotted: float
    stiff_heel: float
    heel: float
    wanted: float
    creep: float
    creep_source: str
    lever: tuple[float, float]
    rigidity: tuple[float, float]
    longer_lever: float

    def __str__(self) -> str:
        take = self.relief - self.wanted
        back = (f"the truss rod must take back {take:.2f} mm for the {self.wanted:.2f} mm wanted" if take > 0 else
                f"less than the {self.wanted:.2f} mm wanted: a truss rod would have to push forward, or the board be planed so")
        return folded(
            f"{self.name}: {self.pull:.0f} N of string pull bow a straight neck by {self.relief:.2f} mm at the middle; {back}",
            f"  range {self.low:.2f} to {self.high:.2f} mm, wood a fifth stiffer or softer than its species (from memory); with "
            f"fret slots open {self.slotted:.2f} mm",
            f"  with the neck stiff over the heel's {self.heel:.0f} mm it would be {self.stiff_heel:.2f} mm; the truth lies "
            "between",
            f"  creep: after years up to {self.relief * self.creep:.2f} mm (factor {self.creep:g}, {self.creep_source}); leave "
            f"the truss rod {self.relief * (self.creep - 1):.2f} mm more to give. Slacken the strings before a hard-going truss "
            "rod is forced",
            f"  strings run {self.lever[0]:.1f} mm (nut) to {self.lever[1]:.1f} mm (joint) over the neutral axis; EI "
            f"{self.rigidity[0] / 1e6:.0f} to {self.rigidity[1] / 1e6:.0f} N m^2; of the relief {100 * self.longer_lever:.0f} % "
            "comes of the bow's own lever",
            "  left out: shear, the truss rod's own stiffness, rods in the neck, frets wedged in their slots (they bow it back), "
            "what the joint gives, moisture")

    __repr__ = __str__


def relief(design: Any, *, at: Pose | None = None) -> Relief:
    """Report on the neck's relief under the strings of a design; ``at``: pose of the neck."""
    p = at or pose(design.dimensions())
    spread = np.array([1.0, 1 + BOARD_SPREAD, 1 - BOARD_SPREAD])
    found = neck_bow(design, at=p, neck_modulus=wood(design.woods.neck).modulus * spread,
                     board_modulus=wood(design.woods.board).modulus * spread)
    pull = float(_tensions(design, p).sum())
    stiff = neck_bow(design, at=p, clamped=design.heel.length)
    years = creep_factor()
    small = neck_bow(design, at=p, pull=pull * 1e-3)
    lever, rigidity = found.lever[:, 0], found.rigidity[:, 0]
    middle, low, high = found.relief.tolist()
    return Relief(design.name, pull, middle, low, high, float(neck_bow(design, at=p, slots="likely").relief), float(stiff.relief),
                  design.heel.length, design.board.relief, years.value, f"{years.source}, {years.mark}",
                  (float(lever[-1]), float(lever[0])), (float(rigidity[-1]), float(rigidity[0])),
                  float(found.relief[0] / (small.relief * 1e3) - 1))
