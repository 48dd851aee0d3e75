"""The glossary's close-up pictures: seat, strings, pocket, tongue, screw; each draws on its axes and gives the names back."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle

from lutherie_geom.joint.body import gap, heel_fit, soundboard, taper_of
from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.forces import forces
from lutherie_geom.mechanics.rods import ASSUMED
from lutherie_geom.mechanics.tongue_sections import sagitta
from lutherie_geom.show import panels
from lutherie_geom.show.marks import Marks
from lutherie_geom.show.style import COLOURS

__all__ = ["pocket", "screw", "seat", "strings", "tongue"]

PLAY = 0.12
"""Play drawn between the two threads, in parts of the pitch: to be seen, not measured."""
GAP_STRETCH = 10.0
"""How many times wider the side gap is drawn than it is."""


def _title(axes: Axes, words: str, letters: int) -> None:
    panels.headline(axes, textwrap.fill(words, letters))


def _steel(axes: Axes, points: Any, hatch: str = "////") -> None:
    axes.add_patch(Polygon(points, closed=True, facecolor="white", edgecolor=COLOURS["screw"], hatch=hatch, lw=1.2, zorder=3))


def _ball(axes: Axes, middle: tuple[float, float], radius: float) -> None:
    axes.add_patch(Circle(middle, radius, facecolor="#FBE6B8", edgecolor="#8a5f00", lw=1.4, zorder=4))


def seat(axes: list[Axes], design: Any) -> list[Marks]:
    """One ball head in the design's cup, in section at true shape, and beside it the other kinds of seat [mm]."""
    a, small = axes
    v = design.pivot
    r, rim = v.ball_radius, v.rim_radius
    face = float(np.sqrt(r**2 - rim**2))  # the rim's plane, from the ball's middle
    half, end = v.screw_diameter / 2, face + 13.0
    a.set_aspect("equal", adjustable="box")
    a.add_patch(Rectangle((face - v.proud + 1.0, -12), end, 24, facecolor=COLOURS["body"], alpha=0.25, lw=0))
    for s in (-1, 1):
        inserted = face - v.proud + 1.0
        sleeve = (v.insert_diameter - v.screw_diameter) / 2
        a.add_patch(Rectangle((inserted, half if s > 0 else -half - sleeve), end, sleeve,
                              facecolor="#C9C9C9", edgecolor=COLOURS["text"], lw=0.8, zorder=3))
    a.add_patch(Rectangle((face, -rim), 4.0, 2 * rim, facecolor="white", lw=0, zorder=2))
    _steel(a, [(face, rim), (face, half), (end, half), (end, -half), (face, -half), (face, -rim), (face + 4, -rim),
               (face + 4, rim)])
    a.add_patch(Rectangle((-22, -half / 2.2), 22 - r * 0.6, half / 1.1, facecolor="#FBE6B8", edgecolor="#8a5f00", lw=1.2,
                          zorder=3))
    a.add_patch(Rectangle((-22, -12), 22 - r - 1.5, 24, facecolor=COLOURS["neck"], alpha=0.25, lw=0))
    _ball(a, (0.0, 0.0), r)
    a.add_patch(FancyArrowPatch((-19, -8.5), (-7.5, -8.5), arrowstyle="-|>", mutation_scale=14, color=COLOURS["stop"], lw=2))
    a.set(xlim=(-22, end), ylim=(-12, 12), xlabel="along the body, from the pivot axis [mm]")
    m = Marks(a, 0.11)
    m.name("ball head", -r * 0.7, r * 0.4, "left")
    m.name("seat", face + 2.5, -rim * 0.6, "right")
    m.name("rim", face, rim, "right")
    m.name("insert", end - 3, (half + v.insert_diameter / 2) / 2, "right")
    m.name("preload", -13, -8.5, "left")
    _title(a, f"On a rim of radius {rim:g} mm a ball of radius {r:g} mm has its middle {face:.2f} mm outside; the pivot axis "
              f"goes through it", 54)
    others = Marks(small, 0.12)
    small.set_aspect("equal", adjustable="box")
    depth = r * np.sqrt(2)  # a ball in a cone of 90 degrees: its middle stands that far over the cone's point
    for word, y in (("cone", 8.0), ("vee groove", -8.0)):
        mouth = r * 0.9
        point = depth
        face = point - mouth
        _steel(small, [(face, y - mouth), (point, y), (face, y + mouth), (face, y + 5.5), (13, y + 5.5), (13, y - 5.5),
                       (face, y - 5.5)], "////" if word == "cone" else "----")
        _ball(small, (0.0, y), r)
        others.name(word, point - mouth * 0.5, y - mouth * 0.5, "right")
    small.set(xlim=(-6, 14), ylim=(-15, 15))
    small.set_axis_off()
    _title(small, "A cone holds a ball all round; a groove lets it slide in one direction, square to the page", 36)
    return [m, others]


