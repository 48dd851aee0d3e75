"""Before and after set-up: what the screws mend, what they only move elsewhere, and how many of a hundred that buys."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from lutherie_geom.design.input_words import words_of
from lutherie_geom.design.limits import Limits, Window
from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, legend, line_style
from lutherie_geom.studies.digits import stable_digits
from lutherie_geom.studies.sampling import Job, uniform
from lutherie_geom.studies.setup import ENOUGH, SetUp, best_turns, limits_of, set_up
from lutherie_geom.studies.spreads import Spreads

__all__ = ["in_100", "mend_picture", "mended", "windowed", "yields_picture", "yields_sheet"]

FEW = 200
"""Instruments of a hand sheet: few enough to be set up in the blink of an eye."""
SCATTER = (0.5, 1.0, 1.5, 2.0, 2.5)
PER_TURN = (8, 16, 24, 32, 40, 48)
HALVES = (0.08, 0.25)  # mm: windows for which the instruments of the sheet are set up
_WORDS = {"action_bass": "action, bass", "action_treble": "action, treble", "centring": "strings centred",
          "least_gap": "gap under the tongue", "least_reveal": "reveal of the heel", "least_floor": "floor clearance",
          "margin_bass": "edge margin, bass", "margin_treble": "edge margin, treble", "over_fret_1": "strings clear fret 1"}


def in_100(share: float, error: float) -> str:
    """A share [1] with its standard error as instruments in 100, in the digits that another run would print again."""
    return stable_digits(100 * share, 100 * error, most=0)


def _loose(times: float) -> str:
    return "work as in the design" if times == 1 else f"work {times:g} times as loose"


def windowed(limits: Limits, half: float) -> Limits:
    """The limits with both action windows ``half`` [mm] either way about their targets."""
    new = {k: Window(low=w.target - half, high=w.target + half)
           for k in ("action_bass", "action_treble") for w in (getattr(limits, k),)}
    return limits.model_copy(update=new)


def _bars(edges: np.ndarray, share: np.ndarray, *, width: float) -> tuple[np.ndarray, np.ndarray]:
    """Fewer, wider bins: edges about ``width`` [mm] apart and shares [in 100]."""
    by = max(1, round(width / float(edges[1] - edges[0])))
    n = len(share) // by * by
    return edges[:n + 1:by], 100 * share[:n].reshape(-1, by).sum(axis=1)


def yields_picture(result: Any, key: str = "action_bass") -> Figure:
    """Of a :class:`BeforeAfter`: one action before and after set-up [in 100 over mm], and the share that meets each limit."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 205.0, 98.0)
    row = result[key]
    low, high = row.limits
    middle = (low + high) / 2
    left.axvspan(low, high, color=COLOURS["gap"], alpha=0.25, lw=0, label="window")
    for after, colour, words, dash in ((False, ORANGE, "as put together", (0, (5, 2))), (True, BLUE, "screws turned", "-")):
        edges, share = _bars(*result.distribution(key, after), width=0.05)
        left.stairs(share, edges, fill=True, color=colour, alpha=0.35)
        left.stairs(share, edges, color=colour, lw=1.4, ls=dash, label=words)
    stagehand.axes_of(left, f"{row.words} [mm]", "instruments in 100, a bar 0.05 mm wide", (middle - 2.4, middle + 2.4), (0, 60))
    left.set_xlim(max(low - 2, 0.0), high + 2)
    before, after_ = (in_100(v, e) for v, e in ((row.inside_before, row.inside_before_error),
                                                (row.inside_after, row.inside_after_error)))
    stagehand.headline(left, f"In the window: {before} of 100, once turned {after_}")
    legend(left, "upper left")
    keys = [r.key for r in result.rows]
    y = np.arange(len(keys) + 1)
    shares = np.array([[r.inside_before, r.inside_after] for r in result.rows] + [[result.passing_before, result.passing_after]])
    right.hlines(y, *(100 * shares.T), color=COLOURS["guide"], lw=1.5)
    right.plot(100 * shares[:, 0], y, "o", mfc="white", mec=ORANGE, mew=1.8, ms=8, label="as put together")
    right.plot(100 * shares[:, 1], y, "D", color=BLUE, ms=6, label="screws turned")
    right.axhline(len(keys) - 0.5, color=COLOURS["guide"], lw=0.8)
    stagehand.axes_of(right, "meet the limit [instruments in 100]", "", (0, 104), (len(keys) + 0.6, -0.6))
    right.set_yticks(y, [*(_WORDS[k] for k in keys), "all at once"])
    stagehand.headline(right, f"All at once: adjustability buys {stable_digits(result.gain, result.gain_error, most=0)} in 100")
    legend(right, "center left")
    return drawing


