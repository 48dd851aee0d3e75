"""How well a gauge tells good from bad, and how many joints must be built before a claim about a share is justified."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.design.spread import Spread
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, VERMILLION, legend, line_style
from lutherie_geom.studies.counting import chance, least_share, prototypes
from lutherie_geom.studies.measuring import Gauge, accepted, conformity, gauge, risks

__all__ = ["measuring_picture", "measuring_sheet", "prototypes_picture"]

_OUT = 0.1  # mm outside, for the headline
_ROOM = 0.35  # mm shown on both sides of a window
_TOP = 138.0  # room for the legend over 100 in 100
_MANY = 30  # readings: more than anyone takes of one string
SHOWN = ("steel ruler", "string height card", "taper gauge", "feeler gauge")


def measuring_picture(low: float, high: float, names: tuple[str, ...] = SHOWN) -> Figure:
    """Chance that one reading accepts a joint over its true action, and what more readings are worth; window low to high [mm]."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 205.0, 98.0)
    true, readings = np.linspace(low - _ROOM, high + _ROOM, 281), np.arange(1, _MANY + 1)
    left.axvspan(low, high, color=COLOURS["gap"], alpha=0.25, lw=0)
    left.text((low + high) / 2, 8, "window", ha="center", fontsize=8.5)
    for k, g in enumerate(map(gauge, names)):
        left.plot(true, 100 * accepted(low, high, true, g), label=g.name, **line_style(k))
        right.plot(readings, g.uncertainty(readings), label=g.name, **line_style(k))
    stagehand.axes_of(left, "true action [mm]", "accepted by one reading [in 100]", (true[0], true[-1]), (0, 104))
    stagehand.axes_of(right, "readings", "known to, standard uncertainty [mm]", (1, _MANY), (0, 0.14))
    worst = gauge(names[0])
    through = 100 * float(accepted(low, high, high + _OUT, worst))
    stagehand.headline(left, f"{_OUT:g} mm outside: the {worst.name} lets {through:.0f} in 100 through")
    stagehand.headline(right, f"{worst.name.capitalize()}, {_MANY} readings: still {float(worst.uncertainty(_MANY)):.2f} mm")
    legend(right, "upper right")
    return drawing


