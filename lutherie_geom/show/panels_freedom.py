"""Constraint and freedom: the motion that each screw makes, drawn in space, and two cones that fight where a vee gives way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from lutherie_geom.design.joints import AnyContact
from lutherie_geom.joint.body import half_width
from lutherie_geom.joint.fights import forced_fits, total_fit
from lutherie_geom.joint.layout import GIVE, Layout, lay_out
from lutherie_geom.joint.spatial import SpatialPose
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, LOOK, MM_PER_INCH, SCREEN_DPI, line_style

__all__ = ["axes_picture", "fight_picture", "fight_sheet"]

_DEEP, _EDGE = 26.0, "#8a5f00"
_REACH = 62.0  # half length of a drawn axis [mm]
_TIMES = 12.0  # misfits are drawn so many times larger
_RADIUS = 4.0  # of the drawn balls [mm]
_TWO, _VEE = "upper_pivot_two_cones", "upper_pivot_cone_and_vee"


def _heel(axes: Any, layout: Layout) -> None:
    """The heel: its end face, and how far it is drawn toward the neck."""
    from mpl_toolkits.mplot3d.art3d import Poly3DCollection

    d = layout.dimensions
    z = np.array([0.0, float(d.foot_z)])
    half = np.asarray(half_width(d, z), dtype=float)
    near = -float(d.floor_clearance)
    for x in (near, near - _DEEP):
        corners = [(x, -half[0], z[0]), (x, half[0], z[0]), (x, half[1], z[1]), (x, -half[1], z[1])]
        axes.add_collection3d(Poly3DCollection([corners], facecolor=COLOURS["neck"], edgecolor=_EDGE, alpha=0.13, lw=0.9))
    for side in (-1, 1):
        for k in (0, 1):
            axes.plot([near, near - _DEEP], [side * half[k]] * 2, [z[k]] * 2, color=_EDGE, lw=0.8)


def axes_picture(joint: str, design: Any = None) -> Figure:
    """The heel in space with its contacts, and each adjuster's motion as the line about which the neck turns."""
    layout = lay_out(joint, design)
    with rc_context(LOOK):
        drawing = Figure(figsize=(190.0 / MM_PER_INCH, 120.0 / MM_PER_INCH), dpi=SCREEN_DPI)
        axes: Any = drawing.add_axes((0.0, 0.05, 0.62, 0.83), projection="3d")
        words = drawing.add_axes((0.66, 0.08, 0.34, 0.8))
    _heel(axes, layout)
    for c in layout.file.contacts:
        if any(c.name == h.name or h.name.startswith(c.name) for h in layout.contacts.contacts):
            axes.plot(*([v] for v in c.at), "o", color=COLOURS["text"], ms=6)
    words.axis("off")
    rows = [(f"{k + 1}", m) for k, m in enumerate(layout.screw_motions())]
    for k, (number, m) in enumerate(rows):
        look = line_style(k)
        slides = float(m.angle) == 0
        at = np.zeros(3) if slides else np.asarray(m.point, dtype=float)
        # From the foot of the joint to the top: the line's point nearest to the contacts is its middle.
        ends = np.stack([at - _REACH * m.direction, at + _REACH * m.direction])
        axes.plot(*ends.T, lw=2.2, **look)
        axes.plot(*ends[1:].T, marker="o", ms=13, mfc="white", mec=look["color"], mew=1.5, ls="")
        axes.text(*ends[1], number, fontsize=9, ha="center", va="center", color=COLOURS["text"], zorder=10)
        told = (f"slides {float(m.slide):.2f} mm/turn" if slides else
                f"turns {np.degrees(float(m.angle)):.2f} deg/turn" + (
                    f",\nslides {stagehand.plain(m.slide):+.2f} mm/turn" if abs(float(m.slide)) >= 0.005 else ""))
        top = 0.96 - 0.2 * k
        words.plot([0.0, 0.12], [top - 0.02] * 2, lw=2.2, transform=words.transAxes, clip_on=False, **look)
        words.text(0.16, top, f"{number}  {m.name}", fontsize=9.5, va="center", transform=words.transAxes, fontweight="bold")
        words.text(0.16, top - 0.04, told, fontsize=9, va="top", transform=words.transAxes)
    f = layout.freedom()
    words.text(0.0, 0.96 - 0.2 * max(len(rows), 1) - 0.06,
               f"{int(np.max(f.rows))} rows of rank {int(np.max(f.rank))}:\n{int(np.max(f.free))} motions left free,\n"
               f"{int(np.max(f.self_stress))} fights\n(dots: where neck and body touch)", fontsize=9, va="top",
               transform=words.transAxes)
    axes.set(xlim=(-75, 45), ylim=(-60, 60), zlim=(-110, 30))
    axes.set_box_aspect((120, 120, 140), zoom=0.98)
    axes.view_init(elev=20, azim=-52)
    axes.set_xlabel("to the tail [mm]", labelpad=-2)
    axes.set_ylabel("to the treble [mm]", labelpad=0)
    axes.set_zlabel("up [mm]", labelpad=-3)
    axes.tick_params(labelsize=7.5, pad=-1)
    axes.set_title(_headline(layout), loc="left", fontsize=10, x=0.03, color=COLOURS["text"])
    return drawing


