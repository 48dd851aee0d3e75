"""What a year of moisture does to the joint: the top's rise, the block, the neck; action, and the turns that undo it.

Moisture changes are taken from the moisture at which the action was set. Arrays over time and samples; time first. One moisture
for all parts: the block inside the box comes later than the top, which is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np

from lutherie_geom.design.woods import Wood, wood
from lutherie_geom.joint.coupling import coupling, turns_for
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import Pose, arm, pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.turning import way
from lutherie_geom.mechanics.climate import Air, ClimateError, constant, moisture
from lutherie_geom.mechanics.freed_top import sheet_of
from lutherie_geom.theory.climate import null_head, size_change_rule, strip_curvature, strip_rise, swelling_tilt_rule

__all__ = ["Seasons", "Swelling", "TopStrip", "action_change", "null_captive_face", "seasons", "swelling_of", "swollen"]

Array = Any  # a float or a numpy array of floats

ALONG = 0.00005
"""Swelling along the grain [1/%]: from memory, no source."""
SPREAD = 0.20
"""Half of a rectangular spread on every swelling, as a part of it: one board against its species (no source)."""
BOARD_MORE = 0.00002
"""Board and neck may differ so much along the grain, either way [1/%]: a guess from the size of ALONG, no source."""
LEFT_OUT = ("parts that dry at different speeds", "the truss rod's hold on the neck", "creep",
            "wetting and drying that differ", "the box's own change of shape", "strings' tension")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


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
    grain = woods.block_grain
    block = _across(wood(woods.block), at)
    return Swelling(top_rise=s.share * strip_rise(bow=bow, span=s.span), block=ALONG if grain == "along" else block,
                    block_up=ALONG if grain == "up" else block, heel=ALONG, neck=_across(wood(woods.neck), at),
                    board=_across(wood(woods.board), at), bridge=_across(wood(woods.board), at),
                    relief=relief, anchor=float(design.pivot.insert_length) / 2 if anchor is None else anchor,
                    ball=float(design.pivot.x) if ball is None else ball)


def swollen(design: Any, change: Array, swelling: Swelling, d: Dimensions | None = None) -> Pose:
    """The neck's pose after a ``change`` of moisture [%] (arrays: the batch), no screw turned.

    The block's and the heel's swelling enter as the tilt of their first-order rule, set by as many turns of the tilt screw.
    """
    d = d or design.dimensions()
    m = np.asarray(change, dtype=float)

    def grown(size: Array, by: Array) -> Array:
        return size_change_rule(size=size, swelling=by, moisture_change=m)

    board = float(design.board.thickness)
    taller = grown(d.z_joint - d.z_p - board, swelling.neck) + grown(board, swelling.board)
    deeper = grown(-d.z_p, swelling.block_up)
    saddle = swelling.top_rise * m + grown(float(design.strings.bridge_height), swelling.bridge)
    height = np.asarray(d.h_saddle)
    moved = d.replaced(z_joint=d.z_joint + taller - deeper, z_p=d.z_p - deeper, relief=d.relief + swelling.relief * m,
                       h_saddle=height.reshape(*height.shape, *(1,) * (np.ndim(saddle) - height.ndim + 1)) + saddle)
    theta = swelling_tilt_rule(swelling=swelling.block, moisture_change=m, x_head=d.x_head, x_anchor=swelling.anchor,
                               heel_swelling=swelling.heel, x_receiver=d.x_receiver, x_ball=swelling.ball, arm=arm(d))
    return pose(moved, tilt=theta / coupling(pose(d)).motion[0, 0])


def action_change(design: Any, change: Array, swelling: Swelling, fret: int = 12) -> Array:
    """Change of the mean action at a fret [mm] for a change of moisture [%]; shape of the change."""
    d = design.dimensions()
    return action(swollen(design, change, swelling, d), fret).mean(axis=(0, 1)) - action(pose(d), fret).mean()


def null_captive_face(design: Any, swelling: Swelling) -> Array:
    """Where the captive head's bearing face would have to stand along the body [mm], so that swelling does not turn the neck."""
    return null_head(swelling=swelling.block, x_anchor=swelling.anchor, heel_swelling=swelling.heel,
                     x_receiver=float(design.tilt_screw.receiver_x), x_ball=swelling.ball)


def _ends(v: Array) -> tuple[float, float]:
    low, high = np.nanquantile(v, (0.05, 0.95))
    return float(low) + 0.0, float(high) + 0.0