def strings(axes: list[Axes], design: Any) -> list[Marks]:
    """The lowest string over the whole neck, height stretched; and its action over the crowns at its own place [mm]."""
    whole, close = axes
    d = design.dimensions()
    p = pose(d)
    lines = string_lines(p)
    nut, last = float(d.x_nut), float(d.tongue_length)
    saddle_x = float(d.x_saddle[0])
    saddle_z = float(soundboard(d, d.x_saddle[0], d.y_saddle[0]) + d.h_saddle[0])
    start = p.to_body(nut, lines.y_nut[0], lines.z_nut[0])
    x = np.linspace(0, saddle_x + 25, 60)
    whole.fill_between(x, soundboard(d, x, 0.0), -6, color=COLOURS["soundboard"], alpha=0.25, lw=0)
    bx = np.array([nut, last])
    plane = float(d.z_joint) + bx * np.tan(float(d.alpha))
    low = plane - design.board.crown - design.board.thickness
    whole.fill_between(bx, plane - design.board.crown, low, color=COLOURS["board"], alpha=0.4, lw=0)
    whole.plot([float(start.x), saddle_x], [float(start.z), saddle_z], color=COLOURS["string"], lw=1.2)
    whole.plot([saddle_x] * 2, [float(soundboard(d, saddle_x, 0.0)), saddle_z], color=COLOURS["text"], lw=3)
    whole.plot([nut] * 2, [low[0], float(start.z)], color=COLOURS["text"], lw=3)
    whole.plot([nut, 240], [plane[0]] * 2, color=COLOURS["guide"], lw=0.9, ls=":")
    whole.plot([nut, 240], plane[0] + np.array([0.0, (240 - nut) * np.tan(float(d.alpha))]), color=COLOURS["guide"], lw=1.2,
               ls=(0, (6, 2)))
    plain = nut + float(d.scale)  # where the saddle would stand without compensation
    whole.plot([plain] * 2, [-5.5, saddle_z], color=COLOURS["stop"], lw=1, ls=":")
    whole.set(xlim=(nut - 12, saddle_x + 25), ylim=(-6, 21), xlabel="along the body from the joint [mm]")
    m = Marks(whole)
    m.between("scale length", (nut, -4), (plain, -4), "left")
    m.name("nut", nut, (low[0] + float(start.z)) / 2, "left")
    m.name("saddle", saddle_x, saddle_z, "right")
    m.between("compensation", (plain, -5), (saddle_x, -5), "right")
    m.between("neck angle", (225, plane[0]), (225, plane[0] + (225 - nut) * np.tan(float(d.alpha))), "right")
    _title(whole, f"Neck angle {np.degrees(float(d.alpha)):.2f}°, saddle {saddle_x - plain:.1f} mm behind the scale length "
                  "(height stretched)", 40)
    frets = np.arange(1, int(d.joint_fret) + 1)
    xf, dip = d.x_fret(frets), d.dip(frets)
    over = action(p, frets)[0]
    close.axhline(0, color=COLOURS["guide"], lw=1.2, ls=(0, (6, 2)))
    close.plot(xf, -dip, "o-", color=COLOURS["board"], ms=5, lw=0.8)
    close.plot(np.r_[nut, xf], np.r_[float(d.h_nut[0]), over - dip], color=COLOURS["string"], lw=1.2)
    close.set(xlim=(nut - 8, 8), ylim=(-0.5, float(over.max()) + 0.4), xlabel="along the board from the joint [mm]",
              ylabel="over the crowns of fret 1 and joint fret [mm]")
    c = Marks(close)
    at = 11
    a12 = float(over[at])
    c.between("action", (xf[at], -dip[at]), (xf[at], a12 - dip[at]), "right")
    mid = int(np.argmax(dip))
    c.between("relief", (xf[mid], -dip[mid]), (xf[mid], 0.0), "right")
    c.name("crown", xf[2], -dip[2], "right")
    c.between("nut height", (nut, 0.0), (nut, float(d.h_nut[0])), "right")
    _title(close, f"Lowest string: action at fret 12 {a12:.2f} mm, relief {float(d.relief):.2f} mm", 40)
    return [m, c]