def _headline(layout: Layout) -> str:
    motions = layout.screw_motions()
    if not motions:
        return f"{layout.file.name}: nothing to turn"
    level = sum(1 for m in motions if float(m.angle) and abs(float(m.direction[1])) > 0.999)
    return f"{layout.file.name}\n{level} of {len(motions)} screws turns the neck about a line straight across"


def fight_picture(design: Any) -> Figure:
    """What places that are off by their tolerance force on two cones, one by one, and that the vee has none of it."""
    layout = lay_out(_TWO, design)
    fits = forced_fits(layout)
    worst, root = total_fit(fits)[0]
    none = total_fit(forced_fits(lay_out(_VEE, design)))
    drawing, (axes,) = stagehand.stage((1.0,), 170.0, 78.0)
    rows = [(f.words, f.forced) for f in fits] + [("root sum square", float(root)), ("all at worst", float(worst)),
                                                  ("cone and vee, all at worst", float(none[:, 0].sum()))]
    y = np.arange(len(rows))
    last = len(fits)
    axes.barh(y, [v for _, v in rows], 0.62, color=[COLOURS["screw"]] * last + [COLOURS["stop"]] * 2 + [COLOURS["body"]],
              hatch="", edgecolor="white")
    for k, (_, v) in enumerate(rows):
        axes.annotate(f"{v:.2f}", (v, k), (4, 0), textcoords="offset points", va="center", fontsize=9)
    axes.set_yticks(y, [w for w, _ in rows])
    stagehand.axes_of(axes, "forced between the parts [mm]", "", (0, 1.15 * float(worst)), (len(rows) - 0.4, -0.6))
    stagehand.headline(axes, f"Two cones, {fits[0].tolerance:g} mm off each: {root:.2f} mm forced, {worst:.2f} mm at worst")
    return drawing


def _off(layout: Layout, off: float) -> Layout:
    """The same joint, its treble seat set ``off`` [mm] too far to the treble; the balls stay where they were drawn."""
    held = list(layout.contacts.contacts)
    k = layout.contacts.index("treble ball")
    held[k] = replace(held[k], values={**held[k].values, "a_y": np.asarray(held[k].values["a_y"] + off)})
    return replace(layout, contacts=replace(layout.contacts, contacts=tuple(held)))


