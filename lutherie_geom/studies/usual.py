"""Tolerances for a design that states none, or not all: what hand tools and a drill press leave."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from lutherie_geom.studies.spreads import Spreads, parse_spread

__all__ = ["USUAL", "usual"]

USUAL: Mapping[str, str] = MappingProxyType({
    "pivot.x": "± 0.3 mm", "pivot.z": "± 0.4 mm", "pivot.spacing": "± 0.3 mm", "heel.ball_height": "± 0.4 mm",
    "heel.ball_depth": "± 0.2 mm", "heel.yaw": "± 0.2 deg", "tilt_screw.pitch": "± 0.1 mm", "tilt_screw.head_x": "± 0.4 mm",
    "tilt_screw.head_z": "± 0.5 mm", "tilt_screw.receiver_x": "± 0.4 mm", "tilt_screw.receiver_z": "± 0.5 mm",
    "tilt_screw.set": "± 1/16 turn", "pivot.set_bass": "± 1/16 turn", "pivot.set_treble": "± 1/16 turn",
    "neck.angle": "± 0.1 deg", "board.thickness": "± 0.15 mm", "board.crown": "± 0.05 mm", "tongue.wood": "± 0.2 mm",
    "tongue.gap": "± 0.2 mm",
    "heel.floor_clearance": "± 0.2 mm", "pocket.depth": "± 0.25 mm", "pocket.side_gap": "± 0.15 mm", "heel.foot_z": "± 0.5 mm",
    "heel.half_width_foot": "± 0.15 mm", "body.dome_radius": "± 600 mm"})
"""What hand tools and a drill press leave (common practice, no source): for numbers without a tolerance of their own."""


def usual(design: Any) -> Spreads:
    """All numbers that may be off, each with the design's own tolerance or, without one, the usual."""
    own = design.tolerances
    flat = design.body.dome == "flat"
    of = {n: parse_spread(text, n) for n, text in USUAL.items() if not (flat and n == "body.dome_radius")} | dict(own.spreads)
    return Spreads(of, own.groups, own.common)
