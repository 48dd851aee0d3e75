"""The dome under the tongue: what a flat underside leaves, and how the gap runs when the neck is turned."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.joint.body import gap, least_gap, soundboard, taper_of
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style

__all__ = ["dome_picture", "dome_sheet"]

_PART = np.linspace(0.0, 1.0, 40)


def dome_picture(design: Any) -> Figure:
    """The top under the tongue, and the gap that a flat and a hollowed underside leave at rest [mm]."""
    d = design.dimensions()
    drawing, (left, right) = stagehand.stage()
    x, taper = _PART * float(d.tongue_length), taper_of(d)
    half = float(d.tongue_width) / 2
    left.plot(x, soundboard(d, x, 0.0), color=COLOURS["soundboard"], lw=2, label="top on the centreline")
    left.plot(x, soundboard(d, x, half), color=COLOURS["soundboard"], ls="--", label="top under the tongue's edge")
    left.plot(x, taper.slope * x, color=COLOURS["neck"], lw=1.5, label="one plane of the best slope")
    stagehand.axes_of(left, "from the joint along the tongue [mm]", "height [mm] (stretched)", (0, float(x[-1])), (-0.25, 3.2))
    stagehand.headline(left, f"The top rises {float(soundboard(d, x[-1], 0.0)):.2f} mm under the tongue")
    for k, (name, hollowed) in enumerate((("planed flat", 0.0), ("hollowed to the dome", 1.0))):
        p = pose(d.replaced(hollowed=hollowed))
        right.plot(x, gap(p, x, 0.0), label=f"{name}, centre", **line_style(2 * k))
        right.plot(x, gap(p, x, half), label=f"{name}, edge", **line_style(2 * k + 1))
    stagehand.axes_of(right, "from the joint along the tongue [mm]", "gap at rest [mm]", (0, float(x[-1])), (0.9, 1.4))
    stagehand.headline(right, f"Planed flat, the dome departs by up to {float(taper.hollow):.2f} mm")
    legend(left, "upper left")
    legend(right, "upper right")
    return drawing


def _radius(d: Dimensions) -> float:
    return 1 / float(d.curvature) if float(d.curvature) else 15000.0


def dome_sheet(design: Any) -> HandSheet:
    """Dome radius [m] (a flat top starts at 15 m), its apex [mm], gap [mm], tilt screw [turns]: the gap under the tongue."""
    base = design.dimensions()
    drawing, (shape, curve) = stagehand.stage()
    x, half = _PART * float(base.tongue_length), float(base.tongue_width) / 2
    stagehand.axes_of(shape, "from the joint along the tongue [mm]", "height [mm] (stretched)", (0, float(x[-1])), (-1, 7))
    (top,) = shape.plot([], [], color=COLOURS["soundboard"], lw=2, label="top, centreline")
    (edge,) = shape.plot([], [], color=COLOURS["soundboard"], ls="--", label="top, under the edge")
    (flat,) = shape.plot([], [], color=COLOURS["neck"], lw=2, label="tongue's underside, planed flat")
    (hollow,) = shape.plot([], [], color=COLOURS["board"], lw=1.5, ls="-.", label="tongue's underside, hollowed")
    legend(shape, "upper left")
    stagehand.headline(shape, "Top and tongue, neck turned")
    stagehand.axes_of(curve, "from the joint along the tongue [mm]", "gap [mm]", (0, float(x[-1])), (-0.5, 4.5))
    curve.axhspan(-0.5, 0, color=COLOURS["stop"], alpha=0.12, lw=0)
    names = ("flat, centre", "flat, edge", "hollowed, centre", "hollowed, edge")
    lines = [curve.plot([], [], label=name, **line_style(k))[0] for k, name in enumerate(names)]
    legend(curve, "upper left")
    finding = stagehand.headline(curve)

    def update(v: dict[str, float]) -> str:
        d = stagehand.moved_height(base, v["gap"]).replaced(curvature=1 / (1000 * v["radius"]), x_apex=v["apex"])
        taper = taper_of(d)
        top.set_data(x, soundboard(d, x, 0.0))
        edge.set_data(x, soundboard(d, x, half))
        least, where = [], []
        for k, hollowed in enumerate((0.0, 1.0)):
            p = pose(d.replaced(hollowed=hollowed), tilt=v["tilt"])
            under = v["gap"] + (soundboard(d, x, 0.0) if hollowed else taper.slope * x)
            at = stagehand.carried(p, x, under)
            (hollow if hollowed else flat).set_data(at[:, 0], at[:, 1])
            for line, y in zip(lines[2 * k : 2 * k + 2], (0.0, half), strict=True):
                line.set_data(x, gap(p, x, y))
            found = least_gap(p, rounds=2)
            least.append(found)
            # An even gap has no least place: the place found would be chance.
            even = np.ptp(np.concatenate([line.get_ydata() for line in lines[2 * k : 2 * k + 2]])) < 1e-3
            where.append("all along" if even else f"{float(found.x):.0f} mm from the joint")
        a, b = (stagehand.plain(g.gap) for g in least)
        finding.set_text(f"Least gap: flat {a:.2f} mm, hollowed {b:.2f} mm")
        slope = np.degrees(np.arctan(float(taper.slope)))
        return (f"Taper {slope:.2f} deg, hollow {float(taper.hollow):.2f} mm; "
                f"least gap planed flat {a:.2f} mm {where[0]}; hollowed {b:.2f} mm {where[1]}.")

    controls = [stagehand.slider("radius", "dome radius", round(_radius(base) / 1000, 1), 4.0, 16.0, 0.1, "m",
                                 "body.dome_radius" if float(base.curvature) else ()),  # a flat top has no radius
                stagehand.slider("apex", "highest point from the joint", float(base.x_apex), 100.0, 400.0, 5.0,
                                 field="body.apex_x"),
                stagehand.slider("gap", "planned gap", float(base.gap_joint), 0.2, 3.0, 0.1,
                                 field=(("tongue.gap", lambda v: stagehand.mm(v["gap"])),
                                        stagehand.lifted_saddle(base, lambda v: v["gap"] - float(base.gap_joint)))),
                stagehand.slider("tilt", "tilt screw", 0.0, -1.0, 1.0, 1 / 16, "turns")]
    return HandSheet(drawing, controls, [top, edge, flat, hollow, *lines, finding], update, design=design)
