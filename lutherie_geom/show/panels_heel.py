"""The heel's arc: the end face swings about the pivot; the pocket must give it room below and hold it above."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.body import heel_fit
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style
from lutherie_geom.theory.heel import foot_in, foot_out, foot_rule

__all__ = ["heel_picture", "heel_sheet"]

_TURNS = np.linspace(-1.5, 1.5, 61)


def heel_picture(design: Any) -> Figure:
    """Room that the foot needs while the neck is lowered, for three pivot depths; exact and by rule [mm over deg]."""
    d = design.dimensions()
    drawing, (axes,) = stagehand.stage((1.0,), 150.0, 85.0)
    angle = np.linspace(0, np.radians(2.5), 60)
    found = []
    for k, z_p in enumerate((-10.0, float(d.z_p), -45.0)):
        drop, out = z_p - float(d.foot_z), -float(d.floor_clearance) - float(d.x_p)
        need = foot_in(below_pivot=drop, behind_pivot=out, angle=angle)
        name = f"pivot {-z_p:.0f} mm under the top, foot {drop:.0f} mm under the pivot"
        axes.plot(np.degrees(angle), need, label=name, **line_style(k))
        axes.plot(np.degrees(angle), foot_rule(below_pivot=drop, angle=angle), color=COLOURS["guide"], lw=1, ls=":")
        found.append(float(foot_in(below_pivot=drop, behind_pivot=out, angle=np.radians(1.0))))
    axes.axhline(float(d.floor_clearance), color=COLOURS["stop"], lw=1)
    axes.text(0.03, float(d.floor_clearance) + 0.05, f"floor clearance of {design.name}", fontsize=8, color=COLOURS["stop"])
    stagehand.headline(axes, f"One degree down needs {found[1]:.2f} mm at the foot; with the pivot 45 mm down, {found[2]:.2f} mm")
    stagehand.axes_of(axes, "neck lowered by [deg]", "floor clearance needed at the foot [mm]", (0, 2.5), (0, 4.6))
    legend(axes, "upper left")
    return drawing


def heel_sheet(design: Any) -> HandSheet:
    """Turn the tilt screw [turns]; move the pivot, the floor clearance and the pocket's depth [mm]; see floor and rim."""
    base = design.dimensions()
    drawing, (face, curve) = stagehand.stage((0.8, 1.2))
    foot = float(base.foot_z)
    stagehand.axes_of(face, "along the body [mm] (stretched)", "height over the top [mm]", (-8, 2), (foot - 6, 6))
    face.axvspan(0, 2, color=COLOURS["body"], alpha=0.25, lw=0)
    face.text(0.3, foot - 3, "floor", fontsize=8, color=COLOURS["body"])
    (rim,) = face.plot([], [], color=COLOURS["body"], lw=1, ls="--")
    (rest,) = face.plot([], [], color=COLOURS["guide"], lw=1)
    (heel,) = face.plot([], [], color=COLOURS["neck"], lw=3)
    (pivot,) = face.plot([], [], "o", color=COLOURS["stop"], ms=8)
    words = [face.text(0, 4, "rim", fontsize=8, color=COLOURS["body"], ha="right", va="top"),
             face.text(0, 0, "pivot", fontsize=8, color=COLOURS["stop"], va="center")]
    stagehand.headline(face, "The heel's end face in its pocket")
    stagehand.axes_of(curve, "tilt screw [turns]", "room left [mm]", (-1.5, 1.5), (-1, 6))
    curve.axhspan(-1, 0, color=COLOURS["stop"], alpha=0.12, lw=0)
    curve.text(1.46, -0.93, "nothing left", fontsize=8, color=COLOURS["stop"], ha="right")
    (floor,) = curve.plot([], [], **line_style(0), label="end face to floor, least")
    (reveal,) = curve.plot([], [], **line_style(1), label="heel still in the pocket, least")
    (now,) = curve.plot([], [], color=COLOURS["string"], lw=1)
    legend(curve, "upper center")
    finding = stagehand.headline(curve)

    def update(v: dict[str, float]) -> str:
        # The tilt screw keeps its distance below the pivot, so that only the geometry of the heel changes.
        shift_z, shift_x = v["depth"] + float(base.z_p), v["pivot"] - float(base.x_p)
        d = base.replaced(x_p=v["pivot"], z_p=-v["depth"], z_head=base.z_head - shift_z, z_receiver=base.z_receiver - shift_z,
                          x_head=base.x_head + shift_x, x_receiver=base.x_receiver + shift_x,
                          floor_clearance=v["clearance"], pocket=v["pocket"])
        p = pose(d, tilt=v["tilt"])
        ends_x, ends_z = np.full(2, -v["clearance"]), np.array([0.0, foot])
        at = stagehand.carried(p, ends_x, ends_z)
        heel.set_data(at[:, 0], at[:, 1])
        rest.set_data(ends_x, ends_z)
        rim.set_data([-v["pocket"]] * 2, [foot - 6, 6])
        words[0].set_position((-v["pocket"] - 0.1, 4.5))
        pivot.set_data([v["pivot"]], [-v["depth"]])
        words[1].set_position((v["pivot"] + 0.35, -v["depth"]))
        fit = heel_fit(pose(d, tilt=_TURNS), heights=5)
        low, held = fit.floor.min(axis=(0, 1)), fit.reveal.min(axis=(0, 1))
        floor.set_data(_TURNS, low)
        reveal.set_data(_TURNS, held)
        now.set_data([v["tilt"]] * 2, [-1, 4.5])
        good = _TURNS[(low >= 0) & (held >= 0)]
        words_now = f"Heel and pocket allow {stagehand.span(good[0], good[-1], 1.5)}" if good.size else "No room at any turn"
        finding.set_text(words_now)
        here = heel_fit(p, heights=9)
        drop = -v["depth"] - foot
        down, up = float(abs(pose(d, tilt=-1.0).theta)), float(pose(d, tilt=1.0).theta)
        back = -v["clearance"] - v["pivot"]
        need = float(foot_in(below_pivot=drop, behind_pivot=back, angle=down))
        out = float(foot_out(below_pivot=drop, behind_pivot=back, angle=up))
        return (f"Least floor clearance {stagehand.plain(here.floor.min()):.2f} mm, "
                f"least heel in the pocket {stagehand.plain(here.reveal.min()):.2f} mm. "
                f"One turn down needs {need:.2f} mm of floor clearance, one turn up takes {out:.2f} mm of pocket.")

    # Pivot and tilt screw move together, in the file as in the picture.
    def carried_by(places: dict[str, Any], shift: Any) -> Any:
        return tuple((field, lambda v, start=start: stagehand.mm(start + shift(v))) for field, start in places.items())

    deeper = carried_by({"pivot.z": base.z_p, "tilt_screw.head_z": base.z_head, "tilt_screw.receiver_z": base.z_receiver},
                        lambda v: -v["depth"] - base.z_p)
    along = carried_by({"pivot.x": base.x_p, "tilt_screw.head_x": base.x_head, "tilt_screw.receiver_x": base.x_receiver},
                       lambda v: v["pivot"] - base.x_p)
    controls = [stagehand.slider("tilt", "tilt screw", 0.0, -1.5, 1.5, 1 / 16, "turns"),
                stagehand.slider("depth", "pivot below the top", -float(base.z_p), 8.0, 50.0, 1.0, field=deeper),
                stagehand.slider("pivot", "pivot along the body", float(base.x_p), -6.0, 0.0, 0.1, field=along),
                stagehand.slider("clearance", "floor clearance", float(base.floor_clearance), 0.0, 3.0, 0.1,
                                 field="heel.floor_clearance"),
                stagehand.slider("pocket", "pocket depth", float(base.pocket), 1.0, 7.0, 0.1, field="pocket.depth")]
    return HandSheet(drawing, controls, [rim, rest, heel, pivot, *words, floor, reveal, now, finding], update, design=design)
