"""Tilt: what a turn of the tilt screw does, exactly, beside the rule of thumb."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.pose import arm, pose, small_angle
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style

__all__ = ["tilt_picture", "tilt_sheet"]

_TURNS = np.linspace(-3.0, 3.0, 61)


def tilt_picture(design: Any, other: Any) -> Figure:
    """Exact tilt beside pitch over arm, and what the rule misses, for two designs [deg over turns]."""
    drawing, (left, right) = stagehand.stage((0.9, 1.1))
    misses = []
    for k, each in enumerate((design, other)):
        d = each.dimensions()
        exact, rule = np.degrees(pose(d, tilt=_TURNS).theta), np.degrees(small_angle(d, tilt=_TURNS))
        name = f"{each.name} ({d.receiver})"
        left.plot(_TURNS, exact, label=name, **line_style(k))
        right.plot(_TURNS, 60 * (rule - exact), label=name, **line_style(k))
        one = pose(d, tilt=1.0).theta
        misses.append(float(abs(small_angle(d, tilt=1.0) / one - 1)))
    first = design.dimensions()
    per_turn = float(np.degrees(pose(first, tilt=1.0).theta))
    left.plot(_TURNS, np.degrees(small_angle(first, tilt=_TURNS)), color=COLOURS["guide"], lw=1, ls=":",
              label=f"rule: pitch / arm, {design.name}")
    stagehand.headline(left, f"One turn tilts the neck by {per_turn:.2f} degrees")
    stagehand.axes_of(left, "tilt screw [turns]", "tilt [deg]", (-3, 3), (-3.4, 3.4))
    top = 1.25 * float(np.abs(right.get_ylim()).max())
    stagehand.headline(right, "At one turn pitch / arm misses by " + " and ".join(f"{m:.1%}" for m in misses))
    stagehand.axes_of(right, "tilt screw [turns]", "rule less exact [arc minutes]", (-3, 3), (-top, top))
    for axes in (left, right):
        axes.axhline(0, color=COLOURS["guide"], lw=0.8)
    legend(left, "upper left")
    return drawing


def tilt_sheet(design: Any) -> HandSheet:
    """Turn the tilt screw [turns], change its pitch [mm/turn] and its depth under the pivot [mm]; see tilt and action."""
    base = design.dimensions()
    drawing, (side, curve) = stagehand.stage((1.0, 1.05))
    view = stagehand.SideView(side, design)
    stagehand.headline(side, f"Motion drawn {stagehand.MAGNIFIED:.0f} times larger, gaps not true")
    stagehand.axes_of(curve, "tilt screw [turns]", "action at fret 12, mean of the strings [mm]", (-1.5, 1.5), (-2, 6))
    curve.axhline(0, color=COLOURS["stop"], lw=0.8)
    turns = np.linspace(-1.5, 1.5, 31)
    (exact,) = curve.plot([], [], **line_style(0), label="exact")
    (rule,) = curve.plot([], [], **line_style(1), label="straight line from the first step")
    (dot,) = curve.plot([], [], "o", color=COLOURS["string"], ms=7)
    legend(curve, "upper left")
    finding = stagehand.headline(curve)
    depth = float(base.z_p - base.z_head)

    def update(v: dict[str, float]) -> str:
        low = float(base.z_p) - v["depth"]
        d = base.replaced(pitch_tilt=v["pitch"], z_head=low, z_receiver=low)
        now = pose(d, tilt=v["tilt"])
        view.draw(now)
        many = stagehand.mean_action(pose(d, tilt=turns))
        exact.set_data(turns, many)
        start = float(stagehand.mean_action(pose(d)))
        rate = float(stagehand.mean_action(pose(d, tilt=1e-3)) - start) / 1e-3
        rule.set_data(turns, start + rate * turns)
        a = float(stagehand.mean_action(now))
        dot.set_data([v["tilt"]], [a])
        step = float(stagehand.mean_action(pose(d, tilt=1 / 8)) - start)
        finding.set_text(f"1/8 turn changes the action by {step:.2f} mm")
        rule_now = stagehand.plain(np.degrees(small_angle(d, tilt=v["tilt"])), 3)
        return (f"Tilt {stagehand.plain(np.degrees(now.theta), 3):+.3f} deg (pitch / arm: {rule_now:+.3f} deg, "
                f"arm {float(arm(d)):.1f} mm); action at fret 12 {a:.2f} mm.")

    controls = [stagehand.slider("tilt", "tilt screw", 0.0, -1.5, 1.5, 1 / 16, "turns"),
                stagehand.slider("pitch", "pitch of the tilt screw", float(base.pitch_tilt), 0.5, 1.5, 0.05, "mm/turn",
                                 ("tilt_screw.pitch", lambda v: stagehand.mm(v["pitch"]))),
                stagehand.slider("depth", "screw below the pivot", depth, 30.0, 80.0, 1.0,
                                 field=tuple((f"tilt_screw.{end}_z", lambda v: stagehand.mm(base.z_p - v["depth"]))
                                             for end in ("head", "receiver")))]
    return HandSheet(drawing, controls, [*view.artists, exact, rule, dot, finding], update, design=design)