def mended(design: Any, step: float = 1 / 64) -> list[tuple[str, float, float, float, float]]:
    """One error at a time, each number at its upper tolerance, the screws then turned in steps of ``step`` [turn], the
    pivot screws no further than it takes.

    Rows: name, largest departure of action of any string at the limits' fret before and after [mm], change of the least gap
    before and after [mm]; the largest departure first.
    """
    d, own = design.dimensions(), Spreads.of_design(design)
    variables, plan = own.variables(d), set_up(design, step=step, enough=ENOUGH)
    dims, off = own.built(d, np.diag([v.spread.high for v in variables]))
    best = best_turns(plan, dims, **off)
    rest = plan.read(d, np.zeros((3, 1)))

    def departed(r: ManyReadings) -> tuple[np.ndarray, np.ndarray]:
        return np.abs(r.action[:, 1] - rest.action[:, 1]).max(axis=0), r.least_gap - rest.least_gap

    (a, gap), (after, gap_after) = departed(best.before), departed(best.after)
    rows = [(v.name, float(a[k]), float(after[k]), float(gap[k]), float(gap_after[k])) for k, v in enumerate(variables)]
    return sorted(rows, key=lambda row: -row[1])


def mend_picture(design: Any) -> Figure:
    """What one error at its tolerance does to action and gap [mm], as put together and with the screws at their best."""
    rows, seen = [], set()
    for row in mended(design):
        # Strings between the outer ones behave alike: one stands for them.
        kind = row[0].split("[")[0] + (" between" if row[2] > 0.9 * row[1] and "[" in row[0] else "")
        if max(row[1], abs(row[3])) > 0.02 and kind not in seen:
            rows.append(row)
            seen.add(kind)
    drawing, (left, right) = stagehand.stage((1.0, 0.8), 205.0, 118.0)
    y, values = np.arange(len(rows)), np.array([row[1:] for row in rows])
    for axes, (before, after) in ((left, values[:, :2].T), (right, values[:, 2:].T)):
        axes.hlines(y, before, after, color=COLOURS["guide"], lw=1.5)
        axes.plot(before, y, "o", mfc="white", mec=ORANGE, mew=1.8, ms=7, label="as put together")
        axes.plot(after, y, "D", color=BLUE, ms=5, label="screws turned")
    right.axvline(0, color=COLOURS["text"], lw=0.8)
    most, width = float(values[:, 0].max()), 1.15 * float(np.abs(values[:, 2:]).max())
    ends = (len(rows) - 0.4, -0.6)
    stagehand.axes_of(left, "largest departure of action [mm]", "", (-0.02, 1.1 * most), ends)
    stagehand.axes_of(right, "change of the least gap [mm]", "", (-width, width), ends)
    left.set_yticks(y, [words_of(row[0]) for row in rows])
    right.set_yticks(y, [])
    stagehand.headline(left, f"Mended: up to {float((values[:, 0] - values[:, 1]).max()):.2f} mm of action")
    stagehand.headline(right, f"Not mended: up to {float(np.abs(values[:, 3]).max()):.2f} mm of gap")
    legend(left, "lower right")
    return drawing


