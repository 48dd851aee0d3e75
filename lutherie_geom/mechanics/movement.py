"""What moisture moves: the braced top's rise, the neck block, neck and board; the neck's pose, and the action.

Moisture changes are taken from the moisture at which the action was set. Arrays over time and samples; time first. Top, block
and neck may each have a moisture of their own: they follow the air at different speeds.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from lutherie_geom.design.woods import Wood, wood
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import Pose, arm, pose
from lutherie_geom.joint.relief import with_relief
from lutherie_geom.joint.strings import action
from lutherie_geom.mechanics.freed_top import sheet_of
from lutherie_geom.theory.climate import (
    null_head,
    size_change_rule,
    strip_curvature,
    strip_rise,
    swelling_off_grain,
    swelling_tilt_rule,
)

__all__ = ["ALONG", "BOARD_MORE", "PARTS", "SPREAD", "Swelling", "TopStrip", "action_change", "null_captive_face", "swelling_of",
           "swollen"]

Array = Any  # a float or a numpy array of floats

ALONG = 0.00005
"""Swelling along the grain [1/%]: from memory, no source."""
SPREAD = 0.20
"""Half of a rectangular spread on every swelling, as a part of it: one board against its species (no source)."""
BOARD_MORE = 0.00002
"""Board and neck may differ so much along the grain, either way [1/%]: a guess from the size of ALONG, no source."""
PARTS = {"braced top and bridge": ("top_rise", "bridge"), "block along the screws": ("block", "heel"),
         "block in height": ("block_up",), "neck and board in height": ("neck", "board"), "relief": ("relief",)}
"""Which swellings make which part of the movement."""


@dataclass(frozen=True, kw_only=True)
class TopStrip:
    """The braced top at the bridge as a strip across the body: sizes [mm]; ``share`` of the free strip's rise that sides and
    braces let through [1]. Sizes: common practice, no source; the share is a guess from 0.1 to 0.6: measure your own top.
    """

    span: Array = 350.0
    brace_depth: Array = 12.0
    brace_breadth: Array = 8.0
    brace_spacing: Array = 90.0
    share: Array = 0.3
    brace_wood: str = "sitka spruce"


@dataclass(frozen=True, kw_only=True)
class Swelling:
    """What one percent of moisture moves. ``top_rise``: the bridge [mm/%]; the rest are swellings [1/%]: ``block`` along the
    screws and up, ``heel`` along the screws, ``neck`` and ``board`` in height, ``bridge`` in height. ``relief``: of the neck
    [mm/%], its slot and truss rod left out. ``anchor``, ``ball``: where block and heel hold the pivot seats' threads and the
    balls, along the body [mm].
    """

    top_rise: Array
    block: Array
    block_up: Array
    heel: Array
    neck: Array
    board: Array
    bridge: Array
    relief: Array
    anchor: Array
    ball: Array

    def times(self, factor: Array) -> Swelling:
        """Every movement times a factor."""
        moved = {f.name: getattr(self, f.name) * factor for f in fields(self) if f.name not in ("anchor", "ball")}
        return replace(self, **moved)

    def only(self, *names: str) -> Swelling:
        """The named movements alone, all others still."""
        still = {f.name: 0.0 for f in fields(self) if f.name not in ("anchor", "ball", *names)}
        return replace(self, **still)


def _across(w: Wood, at: float) -> float:
    """Swelling across the grain [1/%], between radial and tangential: how the piece is sawn is not in the design."""
    return (w.swelling("radial", at) + w.swelling("tangential", at)) / 2


def swelling_of(design: Any, *, strip: TopStrip | None = None, board_more: Array = 0.0, anchor: Array | None = None,
                ball: Array | None = None) -> Swelling:
    """From the design's woods: two-layer strips for the top and for the neck, swelling coefficients for the rest.

    ``board_more`` [1/%]: by how much the board swells more than the neck along the grain. ``anchor`` [mm]: by default the
    middle of the seat's insert; ``ball`` [mm]: by default the pivot's x.
    """
    s, woods = strip or TopStrip(), design.woods
    at = float(woods.moisture)
    top, brace = wood(woods.top), wood(s.brace_wood)
    sheet = sheet_of(top, thickness=float(design.body.top_thickness), moisture=at)
    bow = strip_curvature(thickness_1=s.brace_depth, modulus_1=brace.modulus * s.brace_breadth / s.brace_spacing, strain_1=ALONG,
                          thickness_2=sheet.thickness, modulus_2=sheet.modulus_y, strain_2=top.swelling("radial", at))
    d, board, neck = design.dimensions(), float(design.board.thickness), design.neck
    bend = strip_curvature(thickness_1=(neck.depth_nut + neck.depth_joint) / 2 - board, modulus_1=wood(woods.neck).modulus,
                           strain_1=0.0, thickness_2=board, modulus_2=wood(woods.board).modulus, strain_2=board_more)
    relief = -strip_rise(bow=bend, span=float(d.x_fret(d.joint_fret) - d.x_fret(1)))  # a longer board bows the neck back
    block, own = _across(wood(woods.block), at), _across(wood(woods.neck), at)

    def off(across: float, angle: float) -> Array:
        return swelling_off_grain(along_swelling=ALONG, across_swelling=across, grain_angle=angle)

    return Swelling(top_rise=s.share * strip_rise(bow=bow, span=s.span), block=off(block, woods.block_angle(1.0, 0.0, 0.0)),
                    block_up=off(block, woods.block_angle(0.0, 0.0, 1.0)), heel=off(own, woods.heel_runout), neck=own,
                    board=_across(wood(woods.board), at), bridge=_across(wood(woods.board), at),
                    relief=relief, anchor=float(design.pivot.insert_length) / 2 if anchor is None else anchor,
                    ball=float(design.pivot.x) if ball is None else ball)


def swollen(design: Any, change: Array, swelling: Swelling, d: Dimensions | None = None, *, block: Array | None = None,
            neck: Array | None = None) -> Pose:
    """The neck's pose after a ``change`` of moisture [%] (arrays: the batch), no screw turned.

    ``change`` is that of the top; of ``block`` and ``neck`` (heel and board with it) the same unless given. Block's and
    heel's swelling enter as the tilt of their first-order rule, set by as many turns of the tilt screw (pitch / arm each).
    """
    d = d or design.dimensions()
    m = np.asarray(change, dtype=float)
    in_block, in_neck = (m if v is None else np.asarray(v, dtype=float) for v in (block, neck))

    def grown(size: Array, by: Array, wetter: Array) -> Array:
        return size_change_rule(size=size, swelling=by, moisture_change=wetter)

    board = float(design.board.thickness)
    taller = grown(d.z_joint - d.z_p - board, swelling.neck, in_neck) + grown(board, swelling.board, in_neck)
    deeper = grown(-d.z_p, swelling.block_up, in_block)
    saddle = swelling.top_rise * m + grown(float(design.strings.bridge_height), swelling.bridge, m)
    height = np.asarray(d.h_saddle)
    bent = with_relief(d, d.relief + swelling.relief * in_neck)
    moved = bent.replaced(z_joint=bent.z_joint + taller - deeper, z_p=d.z_p - deeper,
                          h_saddle=height.reshape(*height.shape, *(1,) * (np.ndim(saddle) - height.ndim + 1)) + saddle)
    # The rule is a sum of block and heel: each is taken at its own moisture.
    theta = sum(swelling_tilt_rule(swelling=b, moisture_change=wetter, x_head=d.x_head, x_anchor=swelling.anchor, heel_swelling=h,
                                   x_receiver=d.x_receiver, x_ball=swelling.ball, arm=arm(d))
                for b, h, wetter in ((swelling.block, 0.0, in_block), (0.0, swelling.heel, in_neck)))
    return pose(moved, tilt=theta * arm(d) / d.pitch_tilt)


def action_change(design: Any, change: Array, swelling: Swelling, fret: int = 12, *, d: Dimensions | None = None,
                  block: Array | None = None, neck: Array | None = None) -> Array:
    """Change of the mean action at a fret [mm] for changes of moisture [%] as in :func:`swollen`, (*batch)."""
    d = d or design.dimensions()
    moved = swollen(design, change, swelling, d, block=block, neck=neck)
    return action(moved, fret).mean(axis=(0, 1)) - action(pose(d), fret).mean(axis=(0, 1))


def null_captive_face(design: Any, swelling: Swelling) -> Array:
    """Where the captive head's bearing face would have to stand along the body [mm], so that swelling does not turn the neck;
    nan for a block that does not swell."""
    block = np.where(np.equal(swelling.block, 0), np.nan, swelling.block)
    return null_head(swelling=block, x_anchor=swelling.anchor, heel_swelling=swelling.heel,
                     x_receiver=float(design.tilt_screw.receiver_x), x_ball=swelling.ball)
