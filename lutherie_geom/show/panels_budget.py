"""The travel budget as a picture: what each thing takes, what is left, and when it runs out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import REACH, travel
from lutherie_geom.mechanics.seasons import Seasons, year
from lutherie_geom.mechanics.years import ageing, first_passing
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLACK, BLUE, COLOURS, GREEN, ORANGE, PURPLE, SKY_BLUE, VERMILLION, legend, line_style
from lutherie_geom.studies.budget import TravelBudget, build_share
from lutherie_geom.studies.spreads import Spreads

__all__ = ["Waterfall", "budget_picture", "budget_sheet", "lasting_picture", "moved_stops"]

TAKEN = {"build": ORANGE, "taste": PURPLE, "seasons": SKY_BLUE, "years": BLUE}
_HATCH = {"build": "", "taste": "///", "seasons": "...", "years": "\\\\\\"}
GAPS, CLEARANCES = np.linspace(0.3, 2.5, 4), np.linspace(0.3, 3.0, 4)
LIFT_SPREAD = (1 / 3, 5 / 3)
"""A top's lift lies in this range about what is expected, evenly: as in the library's own default of 0.5 to 2.5 mm."""


def _word(name: str) -> str:
    return name if name in TAKEN else "years"


class Waterfall:
    """One direction of the budget: the travel, what each share takes of it in 95 of 100 instruments, what is left [turn]."""

    def __init__(self, axes: Axes, names: Sequence[str], xlim: tuple[float, float], *, labels: bool = True) -> None:
        self.axes, self.names, self.xlim = axes, list(names), xlim
        rows = ["travel on the drawing", *self.names, "left"]
        stagehand.axes_of(axes, "turns of the tilt screw left", "", xlim, (-len(rows) + 0.4, 0.6))
        axes.set_yticks([-k for k in range(len(rows))], rows if labels else [""] * len(rows))
        axes.axvline(0, color=COLOURS["stop"], lw=1.6)
        axes.axvspan(xlim[0], 0, color=COLOURS["stop"], alpha=0.08, lw=0)
        self.bars = [Rectangle((0, -k - 0.32), 0, 0.64, ec="black", lw=0.6, zorder=3) for k in range(len(rows))]
        for bar, name in zip(self.bars, ("", *self.names, ""), strict=True):
            word = _word(name) if name else ""
            bar.set(facecolor=TAKEN.get(word, "#C8C8C8"), hatch=_HATCH.get(word, ""))
            axes.add_patch(bar)
        self.spans = [axes.plot([], [], color=BLACK, lw=1.2, zorder=4)[0] for _ in self.names]
        self.middles = [axes.plot([], [], "|", color=BLACK, ms=9, mew=1.8, zorder=5)[0] for _ in self.names]
        self.words = [axes.text(0, -k, "", fontsize=8, va="center", zorder=6) for k in range(len(rows))]
        self.finding = stagehand.headline(axes)
        self.artists = [*self.bars, *self.spans, *self.middles, *self.words, self.finding]

    def draw(self, travel_turns: float, left: Sequence[np.ndarray], words: str, stop: str = "") -> float:
        """``left`` [turn] after each share, (samples,) each; what is left to 95 in 100 at the end [turn] is given back."""
        ends = np.array([np.quantile(v, (0.05, 0.5, 0.95)) for v in left])
        edge = np.concatenate([[travel_turns], ends[:, 0]])
        low, high = self.xlim
        pad = 0.012 * (high - low)
        self.bars[0].set(x=0.0, width=travel_turns)
        self.words[0].set(text=f"{travel_turns:.2f}", x=pad)
        for k in range(len(self.names)):
            a, b = np.clip(sorted((edge[k], edge[k + 1])), low, high)
            self.bars[k + 1].set(x=a, width=b - a)
            self.spans[k].set_data(np.clip(ends[k, [0, 2]], low, high), [-k - 1, -k - 1])
            self.middles[k].set_data([np.clip(ends[k, 1], low, high)], [-k - 1])
            at = max(edge[k], ends[k, 2])
            full = at > high - 0.14 * (high - low)  # no room to the right: before the bar
            self.words[k + 1].set(text=f"{min(edge[k + 1] - edge[k], 0.0):.2f}".replace("-0.00", "0"),
                                  x=a - pad if full else at + pad, ha="right" if full else "left")
        last = float(edge[-1])
        shown = float(np.clip(last, low, high))
        self.bars[-1].set(x=min(shown, 0.0), width=abs(shown), facecolor=GREEN if last >= 0 else VERMILLION)
        self.words[-1].set(text=f"{last:.2f} left" if last >= 0 else f"{-last:.2f} missing", x=max(shown, 0.0) + pad)
        self.finding.set_text(f"{words}: {last:.2f} of {travel_turns:.2f} turns are left" if last >= 0 else
                              f"{words}: {-last:.2f} turns are missing")
        return last


def budget_picture(b: TravelBudget) -> Figure:
    """Down and up: travel, what each share takes of it so that 95 in 100 instruments are served, and what is left [turn]."""
    drawing, axes = stagehand.stage((1.32, 1.0), 200.0, 84.0)
    steps = [b.after(k + 1) for k in range(len(b.shares))]
    names = [s.words for s in b.shares]
    least = min(float(np.quantile(v, 0.05)) for pair in steps for v in pair)
    for k, (side, turns, words) in enumerate(zip(axes, (b.down, b.up), ("Down", "Up"), strict=True)):
        most = max(b.down, b.up, *(float(np.quantile(v, 0.95)) for pair in steps for v in pair))
        fall = Waterfall(side, names, (min(least - 0.08, -0.1), 1.22 * most), labels=k == 0)
        fall.draw(turns, [pair[k] for pair in steps], words)
    return drawing


def lasting_picture(budgets: Sequence[TravelBudget]) -> Figure:
    """Of several designs: instruments that have met no stop, over the years [in 100], and what is left after them [turn]."""
    drawing, (curve, bars) = stagehand.stage((1.15, 1.0), 200.0, 88.0)
    years = np.linspace(0, 40, 161)
    for k, b in enumerate(budgets):
        gone = np.nan_to_num(b.runs_out, nan=np.inf)
        curve.plot(years, 100 * (gone[:, None] > years).mean(axis=0), label=b.name, **line_style(k))
    stagehand.axes_of(curve, "years", "of 100 instruments: no stop met", (0, 40), (0, 103))
    legend(curve, (0.42, 0.32))
    worst, best = (f(budgets, key=lambda b: float(b.lasting.mean())) for f in (min, max))
    stagehand.headline(curve, f"After {best.year:.0f} years {100 * worst.lasting.mean():.0f} of 100 {worst.name} "
                              "have\nmet no stop, and "
                              f"{100 * best.lasting.mean():.0f} of 100 {best.name}")
    bars.axvline(0, color=COLOURS["stop"], lw=1.6)
    reach = []
    for k, b in enumerate(budgets):
        for side, (left, mark) in enumerate(zip(b.after(len(b.shares)), ("v", "^"), strict=True)):
            low, middle, high = np.quantile(left, (0.05, 0.5, 0.95))
            y = -k - 0.18 + 0.36 * (1 - side)
            bars.plot([low, high], [y, y], color=COLOURS["guide"], lw=4, solid_capstyle="butt")
            bars.plot([middle], [y], mark, color=BLUE if side == 0 else ORANGE, mec="black", ms=8,
                      label=("down", "up")[side] if k == 0 else None)
            reach += [low, high]
    bars.set_yticks([-k for k in range(len(budgets))], [b.name.replace(", ", ",\n") for b in budgets])
    stagehand.axes_of(bars, f"turns left after {budgets[0].year:.0f} years, 5 to 95 in 100", "",
                      (min(reach) - 0.1, max(reach) + 0.1), (-len(budgets) + 0.4, 0.6))
    bars.locator_params(axis="x", nbins=5)
    bars.axvspan(min(reach) - 0.1, 0, color=COLOURS["stop"], alpha=0.08, lw=0)
    legend(bars, "upper right")
    stagehand.headline(bars, "What is left of the travel;\nto the left of the red line it is missing")
    return drawing


def moved_stops(design: Any) -> Any:
    """A function of gap and floor clearance [mm] that gives the lowest and the highest turn of the screw [turn].

    Each stop is looked up where the gap alone, and where the clearance alone, has moved it: no stop here minds both. With the gap
    the saddle is raised by as much, so that the action stays.
    """
    def stops(**changed: float) -> np.ndarray:
        parts: dict[str, Any] = {}
        if "gap" in changed:
            more = changed["gap"] - float(design.tongue.gap)
            parts["tongue"] = design.tongue.model_copy(update={"gap": changed["gap"]})
            heights = [float(h) + more for h in design.strings.saddle_heights]
            parts["strings"] = design.strings.model_copy(update={"saddle_heights": heights})
        if "clearance" in changed:
            parts["heel"] = design.heel.model_copy(update={"floor_clearance": changed["clearance"]})
        found = {(s.name, s.direction): s.turn for s in travel(design.model_copy(update=parts)).stops if s.kind == "stop"}
        return np.array([np.nan if (t := found.get(k)) is None else t for k in keys])

    keys = [(s.name, s.direction) for s in travel(design).stops if s.kind == "stop" and s.name != "reach"]
    down = np.array([direction < 0 for _, direction in keys])
    far = np.where(down, -REACH, REACH)
    tables = [np.array([np.where(np.isnan(v := stops(**{name: float(x)})), far, v) for x in grid])
              for name, grid in (("gap", GAPS), ("clearance", CLEARANCES))]
    rest = np.where(np.isnan(v := stops()), far, v)

    def ends(gap: float, clearance: float) -> tuple[float, float]:
        turns = sum((_between(grid, table, x) - rest for grid, table, x in ((GAPS, tables[0], gap),
                                                                           (CLEARANCES, tables[1], clearance))), rest)
        return float(turns[down].max()), float(turns[~down].min())

    return ends


def _between(grid: np.ndarray, table: np.ndarray, x: float) -> np.ndarray:
    """Rows of the table on a straight line between the grid's points, and beyond its ends."""
    k = int(np.clip(np.searchsorted(grid, x) - 1, 0, len(grid) - 2))
    part = (x - grid[k]) / (grid[k + 1] - grid[k])
    return np.asarray((1 - part) * table[k] + part * table[k + 1])