def pocket(axes: list[Axes], design: Any) -> list[Marks]:
    """The heel's end face between the pocket's floor and its rim, from the side (depth stretched) and in plan [mm]."""
    side, plan = axes
    d = design.dimensions()
    foot, deep, stands = design.heel.foot_z, float(d.pocket), float(d.floor_clearance)
    fit = heel_fit(pose(d))
    side.axvspan(0, 3, color=COLOURS["body"], alpha=0.3, lw=0)
    side.fill([-stands, -9, -9, -stands], [0, 0, foot, foot], color=COLOURS["neck"], alpha=0.35, lw=0)
    side.plot([0, 0], [foot - 8, 0], color=COLOURS["body"], lw=2.5)
    side.plot([-deep] * 2, [foot - 8, 0], color=COLOURS["text"], lw=1.3, ls=":")
    side.plot([-stands] * 2, [foot, 0], color="#8a5f00", lw=1.5)
    side.set(xlim=(-9, 3), ylim=(foot - 10, 6), xlabel="from the joint face [mm] (stretched)")
    m = Marks(side)
    m.name("floor", 0, foot * 0.3, "right")
    m.name("pocket's rim", -deep, foot * 0.2, "left")
    m.between("floor clearance", (-stands, foot * 0.55), (0, foot * 0.55), "right")
    m.between("reveal", (-deep, foot * 0.7), (-stands, foot * 0.7), "left")
    m.name("foot", -stands, foot, "right")
    _title(side, f"The heel stands {float(fit.floor.min()):.1f} mm off the floor and {float(fit.reveal.min()):.1f} mm of it is "
                 "in the pocket", 44)
    wide, free = design.heel.half_width_top, float(d.side_gap)
    out = 9.0
    plan.fill([0, 4, 4, 0], [-wide - out, -wide - out, wide + out, wide + out], color=COLOURS["body"], alpha=0.3, lw=0)
    for s in (-1, 1):
        near, far = s * (wide + GAP_STRETCH * free), s * (wide + out)
        plan.fill([-deep, 0, 0, -deep], [near, near, far, far],
                  color=COLOURS["body"], alpha=0.3, lw=0)
    plan.fill([-stands, -9, -9, -stands], [-wide, -wide, wide, wide], color=COLOURS["neck"], alpha=0.35, lw=0)
    plan.set(xlim=(-9, 4), ylim=(-wide - out, wide + out), xlabel="from the joint face [mm] (stretched)")
    c = Marks(plan)
    c.name("pocket", -stands / 2, 0, "right")
    c.name("cheek", -stands - 2, wide, "left")
    c.between("side gap", (-stands - 0.4, -wide), (-stands - 0.4, -wide - GAP_STRETCH * free), "left")
    _title(plan, f"Pocket {deep:.1f} mm deep, side gap {free:.1f} mm (drawn {GAP_STRETCH:g} times wider), seen from above", 40)
    return [m, c]


def tongue(axes: list[Axes], design: Any) -> list[Marks]:
    """The tongue along the centreline, height stretched, and across, with rods let in at the glue line [mm]."""
    along, across = axes
    d, b = design.dimensions(), design.board
    p = pose(d)
    length = float(d.tongue_length)
    x = np.linspace(0, length, 60)
    plane = float(d.z_joint) + x * np.tan(float(d.alpha))
    glue = plane - b.crown - b.thickness
    under = glue - tongue_wood(design, x, d)
    far = np.linspace(0, length + 12, 60)
    along.fill_between(far, soundboard(d, far, 0.0), soundboard(d, far, 0.0) - design.body.top_thickness,
                       color=COLOURS["soundboard"], alpha=0.35, lw=0)
    along.fill_between(x, plane - b.crown, glue, color=COLOURS["board"], alpha=0.4, lw=0)
    along.fill_between(x, glue, under, color=COLOURS["neck"], alpha=0.45, lw=0)
    along.plot([0, length], [float(under[0]), float(under[0]) + float(taper_of(d).slope) * length], color=COLOURS["stop"], lw=1.2,
               ls=(0, (5, 2)))
    along.set(xlim=(0, length + 12), ylim=(-3.5, float(plane.max()) + 1),
              xlabel="along the body from the joint [mm] (height stretched)")
    m = Marks(along)
    k = 20
    m.between("gap", (x[k], float(soundboard(d, x[k], 0.0))), (x[k], float(under[k])), "left")
    m.between("tongue wood", (x[38], float(under[38])), (x[38], float(glue[38])), "left")
    m.name("fingerboard", x[8], (plane[8] - b.crown + glue[8]) / 2, "left")
    m.name("dome", 12, float(soundboard(d, 12.0, 0.0)) - 1, "left")
    m.name("taper", x[52], float(under[0]) + float(taper_of(d).slope) * x[52], "left")
    g = float(gap(p, x[:, None], np.linspace(-0.5, 0.5, 5)[None, :] * float(d.tongue_width)).min())
    _title(along, f"The tongue floats {g:.1f} mm over the dome, whose rise it follows", 46)
    half, wood = float(d.tongue_width) / 2, float(tongue_wood(design, np.array(length / 2), d))
    y = np.linspace(-half, half, 41)
    top = b.thickness - float(sagitta(d, length / 2, 2 * half)) * (y / half) ** 2
    across.set_aspect("equal", adjustable="box")
    across.fill_between(y, 0, top, color=COLOURS["board"], alpha=0.4, lw=0)
    across.fill_between(y, -wood, 0, color=COLOURS["neck"], alpha=0.45, lw=0)
    across.plot([-half, half], [0, 0], color=COLOURS["text"], lw=0.9)
    across.plot(y, top - design.tongue.slot_depth, color=COLOURS["text"], lw=0.9, ls=":")
    size = design.tongue.rod_diameter or ASSUMED
    across.add_patch(Circle((half / 2, 0.0), size / 2, facecolor="black", edgecolor="white", lw=0.6, zorder=4))
    across.set(xlim=(0, half + 1), ylim=(-wood - 3, b.thickness + 3), xlabel="across the tongue [mm]")
    across.set_yticks([])
    c = Marks(across, 0.13)
    c.name("tongue", half * 0.3, -wood / 2, "left")
    c.name("tongue rod", half / 2, 0.0, "right")
    c.name("glue line", half * 0.15, 0.0, "left")
    c.name("fret slot", half * 0.8, b.thickness - design.tongue.slot_depth / 2, "right")
    _title(across, f"Across it, halfway: {wood:.1f} mm of neck wood, its treble half, with a rod of {size:g} mm", 40)
    return [m, c]


