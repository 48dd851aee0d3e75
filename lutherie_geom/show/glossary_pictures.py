"""The pictures of the glossary: the joint from the library's own geometry, every word named once. Data in, Figure out."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle

from lutherie_geom.joint.body import soundboard
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import string_lines
from lutherie_geom.show import glossary_close, panels
from lutherie_geom.show.glossary_words import TITLES
from lutherie_geom.show.marks import Marks
from lutherie_geom.show.outlines import draw_body, draw_neck
from lutherie_geom.show.style import COLOURS

__all__ = ["picture"]

STRETCH = 8.0
"""How many times larger the motions are drawn than they are."""


def picture(view: str, design: Any) -> Figure:
    """One picture of the glossary; the names written on it are those of ``glossary.words_of(view)``."""
    draw, columns, high = _DRAWN[view]
    drawing, axes = panels.stage(columns, 195.0, high)
    marks = draw(axes, design)
    drawing.draw_without_rendering()  # settles the limits that an equal scale widens
    for m in marks:
        m.write()
    return drawing


def _title(axes: Axes, words: str, letters: int = 90) -> None:
    panels.headline(axes, textwrap.fill(words, letters))


def _joint(axes: list[Axes], design: Any) -> list[Marks]:
    (a,) = axes
    d, t, v, c = design.dimensions(), design.tilt_screw, design.pivot, design.clamp
    left, right, inner = -68.0, 92.0, design.block.depth
    a.set_aspect("equal", adjustable="box")
    draw_body(a, design, "mm", right)
    draw_neck(a, design, "mm", left)
    blue: dict[str, Any] = {"edgecolor": COLOURS["screw"], "lw": 1.1, "zorder": 4}
    # Behind the captive head the block is open up to its inner face, as wide as the cover.
    a.add_patch(Rectangle((t.head_x, t.head_z - t.cover_height / 2), inner - t.head_x, t.cover_height, facecolor="white",
                          edgecolor=COLOURS["body"], lw=0.9, zorder=2))
    a.add_patch(Rectangle((c.receiver_x, d.z_p - c.diameter / 2), inner - c.receiver_x, c.diameter, facecolor="#9CC3E6", **blue))
    a.add_patch(Rectangle((inner, d.z_p - c.diameter * 0.85), c.diameter, c.diameter * 1.7, facecolor="#9CC3E6", **blue))
    a.add_patch(Circle((c.receiver_x, d.z_p), c.receiver_diameter / 2, facecolor="white", **blue))
    rim = float(d.x_p) + np.sqrt(v.ball_radius**2 - v.rim_radius**2)
    a.add_patch(Rectangle((rim, d.z_p - v.screw_diameter / 2), v.screw_length, v.screw_diameter, facecolor="white", hatch="////",
                          edgecolor=COLOURS["pivot"], lw=1, zorder=5))
    a.add_patch(Circle((d.x_p, d.z_p), v.ball_radius, facecolor="white", edgecolor=COLOURS["pivot"], lw=1.4, zorder=6))
    a.plot([d.x_p], [d.z_p], "+", color=COLOURS["pivot"], ms=9, zorder=7)
    a.plot([d.x_receiver - t.past_receiver, d.x_head], [d.z_receiver, d.z_head], color=COLOURS["screw"], lw=5,
           solid_capstyle="butt", zorder=5)
    a.add_patch(Circle((d.x_receiver, d.z_receiver), t.receiver_diameter / 2, facecolor="white", **blue))
    spring, cover = t.head_x + t.diameter, t.head_x + t.diameter + t.spring_room
    a.add_patch(Rectangle((t.head_x, t.head_z - t.head_diameter / 2), t.diameter, t.head_diameter, facecolor=COLOURS["screw"],
                          zorder=5))
    a.add_patch(Rectangle((spring, t.head_z - t.head_diameter / 2), t.spring_room, t.head_diameter, facecolor="white",
                          hatch="xxxxx", edgecolor=COLOURS["stop"], lw=0.8, zorder=5))
    for low in (t.head_z + t.cover_hole / 2, t.head_z - t.cover_height / 2):
        a.add_patch(Rectangle((cover, low), 4.0, (t.cover_height - t.cover_hole) / 2, facecolor=COLOURS["body"], alpha=0.8,
                              edgecolor=COLOURS["text"], lw=0.8, zorder=5))
    x = np.array([left, design.tongue.length])
    a.plot(x, d.z_joint + x * np.tan(d.alpha), color=COLOURS["guide"], lw=1.2, ls=(0, (6, 2)), zorder=5)
    fret = float(d.joint_fret_x)
    top = float(d.z_joint + fret * np.tan(d.alpha))
    a.plot([fret], [top - design.board.crown / 2], "o", color=COLOURS["text"], ms=3.5, zorder=6)
    a.set(xlim=(left, right), ylim=(design.heel.foot_z - 8, top + 10), xlabel="along the body from the joint face [mm]")
    m = Marks(a)
    m.name("heel", -24, -50, "left")
    m.name("neck block", inner - 8, d.z_p - 25, "right")
    m.name("pivot screw", rim + v.screw_length * 0.6, d.z_p - 2, "right")
    m.name("pivot axis", d.x_p, d.z_p, "left")
    m.name("clamp screw", inner + 3, d.z_p, "right")
    m.name("tilt screw", -11, d.z_head, "left")
    m.name("captive head", t.head_x + t.diameter / 2, t.head_z - t.head_diameter / 4, "right")
    m.name("washer spring", spring + t.spring_room / 2, t.head_z + t.head_diameter / 3, "right")
    m.name("cover", cover + 2, t.head_z + t.cover_height / 3, "right")
    m.name("receiver", d.x_receiver - 3, d.z_receiver - 3, "left")
    m.between("arm", (d.x_p, d.z_p), (d.x_p, d.z_head), "left")
    m.name("fret plane", -55, d.z_joint - 55 * np.tan(d.alpha), "left")
    m.name("joint fret", fret, top, "right")
    m.name("soundboard", 82, soundboard(d, 82.0, 0.0) - 1, "right")
    m.name("joint face", 0, design.heel.foot_z + 1, "left")
    _title(a, f"{TITLES['joint']}: the tilt screw of {design.name} works {float(arm(d)):.0f} mm under the pivot axis")
    return [m]


def _motions(axes: list[Axes], design: Any) -> list[Marks]:
    side, top, close = axes
    d = design.dimensions()
    view = panels.SideView(side, design, times=1.0)
    x, z = view.outline(d)
    turned = pose(d, tilt=1.0)
    after = panels.magnified(np.column_stack([x, z]), panels.carried(turned, x, z), STRETCH)
    for artist in (*view.artists, *set(side.texts).difference(view.words)):
        artist.remove()
    side.add_patch(Polygon(np.column_stack([x, z]), closed=True, facecolor=COLOURS["neck"], alpha=0.3, edgecolor="#8a5f00"))
    side.add_patch(Polygon(after, closed=True, fill=False, edgecolor=COLOURS["stop"], lw=1.4, ls=(0, (5, 2))))
    side.plot([d.x_p], [d.z_p], "o", color=COLOURS["pivot"], ms=6)
    side.set_xlim(-78, 95)
    by = Marks(side)
    foot = after[np.argmin(z - x / 50)]
    by.name("tilt", foot[0], foot[1], "left")
    _title(side, f"One turn up tilts the neck {np.degrees(float(turned.theta)):.2f}° (drawn {STRETCH:.0f} times larger)", 34)
    steered = pose(d, bass=-1 / 8, treble=1 / 8)
    _plan(top, design, d, steered)
    m = Marks(top)
    nut = steered.to_body(d.x_nut, 0.0, 0.0)
    m.between("yaw", (float(d.x_nut), 0.0), (float(d.x_nut), STRETCH * float(nut.y)), "left")
    m.name("centreline", -180, 0, "left")
    far = 250.0
    m.name("bass side", far - 60, -30, "right")
    m.name("treble side", far - 60, 30, "right")
    lines = string_lines(pose(d))
    at = float(d.x_fret(12))
    y = float(np.interp(at, [float(d.x_nut), float(lines.xn_saddle[-1])], [float(lines.y_nut[-1]), float(lines.yn_saddle[-1])]))
    m.between("edge margin", (at, y), (at, _half(design, d, at)), "left")
    _title(top, f"Bass 1/8 turn in, treble 1/8 out: yaw {np.degrees(float(steered.psi)):.2f}° (drawn "
                f"{STRETCH:.0f} times larger)", 34)
    return [by, m, _both_out(close, d)]


def _both_out(a: Axes, d: Any) -> Marks:
    """The seats from above, at rest and both two turns out, at true shape [mm]."""
    half, x = float(d.spacing) / 2, float(d.x_p)
    out = float(pose(d, bass=2.0, treble=2.0).advance)
    wide, face = float(d.half_width_top), -float(d.floor_clearance)
    a.set_aspect("equal", adjustable="box")
    a.axvspan(0, 14, color=COLOURS["body"], alpha=0.25, lw=0)
    a.fill([-14, face, face, -14], [-wide, -wide, wide, wide], color=COLOURS["neck"], alpha=0.3, lw=0)
    a.plot([-14, face - out, face - out, -14], [-wide, -wide, wide, wide], color=COLOURS["stop"], lw=1.4, ls=(0, (5, 2)))
    for s in (-1, 1):
        a.add_patch(Circle((x, s * half), 4.0, facecolor="white", edgecolor=COLOURS["pivot"], lw=1.4, zorder=4))
        a.add_patch(Circle((x - out, s * half), 4.0, fill=False, edgecolor=COLOURS["stop"], lw=1.2, ls=(0, (3, 2)), zorder=5))
    a.set(xlim=(-14, 14), ylim=(-wide - 4, wide + 4), xlabel="along the body [mm]", yticks=[])
    m = Marks(a)
    m.between("spacing", (5, -half), (5, half), "right")
    m.between("advance", (x - out, 4), (x, 4), "right")
    _title(a, f"Both two turns out: advance {out:.1f} mm", 22)
    return m


def _half(design: Any, d: Any, x: float) -> float:
    """Half the board's width [mm] at x' [mm]."""
    b = design.board
    return (b.width_nut + (b.width_last - b.width_nut) * (x - float(d.x_nut)) / float(d.x_fret(d.last_fret) - d.x_nut)) / 2


def _plan(a: Axes, design: Any, d: Any, steered: Any) -> None:
    """The board from above at rest and steered, body and ball heads; across is not to the scale of along [mm]."""
    nut, end = float(d.x_nut), float(d.tongue_length)
    x = np.array([nut, end, end, nut])
    y = np.array([-_half(design, d, nut), -_half(design, d, end), _half(design, d, end), _half(design, d, nut)])
    first, then = pose(d).to_body(x, y, 0.0), steered.to_body(x, y, 0.0)
    moved = np.column_stack([first.x + STRETCH * (then.x - first.x), first.y + STRETCH * (then.y - first.y)])
    a.axvspan(0, 250, color=COLOURS["body"], alpha=0.10, lw=0)
    a.add_patch(Polygon(np.column_stack([first.x, first.y]), closed=True, facecolor=COLOURS["board"], alpha=0.3,
                        edgecolor="#5d3b50"))
    a.add_patch(Polygon(moved, closed=True, fill=False, edgecolor=COLOURS["stop"], lw=1.4, ls=(0, (5, 2))))
    lines = string_lines(pose(d))
    for i in (0, -1):
        a.plot([nut, 250], [lines.y_nut[i], np.interp(250, [nut, lines.xn_saddle[i]], [lines.y_nut[i], lines.yn_saddle[i]])],
               color=COLOURS["string"], lw=0.8)
    a.axhline(0, color=COLOURS["guide"], lw=0.8, ls=":")
    for s in (-1, 1):
        a.plot([float(d.x_p)], [s * float(d.spacing) / 2], "o", color=COLOURS["pivot"], ms=6)
    a.set(xlim=(nut - 20, 250), ylim=(-54, 54), xlabel="along the body [mm] (across: stretched)")


_Draw = Callable[[list[Axes], Any], list[Marks]]
_DRAWN: dict[str, tuple[_Draw, tuple[float, ...], float]] = {
    "joint": (_joint, (1.0,), 128.0),
    "seat": (glossary_close.seat, (1.5, 1.0), 78.0),
    "strings": (glossary_close.strings, (1.1, 1.0), 92.0),
    "pocket": (glossary_close.pocket, (1.0, 1.0), 100.0),
    "tongue": (glossary_close.tongue, (1.1, 1.0), 84.0),
    "motions": (_motions, (1.0, 1.15, 0.55), 88.0),
    "screw": (glossary_close.screw, (1.0, 1.0, 1.0), 84.0),
}
