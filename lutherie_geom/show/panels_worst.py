"""At worst, or in practice: three intervals for each reading, where the slopes fail, and a sheet to loosen all tolerances."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from lutherie_geom.design.spread import KINDS
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, legend, line_style
from lutherie_geom.studies.contributions import READ, Joints
from lutherie_geom.studies.first_order import COVER_95, first_order
from lutherie_geom.studies.practice import Practice
from lutherie_geom.studies.sampling import Job, uniform
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.studies.yields import COVER

__all__ = ["kink_picture", "practice_picture", "worst_sheet"]

FEW = 2048
"""Instruments behind each step of the hand sheet."""
_KINDS = tuple(k for k in KINDS if k != "measured")  # a measured sample has no tolerance to spread otherwise
TIMES = np.round(np.arange(0.2, 2.01, 0.1), 1)
_WORDS = {"action.bass_12": "action at fret 12, bass", "action.treble_12": "action at fret 12, treble",
          "gap.least": "gap under the tongue", "heel.floor_least": "floor clearance", "heel.reveal_least": "reveal of the heel",
          "margin.bass_last": "edge margin, bass", "margin.treble_last": "edge margin, treble"}
_NAMES = tuple(_WORDS[e.key] for e in READ)
_WORST: Any = {"color": COLOURS["guide"], "alpha": 0.35, "lw": 11.0}
_BARS: Any = (("at worst", 0.0, _WORST), ("95 in 100, root-sum-square", -0.17, {"color": BLUE, "lw": 2.6, "linestyle": "-"}),
         ("95 in 100, counted", 0.17, {"color": ORANGE, "lw": 4.5, "linestyle": "-"}))
_LOW, _HIGH = -3.0, 9.0  # mm: of the axis


def practice_picture(found: Practice) -> Figure:
    """For each reading at worst, 95 in 100 by root-sum-square and 95 in 100 counted [mm], and whether the last two agree."""
    drawing, (axes,) = stagehand.stage((1.0,), 215.0, 105.0)
    rows = list(found)
    y = np.arange(len(rows))
    for (words, place, look), pairs in zip(_BARS, ([r.straight.worst for r in rows], [r.straight.interval for r in rows],
                                                   [r.interval for r in rows]), strict=True):
        low, high = np.array(pairs).T
        axes.hlines(y + place, low, high, label=words, **look)
    axes.plot([r.straight.nominal for r in rows], y, "|", color=COLOURS["text"], ms=13, label="as designed")
    for k, r in enumerate(rows):
        said = {True: "agree", False: "part: believe the count", None: "not known: count more"}[r.agree]
        axes.text(_HIGH - 0.05, k, said, ha="right", va="center", fontsize=8.5, weight="normal" if r.agree else "bold")
    axes.axvline(0, 0, 0.86, color=COLOURS["stop"], lw=1.2)
    at_worst, built = (sum(low < 0 for low, _ in pairs)
                       for pairs in ([r.straight.worst for r in rows], [r.interval for r in rows]))
    stagehand.axes_of(axes, "reading [mm]; at 0 a string lies on the fret, or parts meet", "", (_LOW, _HIGH),
                      (len(rows) - 0.4, -1.5))
    axes.set_yticks(y, [_WORDS[r.key] for r in rows])
    axes.legend(loc="upper left", ncols=4, fontsize=8.5, columnspacing=1.2, handlelength=1.6, frameon=False)
    stagehand.headline(axes, f"At worst {at_worst} of {len(rows)} readings fall below zero; of 95 in 100 built {built or 'none'}")
    return drawing


def kink_picture(design: Any, found: Practice, key: str = "heel.floor_least") -> Figure:
    """Why the slopes fail: a least reading over a wrong turn of the tilt screw [mm over turns], and what is counted of it beside
    the normal curve of root-sum-square [in 100 over mm]."""
    e = next(e for e in READ if e.key == key)
    k = [r.key for r in READ].index(key)
    row, words = found[key], _WORDS[key]
    drawing, (left, right) = stagehand.stage((1.0, 1.15), 215.0, 92.0)
    turn = np.linspace(-0.5, 0.5, 81)
    p = pose(design.dimensions(), tilt=turn)
    exact, middle = e.value(p), len(turn) // 2
    slope = float(e.slopes(pose(design.dimensions()))["tilt"])
    left.plot(turn, exact, label="exact", **line_style(0))
    left.plot(turn, exact[middle] + slope * turn, label="straight on by the slope", **line_style(1))
    top = float(exact[middle] + 0.5 * abs(slope))
    stagehand.axes_of(left, "tilt screw set wrong [turns]", f"{words} [mm]", (-0.5, 0.5), (float(exact.min()) - 0.1, top + 0.35))
    legend(left, "upper left")
    stagehand.headline(left, f"Half a turn either way: {exact[0] - exact[middle]:+.2f} and {exact[-1] - exact[middle]:+.2f} mm")
    t = found.run.tally
    by = 64
    inner = 100 * t.histogram[k, 1:-1].reshape(-1, by).sum(axis=1) / t.samples
    edges = t.start[k] + t.width[k] * by * np.arange(len(inner) + 1)
    right.stairs(inner, edges, fill=True, color=ORANGE, alpha=0.4, label="counted")
    right.stairs(inner, edges, color=ORANGE, lw=1.4)
    sd, mean = row.straight.standard, row.straight.mean
    x = np.linspace(edges[0], edges[-1], 200)
    curve = 100 * float(t.width[k]) * by * np.exp(-(((x - mean) / sd) ** 2) / 2) / (sd * np.sqrt(2 * np.pi))
    right.plot(x, curve, label="by the slopes", **line_style(0))
    right.axvline(row.straight.nominal, color=COLOURS["guide"], lw=1)
    shown = np.flatnonzero(inner > 0.02)
    stagehand.axes_of(right, f"{words} [mm]", f"instruments in 100, a bar {float(t.width[k]) * by:.3f} mm wide",
                      (float(edges[shown[0]]), float(max(edges[shown[-1] + 1], mean + 2.5 * sd))),
                      (0, 1.35 * float(max(inner.max(), curve.max()))))
    legend(right, "upper left")
    half = float(t.quantile(0.5)[k])
    stagehand.headline(right, f"As designed {row.straight.nominal:.2f} mm; half of all have less than {half:.1f} mm")
    return drawing


class _Grid:
    """Every step of the hand sheet, read beforehand: instruments of each kind and looseness."""

    def __init__(self, design: Any) -> None:
        d, own = design.dimensions(), Spreads.of_design(design)
        self.read = np.empty((len(_KINDS), len(TIMES), len(READ), FEW))
        self.straight = []
        for k, kind in enumerate(_KINDS):
            alike = Spreads({n: replace(s, kind=kind, sds=2.0, sample=()) for n, s in own.of.items()}, own.groups, own.common)
            joints = Joints(alike, d)
            drawn = alike.draw(d, uniform(Job(len(alike.variables(d)), 1, 0, 0, FEW)))
            for i, times in enumerate(TIMES):
                self.read[k, i] = joints.read(times * drawn)
            # Slopes do not depend on the tolerances: what they give grows evenly with the looseness, and corners very nearly so.
            self.straight.append(first_order(pose(d), alike, READ).items)
        side = (1 - COVER) / 2
        self.counted = np.nanquantile(self.read, [side, 1 - side], axis=-1)

    def intervals(self, kind: int, at: int) -> np.ndarray:
        """At worst, by root-sum-square, counted: (3, readings, 2) [mm]."""
        rows, times = self.straight[kind], TIMES[at]
        nominal = np.array([r.nominal for r in rows])[:, None]
        worst, usual = (nominal + times * (np.array([getattr(r, n) for r in rows]) - nominal) for n in ("worst", "interval"))
        return np.stack([worst, usual, self.counted[:, kind, at].T])


def worst_sheet(design: Any) -> HandSheet:
    """All tolerances looser or tighter [times], and of another kind: the three intervals of each reading [mm], and of one reading
    what is counted beside the normal curve of root-sum-square."""
    grid = _Grid(design)
    drawing, (bars, shape) = stagehand.stage((1.35, 1.0), 225.0, 105.0)
    count = len(READ)
    stagehand.axes_of(bars, "reading [mm]", "", (-6, 10.5), (count - 0.4, -1.9))
    bars.set_yticks(range(count), [f"{k + 1}  {n}" for k, n in enumerate(_NAMES)])
    bars.axvline(0, 0, 0.84, color=COLOURS["stop"], lw=1.2)
    lines = []
    for words, place, look in _BARS:
        lines.append((place, LineCollection([], label=words, **look)))
        bars.add_collection(lines[-1][1], autolim=False)
    (here,) = bars.plot([], [], ">", color=COLOURS["text"], ms=7, clip_on=False)
    bars.legend(loc="upper left", ncols=2, fontsize=8.5, columnspacing=1.2, frameon=False)
    finding = stagehand.headline(bars)
    edges = np.linspace(-5, 5, 41)
    middle = (edges[1:] + edges[:-1]) / 2
    stagehand.axes_of(shape, "off the mean [standard uncertainties]", "instruments in 100, a bar 0.25 wide", (-5, 5), (0, 13))
    (stairs,) = shape.plot([], [], drawstyle="steps-mid", color=ORANGE, lw=1.8, label="counted")
    shape.plot(middle, 100 * 0.25 * np.exp(-(middle**2) / 2) / np.sqrt(2 * np.pi), label="by the slopes", **line_style(0))
    ends = [shape.axvline(s * COVER_95, color=COLOURS["guide"], lw=1, ls=":") for s in (-1, 1)]
    legend(shape, "upper left")
    said = stagehand.headline(shape)

    def update(v: dict[str, float]) -> str:
        kind, at, one = int(v["kind"]), int(np.argmin(np.abs(TIMES - v["times"]))), int(v["reading"]) - 1
        found = grid.intervals(kind, at)
        for (place, line), pairs in zip(lines, found, strict=True):
            line.set_segments([[(low, k + place), (high, k + place)] for k, (low, high) in enumerate(pairs)])
        here.set_data([-5.7], [one])
        r = grid.straight[kind][one]
        sd = r.standard * TIMES[at]
        values = grid.read[kind, at, one]
        off = (values - r.nominal - TIMES[at] * (r.mean - r.nominal)) / sd
        stairs.set_data(middle, 100 * np.histogram(off, edges)[0] / FEW)
        (w0, w1), (u0, u1), _ = found[:, one]
        finding.set_text(f"All tolerances × {TIMES[at]:.1f}, {_KINDS[kind]}")
        outside = int(np.sum(np.abs(off) > COVER_95))
        said.set_text(f"{_NAMES[one].capitalize()}: {outside} of {FEW} outside")
        return (f"{_NAMES[one]}, {_KINDS[kind]} spreads, {TIMES[at]:g} times as loose: at worst {w0:.1f} to {w1:.1f} mm; "
                f"95 in 100 by root-sum-square {u0:.1f} to {u1:.1f} mm. "
                f"Outside are {outside} of {FEW} instruments; 5 in 100 would be {FEW // 20}.")

    controls = [stagehand.slider("times", "all tolerances", 1.0, float(TIMES[0]), float(TIMES[-1]), 0.1, "times"),
                stagehand.slider("kind", "0 normal, 1 rectangular, 2 triangular", 0, 0, 2, 1, ""),
                stagehand.slider("reading", "reading on the right", 3, 1, count, 1, "")]
    moving = [*(line for _, line in lines), here, stairs, *ends, finding, said]
    return HandSheet(drawing, controls, moving, update, units=design.units)
