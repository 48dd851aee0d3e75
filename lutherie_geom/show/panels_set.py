"""Neck set: neck angle, straightedge at the bridge, saddle and action as one picture."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.body import soundboard
from lutherie_geom.joint.neck_set import straightedge_at_bridge
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style

__all__ = ["neck_set_picture", "neck_set_sheet"]

_ANGLES = np.radians(np.linspace(-0.5, 1.5, 41))


def neck_set_picture(design: Any) -> Figure:
    """Action at fret 12 and straightedge at the bridge over the neck angle, saddle left as it is [mm over deg]."""
    d = design.dimensions()
    drawing, (left, right) = stagehand.stage()
    a = action(pose(d.replaced(alpha=_ANGLES)), [12])[:, 0]
    left.plot(np.degrees(_ANGLES), a[0], label="bass string", **line_style(0))
    left.plot(np.degrees(_ANGLES), a[-1], label="treble string", **line_style(1))
    edge = straightedge_at_bridge(d.replaced(alpha=_ANGLES))
    right.plot(np.degrees(_ANGLES), edge, label="straightedge", **line_style(2))
    tenth = [float(np.interp(np.radians(0.1), _ANGLES, v) - np.interp(0.0, _ANGLES, v)) for v in (a.mean(axis=0), edge)]
    for axes, value in ((left, None), (right, float(np.mean(d.h_saddle)))):
        axes.axvline(np.degrees(float(d.alpha)), color=COLOURS["guide"], lw=1)
        if value:
            axes.axhline(value, color=COLOURS["stop"], lw=1, label="saddle, mean")
    stagehand.axes_of(left, "neck angle [deg]", "action at fret 12 [mm]", (-0.5, 1.5), (-1.5, 5.0))
    stagehand.axes_of(right, "neck angle [deg]", "over the soundboard at the bridge [mm]", (-0.5, 1.5), (4, 18))
    for axes in (left, right):
        axes.set_xticks([-0.5, 0, 0.5, 1, 1.5])
    stagehand.headline(left, f"0.1 degree more neck angle: {tenth[0]:+.2f} mm of action")
    stagehand.headline(right, f"and {tenth[1]:+.2f} mm at the bridge")
    legend(left, "lower left")
    legend(right, "upper left")
    return drawing


def neck_set_sheet(design: Any) -> HandSheet:
    """Neck angle [deg], saddle and tongue wood [mm]: where straightedge and strings run, and the action [mm]."""
    base = design.dimensions()
    drawing, (side, curve) = stagehand.stage((1.3, 0.9), 205.0)
    x_bridge, x_nut = float(np.mean(base.x_saddle)), float(base.x_nut)
    x = np.linspace(0, x_bridge + 30, 60)
    stagehand.axes_of(side, "along the body [mm]", "height [mm] (stretched)", (x_nut - 10, x_bridge + 30), (-4, 30))
    side.plot(x, soundboard(base, x, 0.0), color=COLOURS["soundboard"], lw=2, label="soundboard")
    (board,) = side.plot([], [], color=COLOURS["board"], lw=2, label="fret plane")
    (edge,) = side.plot([], [], color=COLOURS["board"], lw=1, ls="--", label="straightedge carried on")
    (string,) = side.plot([], [], color=COLOURS["string"], lw=1, label="string, mean of all")
    (saddle,) = side.plot([], [], color=COLOURS["stop"], lw=3, label="saddle")
    legend(side, "upper left")
    finding = stagehand.headline(side)
    stagehand.axes_of(curve, "neck angle [deg]", "action at fret 12 [mm]", (-0.5, 1.5), (-1, 5))
    curve.axhline(0, color=COLOURS["stop"], lw=0.8)
    lines = [curve.plot([], [], label=name, **line_style(k))[0] for k, name in enumerate(("bass string", "treble string"))]
    dots = [curve.plot([], [], "o", color=line_style(k)["color"])[0] for k in range(2)]
    legend(curve, "upper right")
    stagehand.headline(curve, "Action over the neck angle")
    top = soundboard(base, x_bridge, 0.0)

    def update(v: dict[str, float]) -> str:
        d = base.replaced(alpha=np.radians(v["angle"]), h_saddle=np.asarray(base.h_saddle) + v["saddle"],
                          z_joint=base.z_joint + v["wood"])
        p = pose(d)
        ends = p.to_body(np.array([x_nut, 0.0]), 0.0, 0.0)
        board.set_data(ends.x, ends.z)
        high = float(straightedge_at_bridge(d))
        edge.set_data([0.0, x_bridge], [float(ends.z[1]), high + top])
        lift = float(np.mean(d.h_saddle))
        nut_z = float(p.to_body(x_nut, 0.0, float(np.mean(string_lines(p).z_nut))).z)
        string.set_data([x_nut, x_bridge], [nut_z, lift + top])
        saddle.set_data([x_bridge] * 2, [top, lift + top])
        many, now = action(pose(d.replaced(alpha=_ANGLES)), [12])[:, 0], action(p, [12])[:, 0]
        for line, dot, k in zip(lines, dots, (0, -1), strict=True):
            line.set_data(np.degrees(_ANGLES), many[k])
            dot.set_data([v["angle"]], [float(now[k])])
        finding.set_text(f"At the bridge: straightedge {high:.1f} mm, saddle {lift:.1f} mm")
        return (f"Straightedge {high:.2f} mm, saddle {lift:.2f} mm over the soundboard (mean); action at fret 12: "
                f"bass {stagehand.plain(now[0]):.2f}, treble {stagehand.plain(now[-1]):.2f} mm.")

    controls = [stagehand.slider("angle", "neck angle", round(float(np.degrees(base.alpha)), 2), -0.5, 1.5, 0.05, "deg",
                                 "neck.angle"),
                stagehand.slider("saddle", "saddle, up", 0.0, -4.0, 4.0, 0.1,
                                 field=stagehand.lifted_saddle(base, lambda v: v["saddle"])),
                stagehand.slider("wood", "tongue wood, thicker", 0.0, -2.0, 2.0, 0.1,
                                 field=("tongue.wood", lambda v: stagehand.mm(design.tongue.wood + v["wood"])))]
    return HandSheet(drawing, controls, [board, edge, string, saddle, *lines, *dots, finding], update, design=design)
