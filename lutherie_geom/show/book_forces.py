"""Figures of the forces in the joint: data in, Figure out. Arrows are drawn to one scale of force, their numbers beside them.

Every title states a finding with its number. Forces in newtons, lengths in mm or inches.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.design.carried import Load
from lutherie_geom.design.units import convert
from lutherie_geom.mechanics.forces import Forces, OverTravel
from lutherie_geom.mechanics.friction import spring_and_cover
from lutherie_geom.mechanics.loads import GRAVITY
from lutherie_geom.mechanics.statics import balance, load_wrenches
from lutherie_geom.show.book_figures import titled
from lutherie_geom.show.outlines import draw_body, draw_neck
from lutherie_geom.show.style import BLUE, COLOURS, GREEN, ORANGE, VERMILLION, label_axes, legend, line_style

__all__ = ["ARROWS", "arrow", "free_body", "least_clamps", "over_the_travel", "reversing"]

ARROWS = {"strings": COLOURS["string"], "tilt screw": BLUE, "clamp screw": GREEN, "seats": VERMILLION}
"""Colour of each force; the word always stands beside its arrow."""
LONGEST = 70.0
"""Length of the longest arrow [mm of the drawing]."""


def arrow(axes: Any, colour: str, tail: tuple[float, float], tip: tuple[float, float], *, width: float = 2.6) -> Any:
    """An arrow from tail to tip, in the units of the axes; the Annotation is given back."""
    return axes.annotate("", xy=tip, xytext=tail, zorder=7, arrowprops=dict(
        arrowstyle="-|>,head_width=0.32,head_length=0.62", color=colour, lw=width, shrinkA=0, shrinkB=0, mutation_scale=11))


def free_body(design: Any, f: Forces, system: str = "mm") -> Figure:
    """The neck as a free body, seen from the treble side: all that pulls and pushes it along the body, strings at pitch [N]."""
    d, k = design.dimensions(), convert(1.0, system)  # type: ignore[arg-type]
    pull, r = f.pull, f.rest
    bass, treble = (float(n) for n in r.seat_push)
    drawing, axes = titled(f"Strings pull {pull.total:.0f} N; the tilt screw answers with {r.tilt:.0f} N, and the two seats push "
                           f"back all that the screws and strings pull: {bass + treble:.0f} N", 88, 180, 112, true_shape=True)
    left, right = -float(design.heel.length) - 50, max(float(design.tongue.length) + 75, design.block.depth + 60)
    draw_body(axes, design, system, right)
    for patch in axes.patches:
        patch.set_alpha(0.10)  # the body is only where the neck is held: what acts on the neck is the picture
    draw_neck(axes, design, system, left)
    size = LONGEST / max(float(pull.total), float(r.clamp), abs(float(r.tilt)), bass, treble)
    x_r, z_c = float(design.clamp.receiver_x), float(d.z_p) - design.clamp.below_axis
    z_s = float(pull.point[2])
    screw = np.array([float(d.x_head) - float(d.x_receiver), float(d.z_head) - float(d.z_receiver)])
    screw = screw / np.hypot(*screw)
    tilt, at = float(r.tilt) * size * screw, np.array([float(d.x_receiver), float(d.z_receiver)])
    # Tail and tip [mm], words, and where they stand: each force is drawn from the place where it takes hold.
    drawn: list[tuple[str, Any, Any, str, tuple[float, float], str]] = [
        ("strings", (20.0, z_s), (20.0 + float(pull.total) * size, z_s), f"strings {pull.total:.0f} N", (22.0, z_s + 5), "left"),
        ("tilt screw", at, at + tilt, f"tilt screw {r.tilt:.0f} N", (at[0] + max(tilt[0], 0) + 4, at[1]), "left"),
        ("clamp screw", (x_r, z_c), (x_r + float(r.clamp) * size, z_c), f"clamp screw {r.clamp:.0f} N",
         (x_r + float(r.clamp) * size + 4, z_c), "left"),
        ("seats", (float(d.x_p), z_c - 6), (float(d.x_p) - bass * size, z_c - 6), "", (0, 0), "left"),
        ("seats", (float(d.x_p), z_c + 6), (float(d.x_p) - treble * size, z_c + 6),
         f"seats on the balls:\nbass {bass:.0f} N,\ntreble {treble:.0f} N", (left + 4, z_c - 20), "left")]
    for name, tail, tip, words, where, side in drawn:
        arrow(axes, ARROWS[name], (tail[0] * k, tail[1] * k), (tip[0] * k, tip[1] * k))
        if words:
            axes.text(where[0] * k, where[1] * k, words, color=COLOURS["text"], ha=side, va="center" if side == "left" else "top",
                      fontsize=9, fontweight="bold", zorder=8)
    axes.plot([float(d.x_p) * k], [float(d.z_p) * k], "o", mfc="white", mec=COLOURS["pivot"], ms=8, zorder=9)
    for z, words in ((z_s, f"{pull.line.height_over_pivot:.1f} mm"), (float(d.z_receiver), f"arm {float(f.joint.arm):.1f} mm")):
        x = (float(d.x_p) + 9) * k
        axes.annotate("", xy=(x, z * k), xytext=(x, float(d.z_p) * k), zorder=6,
                      arrowprops=dict(arrowstyle="<->", color=COLOURS["guide"], lw=1))
        words = words if system == "mm" else f"{'arm ' if 'arm' in words else ''}{abs(z - float(d.z_p)) * k:.2f} in"
        axes.text(x + 3 * k, (0.35 * float(d.z_p) + 0.65 * z) * k, words, fontsize=8.5, va="center", zorder=8)
    low = min(design.heel.foot_z, design.block.foot_z)
    scale = f"10 mm of the drawing are {10 / size:.0f} N" if system == "mm" else f"1 in of the drawing is {25.4 / size:.0f} N"
    weight = design.headstock.neck_mass * GRAVITY
    axes.text((right - 3) * k, (low + 2) * k, f"arrows: {scale}; the neck weighs {weight:.0f} N", ha="right", va="bottom",
              fontsize=8.5)
    axes.set_xlim(left * k, right * k)
    axes.set_ylim((low - 6) * k, (z_s + 16) * k)
    unit = "mm" if system == "mm" else "in"
    label_axes(axes, ("along the body from the joint", unit), ("over the soundboard at the joint", unit))
    return drawing


def least_clamps(f: Forces) -> Figure:
    """Least clamp force of each load [N] beside the design's preload: where a ball climbs, and where it lifts off."""
    rows, w = f.rows[::-1], f.worst
    if w is None:
        drawing, axes = titled(f"No load of handling is listed; the clamp's preload is {f.preload:.0f} N", 60, 180, 42)
        axes.set_axis_off()
        return drawing
    short = "enough for every load" if w.least_clamp <= f.preload else "too little"
    asks = f"It asks {w.least_clamp:.0f} N of the clamp screw" if np.isfinite(w.least_clamp) else "No clamp force holds it"
    drawing, axes = titled(f"Worst load: {w.load}. {asks}; the preload of {f.preload:.0f} N is {short}", 60, 180,
                           42 + 9.5 * len(rows))
    y = np.arange(len(rows))
    axes.barh(y, [r.least_clamp for r in rows], height=0.55, color=BLUE,
              label="below this a ball climbs in its seat (no friction)")
    axes.plot([r.least_clamp_axial for r in rows], y, "D", color=ORANGE, mec="black", ms=6,
              label="below this a seat has lifted off")
    axes.plot([f.preload] * 2, [-0.6, len(rows) - 0.4], color=COLOURS["stop"], lw=2, ls=(0, (6, 2)),
              label="preload of the design")
    axes.set_yticks(y, [textwrap.fill(r.load, 34) for r in rows])
    axes.set_xlim(0, 1.12 * max(f.preload, *(r.least_clamp for r in rows if np.isfinite(r.least_clamp))))
    for place_, r in zip(y, rows, strict=True):
        text = f"{r.least_clamp:.0f} N" if np.isfinite(r.least_clamp) else "no clamp force holds it"
        axes.text(min(r.least_clamp, f.preload) + f.preload * 0.02, place_, text if r.least_clamp > 0 else "none needed",
                  va="center", fontsize=8.5)
    axes.set_xlabel("clamp force [N]")
    axes.set_ylim(-0.6, len(rows) + 1.9)
    legend(axes, "upper right")
    return drawing


