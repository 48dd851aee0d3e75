"""Steering: the two pivot screws from above, and everything that they change at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.body import heel_fit
from lutherie_geom.joint.coupling import SCREWS, coupling
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import action, edge_margin, string_lines
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, SERIES, legend

__all__ = ["steer_picture", "steer_sheet"]

_SEEN = ("action 12, bass", "action 12, treble", "nut end, to treble", "side gap, bass", "side gap, treble")


def steer_picture(design: Any) -> Figure:
    """What a builder sees for 1/16 turn of each screw [mm], from the exact coupling."""
    c = coupling(pose(design.dimensions())).seen / 16
    against = c[:, 1] - c[:, 2]
    drawing, (axes,) = stagehand.stage((1.0,), 165.0, 82.0)
    rows = np.vstack([c.T, against])
    for k, (row, name) in enumerate(zip(rows, (*SCREWS, "bass out, treble in"), strict=True)):
        at = np.arange(3) + (k - 1.5) * 0.2
        axes.barh(at, row, 0.18, color=SERIES[k], label=name, hatch=("", "//", "..", "")[k], edgecolor="white")
        for y, value in zip(at, row, strict=True):
            axes.annotate(f"{stagehand.plain(value):+.2f}", (value, y), (3 if value >= 0 else -3, 0), textcoords="offset points",
                          va="center", ha="left" if value >= 0 else "right", fontsize=7.5)
    reach = 1.25 * float(np.abs(rows).max())
    stagehand.axes_of(axes, "change for 1/16 turn [mm]", "", (-reach, reach), (2.6, -0.6))
    axes.set_yticks(range(3), _SEEN[:3])
    stagehand.headline(axes, f"1/16 turn of the bass screw alone: nut end {c[2, 1]:+.2f} mm, action {c[:2, 1].mean():+.2f} mm")
    legend(axes, "lower left")
    return drawing


def _seen(p: Pose) -> np.ndarray:
    """What the builder sees at a pose [mm], in the order of the names."""
    a, fit = action(p, [12])[:, 0], heel_fit(p, heights=5)
    return np.array([a[0], a[-1], p.to_body(p.of.x_nut, 0.0, 0.0).y, fit.side[:, 0].min(), fit.side[:, 1].min()], dtype=float)


def steer_sheet(design: Any) -> HandSheet:
    """Turn all three screws [turns], move the seats apart [mm]: the neck from above and what changes [mm]."""
    base = design.dimensions()
    board = design.board
    drawing, (top, bars) = stagehand.stage((1.15, 1.0), 205.0)
    far = float(np.max(base.x_saddle)) + 8
    stagehand.axes_of(top, "along the body [mm]", "across, to treble [mm] (stretched)", (float(base.x_nut) - 12, far), (-42, 42))
    top.axvspan(0, far, color=COLOURS["body"], alpha=0.10, lw=0)
    top.text(far - 4, -39, "body", fontsize=8, ha="right", color=COLOURS["body"])
    top.axhline(0, color=COLOURS["guide"], lw=0.8, ls=":")
    (edge,) = top.plot([], [], color=COLOURS["board"], lw=1.5)
    strings = [top.plot([], [], color=COLOURS["string"], lw=0.9)[0] for _ in range(2)]
    (seats,) = top.plot([], [], "o-", color=COLOURS["stop"], ms=6, lw=1)
    words = [top.text(0, 0, name, fontsize=8, color=COLOURS["stop"], ha="right") for name in ("bass seat", "treble seat")]
    finding = stagehand.headline(top)
    stagehand.axes_of(bars, "change from rest [mm]", "", (-3.9, 3.9), (4.6, -0.6))
    bars.set_yticks(range(5), _SEEN)
    bars.axvline(0, color=COLOURS["guide"], lw=0.8)
    patches = bars.barh(range(5), np.zeros(5), 0.55, color=[SERIES[0], SERIES[0], SERIES[1], SERIES[2], SERIES[2]])
    numbers = [bars.text(0, k, "", va="center", fontsize=8) for k in range(5)]
    stagehand.headline(bars, "What the builder sees")
    x_last, half = float(base.x_fret(base.last_fret)), (board.width_nut / 2, board.width_last / 2)
    x_edge = np.array([base.x_nut, x_last, x_last, base.x_nut, base.x_nut], dtype=float)
    y_edge = np.array([-half[0], -half[1], half[1], half[0], -half[0]])

    def update(v: dict[str, float]) -> str:
        d = base.replaced(spacing=v["spacing"])
        p = pose(d, tilt=v["tilt"], bass=v["bass"], treble=v["treble"])
        outline = p.to_body(x_edge, y_edge, 0.0)
        edge.set_data(outline.x, outline.y)
        lines = string_lines(p)
        nut = p.to_body(lines.x_nut, lines.y_nut, lines.z_nut)
        for string, k in zip(strings, (0, -1), strict=True):
            string.set_data([float(nut.x[k]), float(base.x_saddle[k])], [float(nut.y[k]), float(base.y_saddle[k])])
        across = np.array([-0.5, 0.5]) * v["spacing"]
        along = float(d.x_p) - float(d.pitch_pivot) * np.array([v["bass"], v["treble"]])
        seats.set_data(along, across)
        for word, y in zip(words, across, strict=True):
            word.set_position((-16.0, y - 1.5))
        change = _seen(p) - _seen(pose(d))
        for patch, number, value in zip(patches, numbers, change, strict=True):
            patch.set_width(value)
            shown = stagehand.plain(value)
            number.set(text=f"{shown:+.2f}", x=float(np.clip(value, -3.2, 3.2)) + (0.1 if value >= 0 else -0.1),
                       ha="left" if value >= 0 else "right")
        yaw = stagehand.plain(np.degrees(p.psi))
        finding.set_text(f"Yaw {yaw:+.2f} deg, advance {stagehand.plain(p.advance):+.2f} mm")
        bass, treble = (float(m.min()) for m in edge_margin(p, np.arange(1, d.last_fret + 1)))
        return (f"Yaw {yaw:+.2f} deg: nut end {stagehand.plain(change[2]):+.2f} mm to treble; action at fret 12 bass "
                f"{stagehand.plain(change[0]):+.2f}, treble {stagehand.plain(change[1]):+.2f} mm; strings to the board's edge: "
                f"bass {bass:.2f}, treble {treble:.2f} mm.")

    controls = [stagehand.slider("bass", "bass pivot screw, out", 0.0, -0.125, 0.125, 1 / 96, "turns"),
                stagehand.slider("treble", "treble pivot screw, out", 0.0, -0.125, 0.125, 1 / 96, "turns"),
                stagehand.slider("tilt", "tilt screw", 0.0, -0.5, 0.5, 1 / 48, "turns"),
                stagehand.slider("spacing", "seats apart", float(base.spacing), 16.0, 60.0, 1.0, field="pivot.spacing")]
    return HandSheet(drawing, controls, [edge, *strings, seats, *words, *patches, *numbers, finding], update, design=design)
