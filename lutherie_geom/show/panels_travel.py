"""The joint from the side, and its margins over the travel of the tilt screw: what stops it, and where."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.body import gap_grid, heel_fit
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style

__all__ = ["joint_picture", "travel_sheet"]

# A stop's words, short enough for a label in the picture.
_SHORT = {
    "tongue": "tongue meets the top", "floor at the foot": "foot meets the floor", "pocket": "heel leaves the pocket",
    "floor above the pivot": "heel's top meets the floor", "strings": "strings lie on the frets",
    "first touch": "a string touches a fret", "screw bottoms": "tilt screw bottoms", "thread": "thread runs out",
    "washer spring": "washer spring is flat", "hole": "screw bears on its hole",
}
_TURNS = np.linspace(-2.0, 2.0, 81)


def joint_picture(design: Any) -> Figure:
    """The joint at rest, to scale, and the stops of its tilt screw [turns]."""
    d = design.dimensions()
    drawing, (side, bar) = stagehand.stage((1.0, 1.0))
    view = stagehand.SideView(side, design, times=1.0)
    view.draw(pose(d))
    view.name_parts()
    stagehand.headline(side, f"{design.name}, side view, all turns zero")
    t = travel(design)
    bar.axvspan(t.low, t.high, color=COLOURS["body"], alpha=0.25, lw=0)
    bar.axvline(0, color=COLOURS["guide"], lw=1)
    near = [(s.turn, s) for s in t.stops if s.turn is not None and abs(s.turn) < 3][:6]
    for k, (turn, s) in enumerate(near):
        colour = COLOURS["stop"] if s.kind == "stop" else COLOURS["guide"]
        bar.plot([turn], [-k], "s" if s.kind == "stop" else "o", color=colour)
        words = _SHORT.get(s.name, s.name)
        left_of = turn > 0
        bar.annotate(words, (turn, -k), (-7 if left_of else 7, 0), textcoords="offset points", va="center",
                     ha="right" if left_of else "left", fontsize=8)
    stagehand.axes_of(bar, "tilt screw [turns]", "", (-3, 3), (-len(near) + 0.4, 0.6))
    bar.set_yticks([])
    stagehand.headline(bar, f"The tilt screw can go from {t.low:+.2f} to {t.high:+.2f} turns")
    return drawing


def travel_sheet(design: Any) -> HandSheet:
    """Planned gap, floor clearance, pocket and pivot depth [mm]: margins and travel [turns] of the tilt screw at once."""
    base = design.dimensions()
    drawing, (side, curve) = stagehand.stage((1.0, 1.15), height_mm=98.0)
    view = stagehand.SideView(side, design)
    view.name_parts()
    stagehand.headline(side, f"Motion drawn {stagehand.MAGNIFIED:.0f} times larger, gaps not true")
    stagehand.axes_of(curve, "tilt screw [turns]", "margin [mm]", (-2, 2), (-1, 7))
    curve.axhspan(-1, 0, color=COLOURS["stop"], alpha=0.12, lw=0)
    names = ("gap under the tongue", "heel to floor", "heel still in the pocket", "lowest string over fret 1")
    lines = [curve.plot([], [], label=name, **line_style(k))[0] for k, name in enumerate(names)]
    (now,) = curve.plot([], [], color=COLOURS["string"], lw=1)
    legend(curve, "upper center")
    finding = stagehand.headline(curve)

    def update(v: dict[str, float]) -> str:
        d = stagehand.moved_height(base, v["gap"])
        shift = v["depth"] + float(base.z_p)  # the tilt screw stays where it is: a deeper pivot has a shorter arm
        d = d.replaced(z_p=base.z_p - shift, floor_clearance=v["clearance"], pocket=v["pocket"])
        p = pose(d, tilt=v["tilt"])
        view.draw(p)
        many = pose(d, tilt=_TURNS)
        fit = heel_fit(many, heights=5)
        margins = [gap_grid(many, 9, 3).min(axis=(0, 1)), fit.floor.min(axis=(0, 1)), fit.reveal.min(axis=(0, 1)),
                   action(many, [1]).min(axis=(0, 1))]
        for line, values in zip(lines, margins, strict=True):
            line.set_data(_TURNS, values)
        now.set_data([v["tilt"]] * 2, [-1, 4.6])
        least = np.min(margins, axis=0)
        good = _run(least >= 0)
        if good is None:
            finding.set_text("No travel: something touches at rest")
            words = "No travel at these sizes."
        else:
            low, high = _TURNS[good[0]], _TURNS[good[1]]
            first = [names[int(np.argmin([m[i] for m in margins]))] for i in good]
            finding.set_text(f"Travel about {stagehand.span(low, high, 2.0)}")
            words = f"Travel about {stagehand.span(low, high, 2.0)} (nearest there: {first[0]}; {first[1]})."
        return f"{words} Action at fret 12, mean: {float(stagehand.mean_action(p)):.2f} mm."

    controls = [stagehand.slider("tilt", "tilt screw", 0.0, -1.5, 1.5, 1 / 16, "turns"),
                stagehand.slider("gap", "planned gap", float(base.gap_joint), 0.2, 3.0, 0.1,
                                 field=(("tongue.gap", lambda v: stagehand.mm(v["gap"])),
                                        stagehand.lifted_saddle(base, lambda v: v["gap"] - float(base.gap_joint)))),
                stagehand.slider("clearance", "floor clearance", float(base.floor_clearance), 0.2, 3.0, 0.1,
                                 field="heel.floor_clearance"),
                stagehand.slider("pocket", "pocket depth", float(base.pocket), 1.0, 7.0, 0.1, field="pocket.depth"),
                stagehand.slider("depth", "pivot below the top", -float(base.z_p), 10.0, 45.0, 1.0,
                                 field=("pivot.z", lambda v: stagehand.mm(-v["depth"])))]
    return HandSheet(drawing, controls, [*view.artists, *lines, now, finding], update, design=design)


def _run(good: np.ndarray) -> tuple[int, int] | None:
    """First and last place of the unbroken run of good places around the middle (no turn); None when the middle is bad."""
    middle = good.size // 2
    if not good[middle]:
        return None
    low = high = middle
    while low > 0 and good[low - 1]:
        low -= 1
    while high < good.size - 1 and good[high + 1]:
        high += 1
    return low, high