def screw(axes: list[Axes], design: Any) -> list[Marks]:
    """A thread and its play [mm], the travel with its stops [turns], friction's band of force [N]."""
    thread, bar, band = axes
    pitch, size = design.tilt_screw.pitch, design.tilt_screw.diameter
    turns = 5
    x = np.linspace(0, turns * pitch, 8 * turns + 1)
    tooth = 0.54 * pitch * (1 - np.abs(((x / pitch) % 1) * 2 - 1))  # depth of an ISO thread, from memory
    root = size / 2 - 0.54 * pitch
    thread.fill_between(x, 0, root + tooth, color=COLOURS["screw"], alpha=0.35, lw=0)
    thread.plot(x, root + tooth, color=COLOURS["screw"], lw=1.3)
    play = PLAY * pitch
    thread.plot(x + play, root + tooth + 0.25 * play, color=COLOURS["stop"], lw=1.3)
    thread.fill_between(x + play, root + tooth + 0.25 * play, size / 2 + 1.1, color=COLOURS["neck"], alpha=0.35, lw=0)
    thread.set(xlim=(0, turns * pitch), ylim=(root - 1.2, size / 2 + 1.1), xlabel="along the screw [mm]")
    m = Marks(thread, 0.1)
    m.between("pitch", (0.5 * pitch, size / 2 + 0.05), (1.5 * pitch, size / 2 + 0.05), "left")
    m.between("backlash", (2.75 * pitch, root + 0.27 * pitch), (2.75 * pitch + play, root + 0.27 * pitch), "left")
    m.between("engagement", (0, root - 0.7), (turns * pitch, root - 0.7), "left")
    _title(thread, f"Pitch {pitch:g} mm; play drawn too large", 25)
    t = travel(design)
    bar.axhspan(t.low, t.high, xmin=0.3, xmax=0.7, color=COLOURS["body"], alpha=0.35, lw=0)
    for s in t.stops:
        if s.turn is not None and abs(s.turn) < 4 and s.kind == "stop":
            bar.plot([0.2, 0.8], [s.turn] * 2, color=COLOURS["stop"], lw=2.2 if s.turn in (t.low, t.high) else 1)
    bar.plot([0.3, 0.7], [0, 0], color=COLOURS["text"], lw=1)
    bar.set(xlim=(0, 1), ylim=(-4, 4), ylabel="tilt screw, positive: action up [turns]")
    bar.set_xticks([])
    b = Marks(bar, 0.1)
    b.between("travel", (0.42, t.low), (0.42, t.high), "right")
    b.between("turn", (0.58, 0.0), (0.58, 1.0), "right")
    b.name("stop", 0.75, t.low, "right")
    _title(bar, f"From {t.low:+.2f} to {t.high:+.2f} turns nothing is in the way", 30)
    f = forces(design)
    rest, wide = float(f.rest.tilt), float(f.band.band[1])
    reach = np.array([-1.0, 1.0])
    band.fill_between(reach, rest - wide, rest + wide, color=COLOURS["gap"], alpha=0.3, lw=0)
    band.axhline(rest, color=COLOURS["text"], lw=1.2, ls=(0, (6, 2)))
    band.set(xlim=(-1, 1), ylim=(0, 1.5 * (rest + wide)), ylabel="force in the tilt screw [N]")
    band.set_xticks([])
    band.text(-0.9, rest, "without friction", va="bottom", fontsize=8)
    k = Marks(band, 0.1)
    k.between("dead band", (0.4, rest - wide), (0.4, rest + wide), "right")
    _title(band, f"Friction holds the force anywhere within {wide:.0f} N of {rest:.0f} N", 30)
    return [m, b, k]
