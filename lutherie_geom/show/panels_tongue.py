"""The tongue and its rods: sections along it, what rods bring by diameter and height, how it gives and rings, the neck's bow."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from lutherie_geom.design.woods import wood
from lutherie_geom.joint.pose import pose
from lutherie_geom.mechanics.along import read_at
from lutherie_geom.mechanics.neck_relief import BOARD_SPREAD, neck_bow
from lutherie_geom.mechanics.rods import MORE_WOOD, own_rods, rod_gain, rod_map, rods, wood_gain
from lutherie_geom.mechanics.tongue import FINGER, note_name, pressed, ring, tip_stiffness
from lutherie_geom.mechanics.tongue_sections import Sections, sections
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style
from lutherie_geom.theory.tongue_beam import stiffness_gain

__all__ = ["give_picture", "relief_picture", "rods_picture", "rods_sheet"]

_MOST = 4  # rods that a sheet can draw
_LEVELS = (2, 5, 10, 20, 40, 80)
_SEEN = 80.0  # highest gain that the sheet shows, in percent


_RING = np.linspace(0, 2 * np.pi, 49)


def _outline(s: Sections, height: float, width: float) -> np.ndarray:
    """Outline of a rod about its middle [mm], (points, 2)."""
    if s.round_rods:
        return height / 2 * np.column_stack([np.cos(_RING), np.sin(_RING)])
    return np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2]


def _sized(own: dict[str, Any]) -> str:
    """What the size of rods is called: a diameter, or a height."""
    return "diameter" if own["round_rods"] else "height"


def _amount(count: float) -> str:
    return ("no rods", "one rod", "two rods", "three rods", "four rods", "five rods", "six rods")[int(count)]


class _Slice:
    """One section of the tongue on the axes, its glue line at ``level`` [mm]; all of it moves."""

    def __init__(self, axes: Axes, level: float, words: str) -> None:
        self.level = level
        look: dict[str, Any] = {"closed": True, "zorder": 2}
        self.board = Polygon(np.zeros((3, 2)), facecolor=COLOURS["board"], edgecolor="#5d3b50", alpha=0.55, **look)
        self.wood = Polygon(np.zeros((3, 2)), facecolor=COLOURS["neck"], edgecolor="#8a5f00", alpha=0.55, **look)
        self.rods = [Polygon(np.zeros((3, 2)), facecolor="black", edgecolor="white", lw=0.8, closed=True, zorder=4)
                     for _ in range(_MOST)]
        for patch in (self.board, self.wood, *self.rods):
            axes.add_patch(patch)
        (self.axis,) = axes.plot([], [], color=COLOURS["screw"], lw=1.2, ls=(0, (5, 2)), zorder=3)
        (self.slot,) = axes.plot([], [], color=COLOURS["guide"], lw=1, ls=":", zorder=3)
        axes.text(-29, level + 7.4, words, fontsize=8)
        self.artists: list[Any] = [self.board, self.wood, self.slot, self.axis, *self.rods]

    def draw(self, s: Sections, k: int) -> None:
        """Show station ``k`` of the sections."""
        def at(value: Any) -> float:
            return float(np.broadcast_to(value, np.shape(s.x))[k])

        half, board, sag, under = at(s.breadth) / 2, at(s.board), at(s.sagitta), at(s.wood)
        y = np.linspace(-half, half, 25)
        top = self.level + board - sag * (y / half) ** 2
        self.board.set_xy(np.column_stack([np.r_[y, half, -half], np.r_[top, self.level, self.level]]))
        self.wood.set_xy([(-half, self.level), (half, self.level), (half, self.level - under), (-half, self.level - under)])
        # Two lines: between the slots, and lower down where a slot has cut the board.
        between, cut = (self.level + at(section.centroid) for section in (s.whole, s.cut))
        self.axis.set_data([-half - 2, half + 2, np.nan, -half - 2, half + 2], [between, between, np.nan, cut, cut])
        self.slot.set_data(y, top - at(s.slot_depth))
        count = int(at(s.rods)) if at(s.rod_height) > 0 else 0
        for i, rod in enumerate(self.rods):
            rod.set_visible(i < count)
            middle = (2 * half * (i + 0.5) / max(count, 1) - half, self.level + at(s.rod_middle))
            rod.set_xy(_outline(s, at(s.rod_height), at(s.rod_width)) + middle)


def _slices(axes: Axes, names: tuple[str, ...], step: float) -> list[_Slice]:
    """Sections under each other, ``step`` [mm] apart, true to scale, the first on top."""
    axes.set_aspect("equal", adjustable="box")
    levels = [-step * k for k in range(len(names))]
    words = "across the tongue [mm]\ndashed: neutral axis, between slots\nand (lower) at a slot; dotted: slots' bottom"
    stagehand.axes_of(axes, words, "", (-33, 33), (levels[-1] - step + 11, 12))
    axes.set_yticks([])
    return [_Slice(axes, level, said) for level, said in zip(levels, names, strict=True)]


def rods_picture(design: Any) -> Figure:
    """Sections along the tongue with its rods, and the rods' gain [%] over their place and diameter (flat: height) [mm]."""
    own, modulus = own_rods(design), float(design.tongue.rod_modulus)
    d, sized = design.dimensions(), _sized(own)
    places = np.array([0.0, 0.5, 1.0]) * float(d.tongue_length)
    s = sections(design, places, d, **own)
    drawing, (view, chart) = stagehand.stage((0.85, 1.15), 195.0, 104.0)
    names = ("at the joint", "halfway", "at the tip")
    for k, part in enumerate(_slices(view, tuple(f"{n}: {w:.2f} mm of neck wood, board {float(s.board):.1f} mm"
                                                 for n, w in zip(names, s.wood, strict=True)), 17.0)):
        part.draw(s, k)
    off = abs(own["rod_middle"] - float(s.cut.centroid[1]))  # where a finger bends most: at the slots
    flat = "" if own["round_rods"] else f"{own['rod_width']:g} x "
    stagehand.headline(view, f"{_amount(own['rods'])[0].upper()}{_amount(own['rods'])[1:]}, {flat}{own['rod_height']:g} mm: "
                             f"{off:.1f} mm off the axis, halfway")
    y = np.linspace(max(-4.0, -float(np.max(s.wood))), min(5.0, float(design.board.thickness)), 91)
    size = np.linspace(0.5, 4, 36)
    m = rod_map(design, diameter=size, depth=y, modulus=modulus)
    percent, fits = 100 * m.gain[..., 0], m.fits[..., 0]
    more = 100 * float(wood_gain(design))
    chart.grid(False)
    misfit = chart.contourf(y, size, ~fits, levels=[0.5, 1.5], colors="none", hatches=["//"])
    misfit.set(edgecolor="#CFCFCF", linewidth=0)
    chart.contourf(y, size, fits, levels=[0.5, 1.5], colors=[COLOURS["body"]], alpha=0.3)
    lines = chart.contour(y, size, percent, levels=_LEVELS, colors="black", linewidths=0.9)
    for said in chart.clabel(lines, fmt="%g %%", fontsize=8):
        said.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 0.6})
    chart.contour(y, size, percent, levels=[more], colors=COLOURS["stop"], linewidths=2.4, linestyles="dashed")
    chart.plot([own["rod_middle"]], [own["rod_height"]], "o", ms=10, mfc=COLOURS["highlight"], mec="black", zorder=5)
    chart.plot([], [], "o", ms=8, mfc=COLOURS["highlight"], mec="black", label=design.name)
    chart.plot([], [], color=COLOURS["stop"], lw=2.4, ls="--", label=f"as much as {MORE_WOOD:g} mm more wood: {more:.0f} %")
    chart.plot([], [], color="black", lw=0.9, label="what rods bring to the stiffness at the tip")
    chart.fill_between([], [], [], color=COLOURS["body"], alpha=0.3, lw=0, label="plain green: they fit all along; hatched: no")
    legend(chart, "upper center")
    stagehand.axes_of(chart, "rods' middle over the glue line [mm]", f"rods' {sized} [mm]", (-4, 5), (0.5, 5.3))
    chart.set_yticks([1, 2, 3, 4])
    gain = 100 * float(rod_gain(design, **own))
    here = "Rods partly in air: not told" if rods(design).in_air else f"The rods bring {gain:.0f} %"
    stagehand.headline(chart, f"{here}; {MORE_WOOD:g} mm more wood brings {more:.0f} %")
    return drawing