class _Plan:
    """Two balls in their seats from above, to the neck is up; misfits drawn larger. ``artists`` move."""

    def __init__(self, axes: Axes, layout: Layout, words: str) -> None:
        self.axes, self.layout = axes, layout
        self.parts: tuple[AnyContact, ...] = layout.file.contacts[:2]
        axes.set_aspect("equal", adjustable="box")
        stagehand.axes_of(axes, "across, to the treble [mm]", "to the neck [mm]", (-33, 33), (-20, 16))
        axes.grid(False)
        self.seats = [axes.plot([], [], color=COLOURS["body"], lw=2.2)[0] for _ in self.parts]
        self.balls = [Circle((0, 0), _RADIUS, facecolor=COLOURS["neck"], edgecolor=_EDGE, alpha=0.65, zorder=3)
                      for _ in self.parts]
        for ball in self.balls:
            axes.add_patch(ball)
        (self.line,) = axes.plot([], [], "+-", color=COLOURS["text"], lw=1, ms=9, zorder=4)
        self.told = axes.text(0, -16.5, "", ha="center", fontsize=9.5)
        axes.text(0, 12, words, ha="center", fontsize=9.5)
        self.artists: list[Any] = [*self.seats, *self.balls, self.line, self.told]

    def draw(self, p: SpatialPose, seats: list[np.ndarray]) -> list[float]:
        """Draw and give back by how much each ball's centre is off its seat [mm]."""
        deep, off, centres = _RADIUS * np.sqrt(2), [], []
        for c, seat, line, ball in zip(self.parts, seats, self.seats, self.balls, strict=True):
            now = np.array([float(v) for v in np.broadcast_arrays(*p.carried(*c.at))])
            miss = now - seat
            mid = np.array([seat[1], -(seat[0] - c.at[0])])
            at = mid + _TIMES * np.array([miss[1], -miss[0]])
            if getattr(c, "along", None) is None:
                line.set_data(mid[0] + np.array([-7.5, 0, 7.5]), mid[1] - deep + np.array([7.5, 0, 7.5]))
            else:
                line.set_data(mid[0] + np.array([-11, -11, 11, 11]), mid[1] - deep + np.array([7.5, 0, 0, 7.5]))
            ball.set_center((float(at[0]), float(at[1])))
            centres.append(at)
            off.append(float(np.hypot(miss[0], miss[1])))
        self.line.set_data(*np.array(centres).T)
        return off


def fight_sheet(design: Any) -> HandSheet:
    """Set the treble seat too far out [mm] and turn the bass pivot screw [turns]: what the cones and the vee make of it."""
    joints = [lay_out(name, design) for name in (_TWO, _VEE)]
    drawing, columns = stagehand.stage((1.0, 1.0), 200.0, 70.0)
    plans = [_Plan(axes, joint, words) for axes, joint, words in zip(columns, joints, ("two cones", "cone and vee"), strict=True)]
    finding = stagehand.headline(columns[0], " ")
    stagehand.headline(columns[1], f"seen from above, misfits drawn {_TIMES:g} times larger")

    def update(v: dict[str, float]) -> str:
        missed, yaw = [], 0.0
        for plan, joint in zip(plans, joints, strict=True):
            held = _off(joint, v["off"]).turned({"bass pivot screw": v["bass"]})
            p = SpatialPose(joint.dimensions, held.solve(tolerance=GIVE).pose)
            seats = [np.array([float(held.contacts[k].values[f"a_{i}"]) for i in "xyz"]) for k in (0, 1)]
            missed.append(plan.draw(p, seats))
            yaw = float(np.degrees(p.psi))
        two, vee = missed
        plans[0].told.set_text(f"each ball is off its seat by {two[0]:.2f} mm")
        plans[1].told.set_text(f"the treble ball rolls {vee[1]:.2f} mm along its groove")
        finding.set_text(f"Two cones must give {two[0] + two[1]:.2f} mm between them")
        return (f"Two cones miss by {two[0] + two[1]:.3f} mm: wood or metal must give it, or the balls climb. Cone and vee: "
                f"{vee[0] + 0.0:.3f} mm is forced, the treble ball stands {vee[1]:.3f} mm along its groove. "
                f"Yaw {stagehand.plain(yaw):+.2f} deg.")

    controls = [stagehand.slider("off", "seats too far apart", 0.2, -0.4, 0.4, 0.02),
                stagehand.slider("bass", "bass pivot screw, out", 0.0, -1.0, 1.0, 0.0625, "turns")]
    return HandSheet(drawing, controls, [a for plan in plans for a in plan.artists] + [finding], update, units=design.units)