@dataclass(frozen=True)
class Seasons:
    """A year of the joint. Monthly means, (12, samples): ``moisture`` [%], ``rise`` of the bridge [mm], ``change`` of the mean
    action at the fret [mm], ``turns`` of the tilt screw that undo it. ``window``: least and greatest steady humidity [%] at which
    no turn is needed, (2, samples); nan where none within reach is too much. Printed, the finding comes first.
    """

    name: str
    air: Air
    fret: int
    set_at: float
    tolerance: float
    moisture: Array
    rise: Array
    change: Array
    turns: Array
    window: Array
    null_face: float
    head_x: float
    up: str
    down: str
    swelling: Swelling = field(repr=False)

    def __str__(self) -> str:
        mid = np.nanmedian(self.change, axis=-1)
        low, high = (int(np.nanargmin(mid)), int(np.nanargmax(mid)))
        per_sample = np.nanmax(self.change, axis=0) - np.nanmin(self.change, axis=0)
        (a, b), (t0, t1) = _ends(per_sample), _ends(np.nanmax(self.turns, axis=0) - np.nanmin(self.turns, axis=0))
        sides = []
        for k, said in enumerate(("from", "to")):
            v = self.window[k]
            sides.append(f"{said} {'any' if np.all(np.isnan(v)) else '{:.0f}..{:.0f}'.format(*_ends(v))}")
        lines = [f"{self.name}: over the year the action at fret {self.fret} moves by {a:.2f} to {b:.2f} mm "
                 f"(lowest in {MONTHS[low]}, highest in {MONTHS[high]}); {t0:.2f} to {t1:.2f} turns of the tilt screw undo it.",
                 f"  no turn needed (within {self.tolerance:g} mm) while the room stays {' '.join(sides)} % humidity, at 20 degC",
                 f"  the captive face stands at {self.head_x:.1f} mm; at {self.null_face:.1f} mm the block's swelling would not "
                 "turn the neck",
                 f"  to raise: {self.up}; to lower: {self.down}", *(f"  {line}" for line in str(self.air).splitlines()),
                 f"  {'month':<6}{'moisture %':>14}{'bridge rises mm':>18}{'action mm':>16}{'turns to undo':>18}"]
        for m in range(12):
            if np.all(np.isnan(self.change[m])):
                continue
            cells = [f"{lo:{f}}..{hi:{f}}" for (lo, hi), f in ((_ends(v[m]), f) for v, f in (
                (self.moisture, ".1f"), (self.rise, "+.2f"), (self.change, "+.2f"), (self.turns, "+.2f")))]
            lines.append(f"  {MONTHS[m]:<6}{cells[0]:>14}{cells[1]:>18}{cells[2]:>16}{cells[3]:>18}")
        return "\n".join([*lines, f"  set at {self.set_at:g} % moisture; 5 to 95 in 100 of the samples",
                          "  left out: " + ", ".join(LEFT_OUT)])

    __repr__ = __str__


def _window(design: Any, swelling: Swelling, set_at: float, tolerance: float, fret: int) -> Array:
    """Steady humidity [%] at 20 degC on either side at which the action has moved by the tolerance, (2, samples)."""
    grid = np.linspace(10.0, 90.0, 161)
    settled = moisture(constant(temperature=20.0, humidity=grid, days=1.0), lag=1e-3)[-1]
    over = np.abs(action_change(design, (settled - set_at)[:, None], swelling, fret)) - tolerance
    here = int(np.argmin(np.abs(settled - set_at)))
    index = np.arange(len(grid))[:, None]
    out = np.full((2, over.shape[1]), np.nan)
    for side, (mask, pick, step) in enumerate((((index < here), np.max, 1), ((index > here), np.min, -1))):
        wrong = mask & (over > 0)
        k = pick(np.where(wrong, index, -1 if side == 0 else len(grid)), axis=0)
        some = np.any(wrong, axis=0)
        i, j = k[some], k[some] + step
        a, b = over[i, some], over[j, some]
        out[side, some] = grid[i] + (grid[j] - grid[i]) * a / (a - b)
    return out


def seasons(design: Any, air: Air, *, set_at: float | None = None, tolerance: float = 0.15, fret: int = 12, samples: int = 64,
            seed: int = 1, lag: tuple[float, float] = (7.0, 45.0), share: tuple[float, float] = (0.1, 0.6),
            swelling: Swelling | None = None) -> Seasons:
    """A year of the joint in an air (one air: no batch), over samples of what is not known.

    ``set_at`` [%]: moisture when the action was set (by default the design's); ``tolerance`` [mm] of action that a player does
    not mind (no source); ``lag`` [day] and ``share`` [1] of the top's free rise: ranges, taken evenly (no source). A ``swelling``
    measured on the instrument takes the place of the woods' and the share's. Raises ClimateError for what makes no sense.
    """
    from scipy.stats import qmc

    if np.ndim(air.humidity) != 1 or np.ndim(air.temperature) != 1:
        raise ClimateError("air: one air over time, without samples")
    if not tolerance > 0:
        raise ClimateError(f"tolerance: {tolerance:g} mm must be above 0 mm")
    if samples < 2:
        raise ClimateError(f"samples: {samples} is too few; 2 or more")
    start = float(design.woods.moisture) if set_at is None else float(set_at)
    if not 2 <= start <= 25:
        raise ClimateError(f"set_at: {start:g} % moisture is outside 2 to 25 %")
    u = qmc.Sobol(4, rng=np.random.default_rng(seed)).random(samples).T
    slow = lag[0] + (lag[1] - lag[0]) * u[0]
    mine = swelling or swelling_of(design, strip=TopStrip(share=share[0] + (share[1] - share[0]) * u[1]),
                                   board_more=BOARD_MORE * (2 * u[3] - 1)).times(1 + SPREAD * (2 * u[2] - 1))
    many = replace(air, temperature=air.temperature[:, None], humidity=air.humidity[:, None])
    content = air.by_month(moisture(many, lag=slow))
    change = content - start
    d = design.dimensions()
    moved = swollen(design, change, mine, d)
    off = action(moved, fret).mean(axis=(0, 1)) - action(pose(d), fret).mean()
    turns = turns_for(moved.of, action_change=-off, sideways=0.0, fret=fret, start=moved).tilt - moved.tilt
    screw = design.tilt_screw
    up, down = (way(screw.hand, screw.key_from, positive, "tilt") for positive in (True, False))
    return Seasons(design.name, air, fret, start, tolerance, content, mine.top_rise * change, off, turns,
                   _window(design, mine, start, tolerance, fret), float(np.median(null_captive_face(design, mine))),
                   float(screw.head_x), up, down, mine)