def over_the_travel(design: Any, o: OverTravel) -> Figure:
    """The tilt screw's force over the travel [N over turns]: alone, with friction either way, and under every load."""
    low, high = o.handled
    more = f"handling makes it {low.min():.0f} to {high.max():.0f} N" if o.loads else "no load of handling is listed"
    drawing, axes = titled(f"From end to end of the travel the strings ask {o.tilt.min():.0f} to {o.tilt.max():.0f} N of the "
                           f"tilt screw; {more}", 88, 180, 92)
    axes.fill_between(o.turns, low, high, color=COLOURS["guide"], alpha=0.18, lw=0, label="under all loads of handling")
    for side, alpha, words in ((1, 0.25, "friction may hold it anywhere here (dry)"), (0, 0.45, "the same, greased")):
        axes.fill_between(o.turns, o.tilt - o.band[side], o.tilt + o.band[side], color=COLOURS["gap"], alpha=alpha, lw=0,
                          label=words)
    axes.plot(o.turns, o.tilt, **line_style(0), label="strings alone, no friction")
    axes.plot(o.turns, o.least_clamp, **line_style(1), label="clamp force below which a ball climbs, worst load")
    axes.axhline(0, color=COLOURS["stop"], lw=1)
    axes.text(o.turns[0], -6, "below: the screw is pushed", color=COLOURS["stop"], fontsize=8.5, va="top")
    axes.set_ylim(min(1.35 * low.min(), -60), 1.6 * high.max())
    label_axes(axes, ("tilt screw, up is higher action", "turns"), ("force", "N"))
    legend(axes, "upper left")
    return drawing