def budget_sheet(design: Any, spreads: Spreads | None = None, seasons: Seasons | None = None, samples: int = 256) -> HandSheet:
    """Lift [mm] by year 20, taste [mm], looseness of the work, gap and floor clearance [mm]: what is left, and until when."""
    build = build_share(design, Spreads.of_design(design) if spreads is None else spreads, samples=samples)
    of_year = seasons or year(design)
    still = ageing(design, lift=(0.0, 0.0), samples=samples)
    lifted = ageing(design, lift=(1.0, 1.0), rotation=(0.0, 0.0), samples=samples)
    rng = np.random.default_rng(3)
    wish, spread = rng.uniform(-1, 1, samples), rng.uniform(*LIFT_SPREAD, samples)
    months = of_year.turns[of_year.known][:, rng.integers(0, of_year.turns.shape[-1], samples)]
    cold, warm = months.max(axis=0), months.min(axis=0)
    rate = abs(float(action_slopes(pose(design.dimensions()), 12)["tilt"].mean()))
    at = int(np.argmin(np.abs(still.years - 20)))
    ends = moved_stops(design)
    drawing, axes = stagehand.stage((1.32, 1.0), 200.0, 84.0)
    falls = [Waterfall(a, ("build", "taste", "seasons", "20 years"), (-1.2, 2.2), labels=k == 0) for k, a in enumerate(axes)]

    def update(v: dict[str, float]) -> str:
        low, high = ends(v["gap"], v["clearance"])
        taste, old = v["taste"] / rate * wish, lifted.turns * (v["lift"] * spread) + still.turns
        lowest, highest = np.minimum.accumulate(old), np.maximum.accumulate(old)
        down = np.cumsum([-low + v["loose"] * build.low, taste, warm, lowest[at]], axis=0)
        up = np.cumsum([high - v["loose"] * build.high, -taste, -cold, -highest[at]], axis=0)
        falls[0].draw(-low, list(down), "Down")
        falls[1].draw(high, list(up), "Up")
        gone = first_passing(still.years, np.maximum(-(down[2] + lowest), -(up[2] - highest)))
        last = 100 * np.mean((down[3] >= 0) & (up[3] >= 0))
        early = float(np.sort(np.nan_to_num(gone, nan=np.inf))[samples // 20])
        until = ("later than year 40" if early > 40 else "in the first year" if early < 1 else f"in year {early:.0f}")
        return (f"Travel {-low:.2f} turns down, {high:.2f} up. Of 100 instruments {last:.0f} meet no stop in 20 years; "
                f"the first 5 of 100 run out {until}.")

    t, h = float(design.tongue.gap), float(design.heel.floor_clearance)
    controls = [stagehand.slider("lift", "lift at the bridge by year 20", 1.5, 0.0, 4.0, 0.1),
                stagehand.slider("taste", "taste: action lower or higher by", 0.3, 0.0, 1.0, 0.05),
                stagehand.slider("loose", "work, times as loose", 1.0, 0.25, 2.5, 0.25, ""),
                stagehand.slider("gap", "gap under the tongue", t, 0.4, 2.4, 0.1, field="tongue.gap"),
                stagehand.slider("clearance", "floor clearance", h, 0.3, 3.0, 0.1, field="heel.floor_clearance")]
    return HandSheet(drawing, controls, [a for f in falls for a in f.artists], update, design=design)