def _grid(design: Any, limits: Limits) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Instruments of every scatter and step: departures of action bass and treble from target [mm] and whether all else is
    kept, before (scatters, 3, few) and after (scatters, steps, halves, 3, few); halves [mm] of the windows set up for."""
    d, own = design.dimensions(), Spreads.of_design(design)
    drawn = own.draw(d, uniform(Job(len(own.variables(d)), 1, 0, 0, 256)))[:, :FEW]
    # Every scatter at once: a search costs much the same for a thousand joints as for two hundred.
    dims, off = own.built(d, np.concatenate([f * drawn for f in SCATTER], axis=1))
    after = np.empty((len(SCATTER), len(PER_TURN), len(HALVES), 3, FEW))
    for j, steps in enumerate(PER_TURN):
        for k, half in enumerate(HALVES):
            plan = set_up(design, limits=windowed(limits, half), step=1 / steps)
            best = best_turns(plan, dims, **off)
            after[:, j, k], before = (_departed(plan, r, limits).reshape(3, len(SCATTER), FEW).swapaxes(0, 1)
                                      for r in (best.after, best.before))
    return before, after, np.array(HALVES), np.array(PER_TURN)


def _departed(plan: SetUp, r: ManyReadings, limits: Limits) -> np.ndarray:
    keeps = (plan.rooms(r, True).min(axis=0) >= 0) & (np.abs(plan.off_target(r)[2]) <= 1)
    aims = limits.action_bass, limits.action_treble
    return np.stack([*(r.action[i, 1] - w.target for i, w in zip((0, -1), aims, strict=True) if w is not None), keeps])


def _share(departed: np.ndarray, half: np.ndarray) -> np.ndarray:
    """Share [in 100] inside windows ``half`` [mm], (n,); an instrument passes if one of its settings, (..., 3, few), does."""
    worst = np.where(departed[..., 2, :] > 0, np.abs(departed[..., :2, :]).max(axis=-2), np.inf)
    worst = worst.reshape(-1, worst.shape[-1]).min(axis=0)
    return np.asarray(100 * (worst <= half[:, None]).mean(axis=1))


def yields_sheet(design: Any) -> HandSheet:
    """Scatter of the work, window of the action [mm], step of the hand: every one of 200 instruments before and after."""
    limits = limits_of(design)
    before, after, halves, per_turn = _grid(design, limits)
    drawing, (cloud, curve) = stagehand.stage((1.0, 1.0), 205.0, 98.0)
    wide = 2.5
    stagehand.axes_of(cloud, "action, bass: off its target [mm]", "action, treble: off its target [mm]", (-wide, wide),
                      (-wide, wide))
    box = Rectangle((0, 0), 1, 1, facecolor=COLOURS["gap"], alpha=0.35, edgecolor=COLOURS["text"], lw=1, zorder=1)
    cloud.add_patch(box)
    (loose,) = cloud.plot([], [], "o", mfc="none", mec=ORANGE, ms=4, label="as put together")
    (done,) = cloud.plot([], [], "D", color=BLUE, ms=2.5, label="screws turned", zorder=4)
    legend(cloud, "upper left")
    finding = stagehand.headline(cloud)
    stagehand.axes_of(curve, "window of the action, ± [mm]", "meet every limit [instruments in 100]", (0, 0.6), (0, 105))
    lines = [curve.plot([], [], label=words, **(line_style(k) | {"color": colour}))[0]
             for k, colour, words in ((1, ORANGE, "as put together"), (0, BLUE, "screws turned"))]
    (dots,) = curve.plot([], [], "o", color=COLOURS["text"], ms=7, ls="")
    rule = curve.axvline(0.25, color=COLOURS["guide"], lw=1)
    legend(curve, "center right")
    bought = stagehand.headline(curve)
    x = np.linspace(0.0, 0.6, 121)

    def update(v: dict[str, float]) -> str:
        half, at = np.array([v["half"]]), (SCATTER.index(v["scatter"]), int(np.argmin(np.abs(per_turn - v["steps"]))))
        all_settings = after[at]
        settings = all_settings[int(np.argmin(np.abs(halves - v["half"])))]
        loose.set_data(before[at[0]][0], before[at[0]][1])
        done.set_data(settings[0], settings[1])
        box.set(xy=(-v["half"], -v["half"]), width=2 * v["half"], height=2 * v["half"])
        a, b = (partial(_share, s) for s in (before[at[0]], all_settings))
        for line, share in zip(lines, (a, b), strict=True):
            line.set_data(x, share(x))
        one, two = float(a(half)[0]), float(b(half)[0])
        dots.set_data([v["half"]] * 2, [one, two])
        rule.set_xdata([v["half"]] * 2)
        finding.set_text(f"{FEW} instruments, {_loose(v['scatter'])}")
        bought.set_text(f"The screws buy {stagehand.plain(two - one, 1):g} of 100, in steps of 1/{per_turn[at[1]]} turn")
        counts = [round(share * FEW / 100) for share in (one, two)]
        return (f"Of {FEW} instruments {counts[0]} meet every limit as put together, {counts[1]} with the screws turned: "
                f"window ± {v['half']:.2f} mm, steps of 1/{per_turn[at[1]]} turn, "
                f"{_loose(v['scatter'])}.")

    controls = [stagehand.slider("scatter", "work looser than in the design", 1.0, SCATTER[0], SCATTER[-1], 0.5, "times"),
                stagehand.slider("half", "window of the action, ±", 0.25, 0.03, 0.60, 0.01),
                stagehand.slider("steps", "steps of the hand in a turn", 16, PER_TURN[0], PER_TURN[-1], 8, "")]
    return HandSheet(drawing, controls, [box, loose, done, rule, *lines, dots, finding, bought], update, units=design.units)