def reversing(design: Any, f: Forces) -> Figure:
    """Force in the tilt screw against a push on the headstock's end [N], with friction's dead band; cover and spring below."""
    pushes = [Load(name="hand", push=size, direction="back") for size in ("0 N", "1 N")]
    none, one = balance(f.joint, load_wrenches(design, f.joint.pose, pushes)).tilt
    push = np.linspace(-60, 100, 161)
    force, at = none + (one - none) * push, float(none / (none - one))
    low, high = (float(b) for b in f.band.band)
    drawing, axes = titled(f"The tilt screw's force reverses at {at:.0f} N on the headstock's end; each newton there counts "
                           f"{none - one:.1f} times", 88, 180, 92)
    for b, alpha, words in ((high, 0.22, "friction may hold it here (dry)"), (low, 0.40, "the same, greased")):
        axes.fill_between(push, force - b, force + b, color=COLOURS["gap"], alpha=alpha, lw=0, label=words)
    axes.plot(push, force, **line_style(0), label="tilt screw, tension up")
    axes.plot(push, spring_and_cover(design, force)[1], **line_style(1), label="glued cover")
    axes.axhline(0, color=COLOURS["guide"], lw=1)
    axes.plot([at], [0], "o", color=COLOURS["stop"], ms=8, zorder=6)
    spring = design.tilt_screw.spring_push
    if spring > 0:
        leaves = at + spring / (none - one)
        axes.plot([leaves], [-spring], "s", color=COLOURS["stop"], ms=7, zorder=6)
        axes.annotate(f"head leaves its face at {leaves:.0f} N", (leaves, -spring), xytext=(-32, 62), textcoords="offset points",
                      color=COLOURS["stop"], arrowprops=dict(arrowstyle="-", color=COLOURS["stop"], lw=0.8))
    axes.annotate(f"reverses at {at:.0f} N", (at, 0), xytext=(-92, -46), textcoords="offset points", color=COLOURS["stop"],
                  arrowprops=dict(arrowstyle="-", color=COLOURS["stop"], lw=0.8))
    axes.axvline(0, color=COLOURS["guide"], lw=0.8, ls=":")
    axes.text(1, force.max() * 0.97, "neck on its back,\nno hand on it", fontsize=8.5, va="top")
    label_axes(axes, ("push on the headstock's end: forward (minus), back (plus)", "N"), ("force", "N"))
    legend(axes, "lower left")
    return drawing
