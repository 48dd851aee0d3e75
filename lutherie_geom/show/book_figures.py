"""Figures of the joint book: data in, Figure out. Every title states a finding with its number and unit.

Drawings are at true shape (one length the same both ways) unless the title says how much one direction is stretched.
Left-handed instruments are drawn mirrored in plan. ``system`` chooses millimetres or inches for axes and titles.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle

from lutherie_geom.design.units import convert
from lutherie_geom.joint.body import gap, heel_fit, least_gap
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.joint.travel import Travel
from lutherie_geom.show.outlines import draw_body, draw_neck
from lutherie_geom.show.style import COLOURS, figure, label_axes, legend, line_style

__all__ = ["action_by_turns", "gap_along_tongue", "heel_in_pocket", "plan_of_steering", "side_view",
           "stops_of_travel", "titled"]

STRETCH_PLAN = 10  # how many times larger the steering is drawn than it is: 3 mm in 500 mm would not be seen
AGAINST = 1 / 8  # turn: bass pivot screw out, treble in


def _unit(system: str) -> str:
    return "mm" if system == "mm" else "in"


def _short(mm: float, system: str, digits: int = 2) -> str:
    """A length for a title: decimals only, since a title has no room for fraction and decimal."""
    number = convert(mm, system)  # type: ignore[arg-type]
    text = f"{number:.{digits if system == 'mm' else digits + 1}f}"
    return f"{text.lstrip('-') if not text.strip('-0.') else text} {_unit(system)}"


def titled(title: str, letters: int, width: float, height: float, *, true_shape: bool = False) -> tuple[Figure, Any]:
    """A figure [mm] whose title is broken into lines of so many letters."""
    drawing, axes = figure(textwrap.fill(title, letters), width, height)
    if true_shape:
        axes.set_aspect("equal", adjustable="box")
    return drawing, axes


def _three(t: Travel) -> tuple[tuple[float, str], ...]:
    """Lowest, nominal and highest turn with their words."""
    return (t.low, f"lowest, {t.low:+.2f} turns"), (0.0, "nominal, 0 turns"), (t.high, f"highest, {t.high:+.2f} turns")


def side_view(design: Any, system: str = "mm") -> Figure:
    """The joint seen from the treble side, on the centreline, all turns zero [mm or in]; nut to the left."""
    d = design.dimensions()
    p, k = pose(d), convert(1.0, system)  # type: ignore[arg-type]
    least = float(least_gap(p).gap)
    drawing, axes = titled(f"The tilt screw works on an arm of {_short(float(arm(d)), system, 1)}; the tongue floats "
                            f"{_short(least, system)} over the top", 84, 180, 108, true_shape=True)
    top, block, heel = design.body, design.block, design.heel
    left, right = -float(heel.length) - 35, top.soundhole_far + 12
    draw_body(axes, design, system, right)
    draw_neck(axes, design, system, left)
    x = np.linspace(left, design.tongue.length, 80)
    plane = d.z_joint + x * np.tan(d.alpha)
    axes.plot(x * k, plane * k, color=COLOURS["guide"], lw=1, ls=(0, (6, 2)), label="fret plane")
    lines = string_lines(p)
    for i in (0, -1):
        ends = p.to_body(np.array([d.x_nut, lines.xn_saddle[i]]), np.array([lines.y_nut[i], lines.yn_saddle[i]]),
                         np.array([lines.z_nut[i], lines.zn_saddle[i]]))
        at = np.array([left, right])
        axes.plot(at * k, np.interp(at, ends.x, ends.z) * k, color=COLOURS["string"], lw=0.9,
                  label="outer strings" if i == 0 else None)
    axes.plot([-d.pocket * k] * 2, [0, design.heel.foot_z * 1.06 * k], color=COLOURS["guide"], lw=1, ls=":", label="pocket's rim")
    _screws(axes, design, d, k)
    axes.set_xlim(left * k, right * k)
    axes.set_ylim((min(heel.foot_z, block.foot_z) - 8) * k, (d.z_joint + 26) * k)
    hole = (top.soundhole_near + top.soundhole_far) / 2
    for x0, z0, text in ((block.depth + 22, -9, "soundboard"), (hole, 3, "soundhole"),
                         (block.depth * 0.6, (d.z_p + d.z_head) / 2, "block"), (-26, d.z_p / 2, "heel")):
        axes.text(x0 * k, z0 * k, text, ha="center", va="center")
    label_axes(axes, ("along the body from the joint", _unit(system)), ("over the soundboard at the joint", _unit(system)))
    legend(axes, "lower right")
    return drawing


def _screws(axes: Any, design: Any, d: Any, k: float) -> None:
    s, t = design.pivot, design.tilt_screw
    rim = d.x_p + np.sqrt(s.ball_radius**2 - s.rim_radius**2)
    axes.add_patch(Rectangle((rim * k, (d.z_p - s.screw_diameter / 2) * k), s.screw_length * k, s.screw_diameter * k,
                             facecolor="white", edgecolor=COLOURS["pivot"], hatch="////", lw=1))
    axes.add_patch(Circle((d.x_p * k, d.z_p * k), s.ball_radius * k, facecolor="white", edgecolor=COLOURS["pivot"], lw=1.4,
                          zorder=4))
    axes.plot([d.x_p * k], [d.z_p * k], "+", color=COLOURS["pivot"], ms=8, zorder=5)
    way = np.array([d.x_receiver - d.x_head, d.z_receiver - d.z_head])
    way = way / np.hypot(*way)
    tip = np.array([d.x_receiver, d.z_receiver]) + way * t.past_receiver
    axes.plot([d.x_head * k, tip[0] * k], [d.z_head * k, tip[1] * k], color=COLOURS["screw"], lw=3.5, solid_capstyle="butt",
              zorder=4)
    axes.add_patch(Circle((d.x_receiver * k, d.z_receiver * k), t.receiver_diameter / 2 * k, facecolor="white",
                          edgecolor=COLOURS["screw"], lw=1.4, zorder=3))
    axes.add_patch(Rectangle((d.x_head * k, (d.z_head - t.head_diameter / 2) * k), 5 * k, t.head_diameter * k,
                             facecolor=COLOURS["screw"], zorder=4))
    axes.annotate("pivot: ball\nhead in seat", ((d.x_p - 4) * k, d.z_p * k), xytext=(0.03, 0.3), textcoords="axes fraction",
                  ha="left", va="center", arrowprops=dict(arrowstyle="-", lw=0.7))
    axes.annotate("tilt screw, captive head", (d.x_head * k + 5 * k, d.z_head * k), xytext=(40, -8), textcoords="offset points",
                  ha="left", va="top", arrowprops=dict(arrowstyle="-", lw=0.7))


def _ends(t: Travel) -> tuple[str, str]:
    low, high = t.first(-1), t.first(1)
    return (low.words if low else "nothing within reach"), (high.words if high else "nothing within reach")


def action_by_turns(design: Any, t: Travel, system: str = "mm") -> Figure:
    """Action at fret 12 [mm or in] of the outer strings against turns of the tilt screw, travel marked."""
    d, k = design.dimensions(), convert(1.0, system)  # type: ignore[arg-type]
    room = 0.15 * (t.high - t.low)
    turns = np.linspace(t.low - room, t.high + room, 121)
    a = action(pose(d, tilt=turns), 12)[:, 0]
    step = float((action(pose(d, tilt=1 / 16), 12) - action(pose(d), 12)).mean())
    drawing, axes = titled(f"One sixteenth of a turn moves the action at fret 12 by {_short(step, system, 3)}; "
                            f"travel {t.low:+.2f} to {t.high:+.2f} turns", 84, 180, 90)
    axes.axvspan(t.low, t.high, color=COLOURS["gap"], alpha=0.18, lw=0, label="travel")
    for n, (i, name) in enumerate(((0, "bass string"), (-1, "treble string"))):
        axes.plot(turns, a[i] * k, label=name, **line_style(n))
        now = float(action(pose(d), 12)[i, 0])
        axes.plot([0], [now * k], "o", color=line_style(n)["color"], ms=5)
        axes.annotate(_short(now, system), (0, now * k), xytext=(6, -12 if n else 8), textcoords="offset points")
    axes.axhline(0, color=COLOURS["guide"], lw=0.8)
    marks = [(t.low, _ends(t)[0], -1), (t.high, _ends(t)[1], 1)]
    marks += [(s.turn, s.words + " (warning)", -1) for s in t.stops
              if s.name == "first touch" and s.turn is not None and t.low < s.turn < 0]
    for turn, words, side in marks:
        axes.axvline(turn, color=COLOURS["stop"], lw=1.2, ls=(0, (2, 1.5)))
        axes.annotate(words, (turn, 0.97), xycoords=("data", "axes fraction"), rotation=90, va="top", fontsize=8,
                      ha="right" if side < 0 else "left", xytext=(3 * side, 0), textcoords="offset points")
    label_axes(axes, ("tilt screw (positive: action up)", "turns"), ("action at fret 12", _unit(system)))
    legend(axes, (0.56, 0.04))
    return drawing


def gap_along_tongue(design: Any, t: Travel, system: str = "mm") -> Figure:
    """Least gap across the tongue [mm or in] along its length, at the lowest, nominal and highest turn."""
    d, k = design.dimensions(), convert(1.0, system)  # type: ignore[arg-type]
    x = np.linspace(0, design.tongue.length, 61)
    across = np.linspace(-0.5, 0.5, 9) * design.tongue.width
    drop = float(least_gap(pose(d)).gap) - float(least_gap(pose(d, tilt=t.high)).gap)
    ends = _ends(t)
    stopped = ": it is the tongue that stops it" if "tongue" in ends[1] else ""
    drawing, axes = titled(f"Raising the action through {t.high:.2f} turns takes {_short(drop, system)} of the gap under the "
                            f"tongue{stopped}", 84, 180, 82)
    for n, (turn, name) in enumerate(_three(t)):
        g = gap(pose(d, tilt=turn), x[:, None], across[None, :]).min(axis=1)
        axes.plot(x * k, g * k, label=name, **line_style(n))
    axes.axhline(0, color=COLOURS["soundboard"], lw=2)
    axes.annotate("soundboard", (design.tongue.length * k, 0), xytext=(0, -4), textcoords="offset points", ha="right", va="top")
    axes.set_ylim(bottom=-0.12 * axes.get_ylim()[1])
    label_axes(axes, ("along the tongue from the joint", _unit(system)), ("gap, least across", _unit(system)))
    legend(axes, "best")
    return drawing


def stops_of_travel(t: Travel, reach: float = 6.0) -> Figure:
    """Every stop within ``reach`` turns as a bar from zero to its own turn [turns]; warnings hatched."""
    shown = [(s, s.turn) for s in t.stops if s.turn is not None and abs(s.turn) <= reach]
    low, high = _ends(t)
    title = "\n".join(textwrap.fill(line, 64) for line in (f"{t.low:+.2f} turns down: {low};", f"{t.high:+.2f} turns up: {high}"))
    drawing, axes = figure(title, 180, 34 + 9 * max(len(shown), 2))
    ends = {t.low, t.high}
    for row, (s, turn) in enumerate(shown):
        first = s.kind == "stop" and turn in ends
        warn = s.kind == "warning"
        axes.barh(row, turn, height=0.62, color="white" if warn else COLOURS["stop"] if first else COLOURS["gap"],
                  edgecolor=COLOURS["guide"], hatch="////" if warn else None, lw=0.8)
        axes.annotate(f"{turn:+.2f}", (turn, row), xytext=(4 if turn > 0 else -4, 0), textcoords="offset points",
                      ha="left" if turn > 0 else "right", va="center")
    axes.set_yticks(range(len(shown)),
                    [textwrap.fill(s.words + (" (warning)" if s.kind == "warning" else ""), 36) for s, _ in shown])
    axes.invert_yaxis()
    axes.axvline(0, color=COLOURS["text"], lw=1)
    axes.margins(x=0.2)
    axes.grid(axis="y", visible=False)
    axes.set_xlabel("tilt screw, minus: action down [turns]")
    return drawing


def heel_in_pocket(design: Any, t: Travel, system: str = "mm") -> Figure:
    """The heel's end face between the pocket's floor and its rim at three turns [mm or in]; depth stretched as the title says."""
    d, k = design.dimensions(), convert(1.0, system)  # type: ignore[arg-type]
    foot = [float(heel_fit(pose(d, tilt=v)).floor[-1].min()) for v in (t.low, 0.0, t.high)]
    z_low = design.heel.foot_z
    wide = max(float(d.pocket), *foot) + 1.2
    stretch = min(max(round(0.6 * abs(z_low) / (wide + 1.2)), 2), 20)
    drawing, axes = titled(f"The foot stands {_short(foot[0], system)}, {_short(foot[1], system)} and {_short(foot[2], system)} "
                            f"off the floor, lowest to highest turn (depth drawn {stretch} times larger)", 48, 150, 150)
    axes.axvspan(0, 1.2 * k, color=COLOURS["body"], alpha=0.3, lw=0)
    axes.axvline(0, color=COLOURS["body"], lw=2)
    axes.axvline(-d.pocket * k, color=COLOURS["guide"], lw=1.4, ls=":")
    for n, (turn, name) in enumerate(_three(t)):
        fit = heel_fit(pose(d, tilt=turn), heights=21)
        axes.plot(-fit.floor[:, 0] * k, fit.z[:, 0] * k, label=name, **line_style(n))
    axes.plot([max(d.x_p, -wide) * k], [d.z_p * k], "o", mfc="white", mec=COLOURS["pivot"], ms=8)
    axes.annotate("pivot\naxis", (max(d.x_p, -wide) * k, d.z_p * k), xytext=(8, 0), textcoords="offset points", va="center")
    axes.text(0.6 * k, z_low / 2 * k, "block: floor of the pocket", rotation=90, ha="center", va="center")
    axes.annotate("rim: past it a gap shows", (-d.pocket * k, z_low * k), xytext=(-3, 4), textcoords="offset points",
                  rotation=90, ha="right", va="bottom", fontsize=8)
    axes.set_xlim(-wide * k, 1.2 * k)
    axes.set_ylim((z_low - 4) * k, 6 * k)
    axes.set_aspect(1 / stretch, adjustable="box")
    label_axes(axes, ("heel's end face from the floor", _unit(system)), ("height under the soundboard", _unit(system)))
    drawing.legend(loc="outside lower center", ncols=1, frameon=False, fontsize=8.5)
    return drawing


def plan_of_steering(design: Any, system: str = "mm") -> Figure:
    """The neck from above, straight and with the pivot screws turned against each other [mm or in]; steering stretched."""
    d, k = design.dimensions(), convert(1.0, system)  # type: ignore[arg-type]
    straight, steered = pose(d), pose(d, bass=AGAINST, treble=-AGAINST)
    hand = -1.0 if design.handed == "left" else 1.0
    nut = float(steered.to_body(d.x_nut, 0.0, 0.0).y - straight.to_body(d.x_nut, 0.0, 0.0).y)
    drawing, axes = titled(f"Bass pivot screw out and treble in by {AGAINST:g} turn: the nut end moves {_short(nut, system)} to "
                            f"treble (drawn {STRETCH_PLAN} times larger than it is)", 84, 180, 72, true_shape=True)
    b = design.board
    half = (b.width_last - b.width_nut) / float(d.x_fret(d.last_fret) - d.x_nut)
    end = design.tongue.length
    wide_end = b.width_nut + half * (end - d.x_nut)
    x = np.array([d.x_nut, end, end, d.x_nut])
    y = np.array([-b.width_nut, -wide_end, wide_end, b.width_nut]) / 2
    first = straight.to_body(x, y, 0.0)
    then = steered.to_body(x, y, 0.0)
    moved_x, moved_y = first.x + STRETCH_PLAN * (then.x - first.x), first.y + STRETCH_PLAN * (then.y - first.y)
    axes.add_patch(Polygon(np.column_stack([first.x, hand * first.y]) * k, facecolor="none", edgecolor=COLOURS["guide"],
                           lw=1.2, ls="--", label="straight"))
    axes.add_patch(Polygon(np.column_stack([moved_x, hand * moved_y]) * k, facecolor=COLOURS["neck"], alpha=0.3,
                           edgecolor=COLOURS["neck"], lw=1.4, label="steered"))
    width = design.heel.half_width_top
    axes.add_patch(Rectangle((0, -width * k), design.block.depth * k, 2 * width * k, facecolor=COLOURS["body"], alpha=0.25,
                             edgecolor=COLOURS["body"]))
    axes.text(design.block.depth * 1.03 * k, -width * 1.05 * k, "block", va="top", ha="right")
    for side, name in ((-1, "bass"), (1, "treble")):
        y0 = hand * side * design.pivot.spacing / 2 * k
        axes.add_patch(Circle((d.x_p * k, y0), design.pivot.ball_radius * k, facecolor="white", edgecolor=COLOURS["pivot"],
                              lw=1.4))
        axes.text(d.x_nut * 0.5 * k, hand * side * (b.width_last / 2 + 25) * k, f"{name} side", ha="center", va="center")
    for i in (0, -1):
        axes.plot([d.x_nut * k, d.x_saddle[i] * k], [hand * d.y_nut[i] * k, hand * d.y_saddle[i] * k], color=COLOURS["string"],
                  lw=0.8)
    axes.set_xlim((d.x_nut - 15) * k, (float(np.max(d.x_saddle)) + 15) * k)
    axes.set_ylim(-80 * k, 80 * k)
    label_axes(axes, ("along the body from the joint", _unit(system)), ("across", _unit(system)))
    legend(axes, "upper right")
    return drawing