def measuring_sheet(low: float, high: float, start: str = "steel ruler") -> HandSheet:
    """Errors of a gauge, readings, guard band and how the joints come out [mm]: who is let through, who is turned back."""
    first, middle = gauge(start), (low + high) / 2
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 205.0, 98.0)
    true = np.linspace(low - _ROOM, high + _ROOM, 281)
    for axes, x, y in ((left, "true action [mm]", "accepted [in 100]"), (right, "mean of the readings [mm]",
                                                                        "truly in the window [in 100]")):
        axes.axvspan(low, high, color=COLOURS["gap"], alpha=0.25, lw=0, label="window")
        stagehand.axes_of(axes, x, y, (true[0], true[-1]), (0, _TOP))
        axes.set_yticks(range(0, 101, 20))
    (joints,) = left.plot([], [], color="#777777", lw=1.2, ls=(0, (2, 1.5)), label="joints as they come out")
    (gate,) = left.plot([], [], color=BLUE, lw=2, label="accepted")
    guards = [right.axvline(x, ymax=100 / _TOP, color=VERMILLION, lw=1.4, ls=(0, (6, 2))) for x in (low, high)]
    guards[0].set_label("guard band")
    (known,) = right.plot([], [], color=BLUE, lw=2, label="truly inside, after this reading")
    finding, told = stagehand.headline(left), stagehand.headline(right)
    for axes in (left, right):
        legend(axes, "upper left")

    def update(v: dict[str, float]) -> str:
        if not (v["wrong"] or v["scatter"] or v["step"]):
            return "A gauge without any error: move one of its sliders."
        g = Gauge("this gauge", Spread.plus_minus(v["wrong"], "rectangular"), v["scatter"], v["step"])
        n, made = round(v["readings"]), (middle, v["made"])
        gate.set_data(true, 100 * accepted(low, high, true, g, n, guard=v["guard"]))
        known.set_data(true, 100 * conformity(low, high, true, g, n, made=made))
        joints.set_data(true, 60 * np.exp(-0.5 * ((true - middle) / v["made"]) ** 2))
        for line, x in zip(guards, (low + v["guard"], high - v["guard"]), strict=True):
            line.set_xdata([x, x])
        r = risks(low, high, g, n, made=made, guard=v["guard"])
        u = float(g.uncertainty(n))
        finding.set_text(f"Wrongly let through {100 * r.let_through:.1f}, turned back {100 * r.turned_back:.1f} in 100")
        told.set_text(f"Mean of {n} reading{'s' if n > 1 else ''}: known to {u:.3f} mm (standard)")
        return (f"Of 100 joints {100 * r.good:.1f} are in the window and {100 * r.passed:.1f} are accepted; "
                f"{100 * r.let_through:.2f} are let through though outside, {100 * r.turned_back:.2f} turned back though inside; "
                f"the mean of {n} reading{'s' if n > 1 else ''} is known to {u:.3f} mm (standard).")

    controls = [stagehand.slider("wrong", "wrong every time, ±", round(first.systematic.high, 3), 0.0, 0.20, 0.005),
                stagehand.slider("scatter", "scatter of a reading", first.scatter, 0.0, 0.15, 0.005),
                stagehand.slider("step", "step of the gauge", first.step, 0.0, 0.5, 0.01),
                stagehand.slider("readings", "readings", 1, 1, _MANY, 1, ""),
                stagehand.slider("guard", "guard band", 0.0, 0.0, 0.2, 0.01),
                stagehand.slider("made", "joints scatter", 0.15, 0.02, 0.30, 0.01)]
    return HandSheet(drawing, controls, [joints, gate, known, *guards, finding, told], update)


def prototypes_picture(share: float = 0.95, confidence: float = 0.95) -> Figure:
    """The share that is justified over the number built, with 0, 1 and 2 misses; and how often such a series comes out."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 205.0, 98.0)
    needed = [prototypes(share, confidence, k) for k in range(3)]
    truth = np.linspace(share, 1 - 1e-6, 101)
    for k, n in enumerate(needed):
        built = np.arange(5 + 2 * k, 161, 3)
        words = ("no miss", "one miss", "two misses")[k]
        look: dict[str, Any] = line_style(k)
        for method, width, name in (("exact", 1.8, words), ("wilson", 0.8, None)):
            left.plot(built, [100 * least_share(int(b) - k, int(b), confidence, method) for b in built], label=name, **look | {
                "lw": width})
        left.plot([n], [100 * share], "o", color=look["color"], ms=7)
        left.annotate(f"{n}", (n, 100 * share), textcoords="offset points", xytext=(0, 9), ha="center", fontsize=9,
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8})
        right.plot(100 * truth, [100 * chance(float(t), n, k) for t in truth], label=f"{n} built, {words}", **look)
    left.plot([], [], color="#777777", lw=0.8, label="thin: Wilson")
    left.axhline(100 * share, color=COLOURS["guide"], lw=1)
    stagehand.axes_of(left, "joints built", "justified: at least so many in 100", (0, 160), (70, 100))
    stagehand.axes_of(right, "truly in the window [in 100]", "the series comes out so [in 100]", (100 * share, 100), (0, 104))
    stagehand.headline(left, f"{100 * share:g} in 100 is justified by {needed[0]} joints without a miss")
    lucky = 100 * chance(0.99, needed[0])
    stagehand.headline(right, f"Truly 99 in 100: {needed[0]} without a miss {lucky:.0f} times in 100")
    legend(left, "lower right")
    legend(right, "upper left")
    return drawing
