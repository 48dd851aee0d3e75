"""The outlines of neck and body in section on the centreline, from the design: one home for every drawing from the side.

Lengths in mm, x and z of the body frame. What no field of the design says is a sketch: the neck's underside in front of the
heel, and the foot, which is drawn as long as ``FOOT`` of the heel.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.patches import Polygon

from lutherie_geom.design.units import convert
from lutherie_geom.joint.body import soundboard
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.show.style import COLOURS

__all__ = ["board_outline", "draw_body", "draw_neck", "neck_outline"]

FOOT, UNDER_SHAFT = 0.45, -10.0
_XZ = tuple[np.ndarray, np.ndarray]


def board_outline(design: Any, d: Dimensions, left: float) -> _XZ:
    """The board from ``left`` [mm] to the tongue's end, at the nominal pose: x and z [mm], without the crowns of the frets."""
    b = design.board
    x = np.linspace(left, float(d.tongue_length), 80)
    plane = d.z_joint + x * np.tan(d.alpha)
    return np.r_[x, x[::-1]], np.r_[plane - b.crown, plane[::-1] - b.crown - b.thickness]


def neck_outline(design: Any, d: Dimensions, left: float) -> _XZ:
    """The wood under the board from ``left`` [mm] on, at the nominal pose: tongue, heel's end face, foot, shaft; x and z [mm]."""
    cover, face, heel = design.board.crown + design.board.thickness, -float(d.floor_clearance), float(design.heel.length)
    u = np.linspace(face, float(d.tongue_length), 40)
    top = d.z_joint + u * np.tan(d.alpha) - cover
    under = top - np.maximum(tongue_wood(design, np.maximum(u, 0.0), d), 0.0)
    foot = float(d.foot_z)
    return (np.r_[u[::-1], face, -FOOT * heel, -heel, left, left, u],
            np.r_[under[::-1], foot, foot, UNDER_SHAFT, UNDER_SHAFT, d.z_joint + left * np.tan(d.alpha) - cover, top])


def draw_body(axes: Any, design: Any, system: str, right: float) -> None:
    """Soundboard as far as ``right`` [mm] and neck block, in section on the centreline; axes in ``system``."""
    d, top, block = design.dimensions(), design.body, design.block
    for x0, x1 in ((0.0, min(top.soundhole_near, right)), (top.soundhole_far, right)):
        if x0 < x1:
            x = np.linspace(x0, x1, 60)
            z = soundboard(d, x, 0.0)
            _polygon(axes, (np.r_[x, x[::-1]], np.r_[z, z[::-1] - top.top_thickness]), "soundboard", system)
    # Block from the underside of the top down; its outer face is the pocket's floor.
    under_top = float(soundboard(d, block.depth, 0.0)) - top.top_thickness
    rect = [0, block.depth, block.depth, 0], [-top.top_thickness, under_top, block.foot_z, block.foot_z]
    _polygon(axes, rect, "body", system)


def draw_neck(axes: Any, design: Any, system: str, left: float) -> None:
    """Board, tongue and heel at the nominal pose from ``left`` [mm] on, in section on the centreline; axes in ``system``."""
    d = design.dimensions()
    _polygon(axes, board_outline(design, d, left), "board", system)
    _polygon(axes, neck_outline(design, d, left), "neck", system)


def _polygon(axes: Any, outline: Any, part: str, system: str) -> None:
    points = np.column_stack([np.asarray(way, float) for way in outline]) * convert(1.0, system)  # type: ignore[arg-type]
    axes.add_patch(Polygon(points, closed=True, facecolor=COLOURS[part], alpha=0.28, edgecolor=COLOURS[part], lw=1.1))