def give_picture(design: Any, force: float = FINGER) -> Figure:
    """How far a finger of ``force`` [N] presses the tongue down [mm], fret by fret; first note [Hz] over the wood left [mm]."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0))
    by = {s: pressed(design, force=force, slots=s) for s in ("none", "likely", "most")}
    likely = by["likely"]
    left.fill_between(likely.frets, by["none"].give, by["most"].give, color=COLOURS["neck"], alpha=0.3, lw=0,
                      label="fret slots not counted, to cut all along")
    left.plot(likely.frets, likely.give, "o", label="under the finger, slots as is likely", **line_style(0))
    left.plot(likely.frets, likely.tip, "s", ms=4, label="at the tip", **line_style(1))
    highest = max(0.2, 1.9 * float(np.max(by["most"].give)))
    stagehand.axes_of(left, "fret pressed", "tongue goes down by [mm]", (likely.frets[0] - 0.3, likely.frets[-1] + 0.3),
                      (0, highest))
    left.set_xticks(likely.frets)
    legend(left, "upper left")
    stagehand.headline(left, f"{force:g} N at fret {likely.frets[-1]}: {likely.give[-1]:.2f} mm; meets the top at "
                             f"{likely.touch[-1]:.0f} N")
    own = float(design.tongue.wood)
    woods = np.linspace(0.5, 9, 35)
    names = {"none": "slots not counted", "likely": "slots as is likely", "most": "cut all along"}
    notes = {s: ring(design, slots=s, more_wood=woods - own)[0] for s in names}
    for k, (s, said) in enumerate(names.items()):
        right.plot(woods, notes[s], label=said, **line_style(k))
    here = float(ring(design)[0])
    right.plot([own], [here], "o", ms=10, mfc=COLOURS["highlight"], mec="black", zorder=5)
    right.annotate(f"{here:.0f} Hz", (own, here), (8, -12), textcoords="offset points", fontsize=8.5)
    for f in (220, 440, 880):
        right.axhline(f, color=COLOURS["guide"], lw=0.8, ls=":")
        right.text(8.95, f, note_name(f).removesuffix(" +0 cents"), fontsize=8, ha="right", va="bottom", color=COLOURS["text"])
    right.set_yscale("log")
    right.set_yticks([200, 300, 500, 800, 1200], ["200", "300", "500", "800", "1200"], minor=False)
    right.minorticks_off()
    stagehand.axes_of(right, "neck wood under the board at the joint [mm]", "first note of the tongue [Hz]", (0.5, 9),
                      (180, 1500))
    legend(right, "upper left")
    stagehand.headline(right, f"The tongue rings near {note_name(here)}")
    return drawing


def relief_picture(design: Any) -> Figure:
    """The neck from nut to joint under its strings, the truss rod slack: how far it dips under a straightedge [mm]."""
    drawing, (axes,) = stagehand.stage((1.0,), 165.0, 78.0)
    d = design.dimensions()
    factors = np.array([1.0, 1 + BOARD_SPREAD, 1 - BOARD_SPREAD])
    bow = neck_bow(design, neck_modulus=wood(design.woods.neck).modulus * factors,
                   board_modulus=wood(design.woods.board).modulus * factors)
    first, joint = float(d.x_fret(1)), float(d.x_fret(d.joint_fret))
    along = np.linspace(first, joint, 60)
    shape = read_at(bow.bow[..., None], (joint - along) / (joint - float(d.x_nut)))
    dips = shape[:, :1] + (shape[:, -1:] - shape[:, :1]) * (along - first) / (joint - first) - shape
    axes.fill_between(along, dips[1], dips[2], color=COLOURS["neck"], alpha=0.35, lw=0, label="wood a fifth stiffer or softer")
    axes.plot(along, dips[0], label="under string pull, truss rod slack", **line_style(0))
    axes.axhline(design.board.relief, color=COLOURS["stop"], lw=1.2, ls="--", label=f"wanted: {design.board.relief:g} mm")
    most = 1.5 * float(np.max(dips[2]))
    stagehand.axes_of(axes, "along the board, 0 at the joint [mm]", "dip under a straightedge [mm]", (first - 4, 4),
                      (most, -0.06 * most))
    legend(axes, "lower center")
    stagehand.headline(axes, f"The strings bow a straight neck by {float(bow.relief[0]):.2f} mm "
                             f"({float(bow.relief[1]):.2f} to {float(bow.relief[2]):.2f} mm)")
    return drawing


def rods_sheet(design: Any) -> HandSheet:
    """Move rods' number, diameter (flat: height) and place over the glue line [mm], modulus [GPa]; wood at the joint [mm]."""
    own, d = own_rods(design), pose(design.dimensions()).of
    ends = np.array([0.0, float(d.tongue_length)])
    start = float(design.tongue.wood)
    drawing, (view, chart) = stagehand.stage((0.85, 1.15), 195.0, 96.0)
    parts = _slices(view, ("at the joint", "at the tip"), 25.0)
    words = [view.text(29, part.level + 7.4, "", fontsize=8, ha="right") for part in parts]
    stagehand.headline(view, "Sections, true to scale")
    y = np.linspace(-8, 6, 71)
    stagehand.axes_of(chart, "rods' middle over the glue line [mm]", "gain in stiffness at the tip [%]", (-8, 6),
                      (0, 1.3 * _SEEN))
    chart.set_yticks(range(0, int(_SEEN) + 1, 10))
    (curve,) = chart.plot([], [], label="these rods, wherever they lie in wood", **line_style(0))
    (wood_line,) = chart.plot([], [], label=f"{MORE_WOOD:g} mm more neck wood instead", **line_style(1))
    (room,) = chart.plot([], [], color=COLOURS["body"], lw=7, alpha=0.5, solid_capstyle="butt", label="where they fit all along")
    (point,) = chart.plot([], [], "o", ms=10, mfc=COLOURS["highlight"], mec="black", zorder=5)
    legend(chart, "upper center")
    finding = stagehand.headline(chart)

    def update(v: dict[str, float]) -> str:
        what = own | {"rods": v["count"], "rod_height": v["size"], "rod_middle": v["middle"], "rod_modulus": 1000 * v["modulus"]}
        more = v["wood"] - start
        s = sections(design, ends, d, more_wood=more, **what)
        # One calculation for the curve, the point, the tongue without rods and the tongue with a little more wood.
        heights = np.concatenate([y, [v["middle"], 0.0, 0.0]])
        extra = np.full(heights.shape, more)
        extra[-1] += MORE_WOOD
        counts = np.full(heights.shape, v["count"])
        counts[-2:] = 0
        k = tip_stiffness(design, d, more_wood=extra, **(what | {"rods": counts, "rod_middle": heights}))
        gains = 100 * stiffness_gain(stiffness_with=k, stiffness_without=k[-2])
        around = sections(design, ends[:, None], d, more_wood=extra, **(what | {"rods": counts, "rod_middle": heights}))
        gains = np.where(around.rods_in_air.any(axis=0), np.nan, gains)
        low, high = float(np.max(v["middle"] - s.spare_under)), float(np.min(v["middle"] + s.spare_over))
        for j, (part, said) in enumerate(zip(parts, words, strict=True)):
            part.draw(s, j)
            said.set_text(f"{float(s.wood[j]):.2f} mm of neck wood")
        curve.set_data(y, np.where(gains[:-3] <= _SEEN, gains[:-3], np.nan))
        wood_line.set_data([-8, 6], [gains[-1]] * 2)
        room.set_data([low, high] if low <= high else [], [1.5, 1.5] if low <= high else [])
        point.set_data([v["middle"]], [min(gains[-3], _SEEN)])
        here, instead = gains[-3], gains[-1]
        told = "partly in air: not told" if np.isnan(here) else f"bring {stagehand.plain(here, 1):.1f} %"
        finding.set_text(f"Rods {told}; {MORE_WOOD:g} mm more wood {instead:.0f} %")
        if not v["count"] or not v["size"]:
            fit = "There are no rods."
        elif low <= v["middle"] <= high:
            fit = "They fit all along."
        else:
            fit = f"They do not fit {'at the tip' if not s.rods_fit[1] and s.rods_fit[0] else 'all along'}."
        if np.isnan(here):
            return (f"Rods lie partly in air: what they bring is not told. {MORE_WOOD:g} mm more wood brings {instead:.1f} %. "
                    f"{fit} Without rods {FINGER:g} N at the tip press it down by {FINGER / k[-2]:.2f} mm.")
        return (f"Rods bring {stagehand.plain(here, 1):.1f} % of the stiffness at the tip, {MORE_WOOD:g} mm more wood brings "
                f"{instead:.1f} %. {fit} {FINGER:g} N at the tip press it down by {FINGER / k[-3]:.2f} mm.")

    controls = [stagehand.slider("count", "number of rods", float(own["rods"]), 0, _MOST, 1, "rods",
                                 ("tongue.rods", lambda v: round(v["count"]))),
                stagehand.slider("size", f"rods' {_sized(own)}", float(own["rod_height"]), 0.0, 5.0, 0.1,
                                 field="tongue.rod_diameter"),
                stagehand.slider("middle", "middle over the glue line", float(own["rod_middle"]), -8.0, 6.0, 0.1,
                                 field="tongue.rod_above_glue_line"),
                stagehand.slider("modulus", "rods' modulus", float(design.tongue.rod_modulus), 40.0, 210.0, 5.0, "GPa",
                                 ("tongue.rod_modulus", lambda v: v["modulus"])),
                stagehand.slider("wood", "neck wood at the joint", start, 1.0, 12.0, 0.1, field="tongue.wood")]
    moving = [a for part in parts for a in part.artists]
    return HandSheet(drawing, controls, [*moving, *words, room, wood_line, curve, point, finding], update, design=design)
