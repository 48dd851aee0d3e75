"""What moves the action: maps and bars of its sensitivity to the pivot, the arm, the threads and the seats."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.coupling import action_slopes, coupling
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, legend, line_style
from lutherie_geom.theory.action import action_rate
from lutherie_geom.theory.pose import POSE

__all__ = ["exact_rate", "rate_picture", "ranked", "sensitivity_picture", "sensitivity_sheet"]

_LENGTHS = {
    "h_saddle": "saddle height", "h_nut": "nut height", "x_saddle": "saddle along", "z_joint": "fret plane's height",
    "x_p": "pivot along", "z_p": "pivot's height", "x_head": "tilt screw's head along", "z_head": "tilt screw's head, height",
    "x_receiver": "receiver along", "z_receiver": "receiver, height", "spacing": "seats apart", "x_apex": "dome's apex along",
}
_RULE = "$x_f\\,(1 - x_p/x_s)$, lengths from the nut"
_PER = 1 / 8  # turn: a step of the hand


def moved(d: Dimensions, *, depth: Any, arm: Any, **others: Any) -> Dimensions:
    """The joint with its pivot ``depth`` below the top and a level tilt screw ``arm`` below the pivot [mm]."""
    low = -np.asarray(depth, dtype=float) - arm
    return d.replaced(z_p=-np.asarray(depth, dtype=float), z_head=low, z_receiver=low, **others)


def exact_rate(p: Pose, fret: int = 12) -> Any:
    """Exact change of action per radian of tilt [mm/rad], mean of the strings: slope by turns over tilt by turns."""
    d = p.of
    s = action_slopes(p, fret)["tilt"].mean(axis=(0, 1))
    t = POSE[d.receiver].slopes(tilt=p.tilt, bass=p.bass, treble=p.treble, pitch_tilt=d.pitch_tilt, pitch_pivot=d.pitch_pivot,
                                spacing=d.spacing, x_p=d.x_p, z_p=d.z_p, x_head=d.x_head, z_head=d.z_head,
                                x_receiver=d.x_receiver, z_receiver=d.z_receiver)["theta"]["tilt"]
    return s / t


def rule_rate(d: Dimensions, fret: Any = 12) -> Any:
    """The same by the teaching form x_f (1 - x_p / x_s) [mm/rad], lengths from the nut."""
    nut = d.x_nut
    return action_rate(nut_to_fret=d.x_fret(fret) - nut, nut_to_pivot=d.x_p - nut, nut_to_saddle=np.mean(d.x_saddle) - nut)


def rate_picture(design: Any) -> Figure:
    """Action per degree of tilt over the pivot's height and over the pivot's place along the body [mm/deg over mm]."""
    d = design.dimensions()
    drawing, (left, right) = stagehand.stage()
    depth, along = np.linspace(5.0, 60.0, 23), np.linspace(-30.0, 60.0, 37)
    degree = np.pi / 180
    by_depth = exact_rate(pose(moved(d, depth=depth, arm=60.0))) * degree
    by_place = exact_rate(pose(d.replaced(x_p=along))) * degree
    for axes, x, exact in ((left, depth, by_depth), (right, along, by_place)):
        axes.plot(x, exact, label="exact", **line_style(0))
    left.plot(depth, np.full_like(depth, float(rule_rate(d)) * degree), label=_RULE, **line_style(1))
    right.plot(along, rule_rate(d.replaced(x_p=along)) * degree, label=_RULE, **line_style(1))
    right.axvline(float(d.x_p), color=COLOURS["guide"], lw=1)
    words = "action at fret 12 per degree [mm/deg]"
    stagehand.axes_of(left, "pivot below the top [mm]", words, (5, 60), (0, 3.5))
    stagehand.axes_of(right, "pivot along the body, to the tail [mm]", words, (-30, 60), (0, 3.5))
    spread = float(np.ptp(by_depth) / by_depth.mean())
    stagehand.headline(left, f"Pivot 5 to 60 mm deep: the rate differs by {spread:.1%}")
    slope = float(by_place[-1] - by_place[0]) / float(along[-1] - along[0]) * 10
    stagehand.headline(right, f"10 mm toward the tail: {slope:+.3f} mm per degree")
    legend(left, "lower left")
    legend(right, "lower left")
    return drawing


def ranked(d: Dimensions, tilt: float, by: float = 0.1) -> list[tuple[str, float]]:
    """Change of the mean action at fret 12 [mm] when each length grows by ``by`` [mm], the largest first, at a tilt [turn]."""
    s = action_slopes(pose(d, tilt=tilt), 12)
    found = [(words, by * float(np.broadcast_to(s[name], (d.strings, 1)).mean())) for name, words in _LENGTHS.items()]
    return sorted(found, key=lambda row: -abs(row[1]))


def _map(axes: Any, x: np.ndarray, y: np.ndarray, values: np.ndarray, levels: np.ndarray) -> None:
    axes.contourf(x, y, values, levels=levels, cmap="cividis", alpha=0.55, extend="both")
    lines = axes.contour(x, y, values, levels=levels, colors=COLOURS["text"], linewidths=0.8)
    axes.clabel(lines, fmt="%.2f", fontsize=8)


def sensitivity_picture(design: Any) -> Figure:
    """Three maps: action per 1/8 turn over pivot height and arm, over pitch and arm; nut end per 1/16 turn of steering [mm]."""
    base = design.dimensions()
    drawing, (a, b, c) = stagehand.stage((1, 1, 1), 225.0, 84.0)
    depth, arm = np.linspace(8, 50, 22), np.linspace(30, 90, 25)
    pitch, spacing = np.linspace(0.5, 1.5, 21), np.linspace(16, 60, 23)
    levels = np.array([0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6])
    x, y = np.meshgrid(depth, arm)
    one = _PER * action_slopes(pose(moved(base, depth=x, arm=y)), 12)["tilt"].mean(axis=(0, 1))
    _map(a, x, y, one, levels)
    stagehand.axes_of(a, "pivot below the top [mm]", "arm of the tilt screw [mm]", (8, 50), (30, 90))
    stagehand.headline(a, f"1/8 turn [mm]: pivot height counts {np.ptp(one, axis=1).max() / one.mean():.1%}")
    x, y = np.meshgrid(pitch, arm)
    two = _PER * action_slopes(pose(moved(base, depth=-base.z_p, arm=y, pitch_tilt=x)), 12)["tilt"].mean(axis=(0, 1))
    _map(b, x, y, two, np.array([0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.7]))
    stagehand.axes_of(b, "pitch of the tilt screw [mm/turn]", "arm of the tilt screw [mm]", (0.5, 1.5), (30, 90))
    stagehand.headline(b, "Action per 1/8 turn [mm]")
    x, y = np.meshgrid(pitch, spacing)
    seen = coupling(pose(base.replaced(pitch_pivot=x, spacing=y))).seen[2] / 16
    three = seen[1] - seen[2]
    _map(c, x, y, three, np.array([0.4, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0]))
    stagehand.axes_of(c, "pitch of the pivot screws [mm/turn]", "seats apart [mm]", (0.5, 1.5), (16, 60))
    stagehand.headline(c, "Nut end per 1/16 turn against [mm]")
    for axes, where in ((a, (-base.z_p, base.z_p - base.z_head)), (b, (base.pitch_tilt, base.z_p - base.z_head)),
                        (c, (base.pitch_pivot, base.spacing))):
        axes.plot([float(where[0])], [float(where[1])], "o", color=COLOURS["stop"], mec="white", ms=8)
    return drawing


def sensitivity_sheet(design: Any) -> HandSheet:
    """Pivot, arm [mm], threads [mm/turn] and seats [mm]: what a small turn of each screw changes [mm], and a map of it."""
    base = design.dimensions()
    drawing, (bars, plane) = stagehand.stage((1.0, 1.0), 205.0)
    names = ("tilt 1/8: action", "bass 1/16: action bass", "bass 1/16: action treble", "against 1/16: nut end")
    stagehand.axes_of(bars, "change [mm]", "", (-1.2, 4.2), (3.6, -0.6))
    bars.set_yticks(range(4), names)
    bars.axvline(0, color=COLOURS["guide"], lw=0.8)
    patches = bars.barh(range(4), np.zeros(4), 0.55, color=[BLUE, ORANGE, ORANGE, COLOURS["body"]])
    numbers = [bars.text(0, k, "", va="center", fontsize=8) for k in range(4)]
    finding = stagehand.headline(bars)
    arms = np.linspace(30, 90, 13)
    stagehand.axes_of(plane, "arm of the tilt screw [mm]", "action at fret 12 per 1/8 turn [mm]", (30, 90), (0, 1.0))
    heights = ("this pivot height", "pivot 50 mm lower")
    lines = [plane.plot([], [], label=name, **line_style(k))[0] for k, name in enumerate(heights)]
    here = plane.text(0, 0, "", fontsize=8, ha="center")
    (dot,) = plane.plot([], [], "o", color=COLOURS["stop"], ms=8)
    legend(plane, "upper right")
    counts = stagehand.headline(plane)

    def update(v: dict[str, float]) -> str:
        share = dict(x_p=v["pivot"], pitch_tilt=v["pitch"], pitch_pivot=v["pitch_pivot"], spacing=v["spacing"])
        c = coupling(pose(moved(base, depth=v["depth"], arm=v["arm"], **share))).seen
        values = np.array([c[:2, 0].mean() / 8, c[0, 1] / 16, c[1, 1] / 16, (c[2, 1] - c[2, 2]) / 16])
        for patch, number, value in zip(patches, numbers, values, strict=True):
            patch.set_width(value)
            side = 1 if value >= 0 else -1
            number.set(text=f"{stagehand.plain(value):+.2f}", x=float(np.clip(value, -1.0, 3.6)) + 0.05 * side,
                       ha="left" if side > 0 else "right")
        curves = []
        for line, z in zip(lines, (v["depth"], v["depth"] + 50), strict=True):
            p = pose(moved(base, depth=np.full_like(arms, z), arm=arms, **share))
            curves.append(_PER * action_slopes(p, 12)["tilt"].mean(axis=(0, 1)))
            line.set_data(arms, curves[-1])
        miss = float(np.abs(curves[1] / curves[0] - 1).max())
        counts.set_text(f"Pivot 50 mm lower: the step differs by {miss:.1%}")
        here.set(text=f"{values[0]:.3f} mm, pivot {v['depth']:.0f} mm deep",
                 position=(float(np.clip(v["arm"], 45, 74)), values[0] + 0.18))
        dot.set_data([v["arm"]], [values[0]])
        finding.set_text(f"1/8 turn of the tilt screw: {values[0]:+.2f} mm of action")
        return (f"Action at fret 12 for 1/8 turn of tilt {values[0]:+.3f} mm; "
                f"for 1/16 turn of the bass screw {values[1]:+.3f} mm bass, "
                f"{values[2]:+.3f} mm treble; nut end for 1/16 turn against {values[3]:+.2f} mm.")

    controls = [stagehand.slider("depth", "pivot below the top", -float(base.z_p), 8.0, 50.0, 1.0,
                                 field=("pivot.z", lambda v: stagehand.mm(-v["depth"]))),
                stagehand.slider("arm", "arm of the tilt screw", float(base.z_p - base.z_head), 30.0, 90.0, 1.0,
                                 field=tuple((f"tilt_screw.{end}_z", lambda v: stagehand.mm(-v["depth"] - v["arm"]))
                                             for end in ("head", "receiver"))),
                stagehand.slider("pivot", "pivot along the body", float(base.x_p), -10.0, 10.0, 0.2, field="pivot.x"),
                stagehand.slider("pitch", "pitch of the tilt screw", float(base.pitch_tilt), 0.5, 1.5, 0.05, "mm/turn",
                                 ("tilt_screw.pitch", lambda v: stagehand.mm(v["pitch"]))),
                stagehand.slider("pitch_pivot", "pitch of the pivot screws", float(base.pitch_pivot), 0.5, 1.5, 0.05, "mm/turn",
                                 ("pivot.pitch", lambda v: stagehand.mm(v["pitch_pivot"]))),
                stagehand.slider("spacing", "seats apart", float(base.spacing), 16.0, 60.0, 1.0, field="pivot.spacing")]
    return HandSheet(drawing, controls, [*patches, *numbers, *lines, dot, here, finding, counts], update, design=design)
