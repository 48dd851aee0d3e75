"""Wishes with an exact answer: the size of one dimension at which something wanted comes out, by ``theory/optima``."""

from __future__ import annotations

from dataclasses import dataclass
from numbers import Real
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.layout_readings import SIXTEENTH
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import saddle_tops, string_lines
from lutherie_geom.studies.joint_page import FRET
from lutherie_geom.theory import optima

__all__ = ["Wishes", "wishes"]


@dataclass(frozen=True)
class Wishes:
    """Answers for one design, its other sizes as they are; lengths in mm, pitch in mm/turn.

    still_height: of the pivot, tilt leaves the strings their length (mean of all); arm, pitch: either gives the ``step`` of the
    mean action for 1/16 turn; rate: of that action [mm/rad]; plain_depth: of the pivot, steering does not tilt the neck;
    still_depth: the tilt that steering brings makes up for the board's crown; still_head: the captive face at which the block's
    swelling does not turn the neck.
    """

    design: Any
    step: float
    rate: float
    still_height: float
    arm: float
    pitch: float
    plain_depth: float
    still_depth: float
    still_head: float

    def __str__(self) -> str:
        d = self.design.dimensions()
        return folded(
            f"{self.design.name}: wishes with an exact answer, one at a time",
            f"tilt leaves the strings their length: pivot's height {self.still_height:+.1f} mm (now {float(d.z_p):g})",
            f"1/16 turn is {self.step:g} mm of action: arm {self.arm:.1f} mm (now {float(arm(d)):.1f}), or pitch "
            f"{self.pitch:.3f} mm (now {float(d.pitch_tilt):g})",
            f"steering does not tilt the neck: pivot as deep as the captive head, {self.plain_depth:g} mm (now {float(d.x_p):g})",
            f"steering leaves the action on the centreline alone: pivot's depth {self.still_depth:.1f} mm",
            f"swelling of the block does not turn the neck: captive face at {self.still_head:.1f} mm (now {float(d.x_head):g})")

    __repr__ = __str__


def wishes(design: Any, step: float = 0.10) -> Wishes:
    """The answers for a design; ``step``: wanted change of the mean action at fret 12 for 1/16 turn [mm], 0.01 to 1."""
    from lutherie_geom.mechanics.movement import null_captive_face, swelling_of

    if isinstance(step, bool) or not isinstance(step, Real) or not 0.01 <= step <= 1:
        raise ValueError(f"step is {step!r} mm: give a number from 0.01 to 1 mm")
    d = design.dimensions()
    p = pose(d)
    line, (x, _, z) = string_lines(p), saddle_tops(p)
    nut = p.to_body(line.x_nut, line.y_nut, line.z_nut)
    height = optima.still_length(x_nut_body=nut.x, z_nut_body=nut.z, x_saddle=x, z_saddle=z, x_p=d.x_p)
    # By turns over what a turn tilts: exact for every arm, for the rate does not know the screw.
    rate = float(np.mean(action_slopes(p, FRET)["tilt"]) * arm(d) / d.pitch_tilt)
    known = dict(rate=rate, tilt=SIXTEENTH, action_step=step)
    x_fret = d.x_fret(float(FRET))
    part = float(np.mean((x_fret - d.x_nut) / (line.xn_saddle - d.x_nut)))
    board = dict(x_saddle=float(np.mean(d.x_saddle)), alpha=d.alpha, radius_fret=d.board_radius(x_fret), string_part=part,
                 x_head=d.x_head, arm=arm(d))
    if d.receiver == "dowel across":
        length = float(np.hypot(d.x_head - d.x_receiver, d.z_head - d.z_receiver))
        depth = optima.still_depth(x_receiver=d.x_receiver, screw_length=length, **board).inner
    else:
        depth = optima.still_depth_rod(**board)
    return Wishes(design, float(step), rate, float(np.mean(height)), float(optima.arm_for_step(pitch_tilt=d.pitch_tilt, **known)),
                  float(optima.pitch_for_step(arm=arm(d), **known)), float(d.x_head), float(depth),
                  float(null_captive_face(design, swelling_of(design))))
