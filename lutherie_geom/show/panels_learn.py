"""Learn the instrument: what readings at known turns tell, which one contradicts the rest, what the log foretells, and a sheet.

How well something is known is the standard deviation that is left when the readings are added to what is plausible beforehand
(:data:`.unknowns.UNKNOWNS`): weighted least squares with the plausible sizes as one more reading each.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.pose import pose
from lutherie_geom.shop.learning.learn import ODD, Entry, Learned, Rows
from lutherie_geom.shop.learning.unknowns import UNKNOWNS, applied
from lutherie_geom.shop.log.entry import Entry as LogEntry
from lutherie_geom.shop.log.trend import YEAR, Forecast, Trend
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import GAUGES, Measured, words_of
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, VERMILLION, legend, line_style
from lutherie_geom.studies.measuring import gauge

__all__ = ["SHORT", "doubts_picture", "forecast_picture", "known", "known_picture", "learn_sheet",
           "saddle_read", "step_slopes"]

SHORT = {"saddle_bass": "saddle, bass", "saddle_treble": "saddle, treble", "bridge_shift": "bridge, across", "gap": "gap",
         "play": "dead band", "arm": "arm", "pivot_height": "pivot's height", "angle": "neck angle"}
SIZES = np.array([u.size for u in UNKNOWNS.values()])
EIGHTH = 1 / 8  # turn of the step whose action is told
MOST, REACHES = 12, np.round(np.linspace(0.1, 0.6, 11), 2)  # readings, turns either way that the sheet offers


def step_slopes(design: Any) -> tuple[float, np.ndarray]:
    """Action at fret 12, mean of the outer strings, for 1/8 turn of the tilt screw [mm], and its slopes by every unknown, in
    their order [mm per mm or rad]: differences of the exact slope."""
    d = design.dimensions()

    def step(values: dict[str, float]) -> float:
        return float(EIGHTH * action_slopes(pose(applied(d, values)), 12)["tilt"][[0, -1]].mean())

    by = [(step({n: h}) - step({n: -h})) / (2 * h) for n, h in zip(UNKNOWNS, 0.01 * SIZES, strict=True)]
    return step({}), np.array(by)


def _left(jac: np.ndarray, error: np.ndarray) -> np.ndarray:
    """Covariance of all unknowns, in parts of their plausible sizes, once the readings are added."""
    j = jac * SIZES
    return np.asarray(np.linalg.inv(np.eye(len(SIZES)) + j.T @ np.linalg.solve(error, j)))


def known(design: Any, entries: Sequence[Entry], hands: Hands | None = None) -> np.ndarray:
    """Covariance of the unknowns in parts of their plausible sizes, (unknowns, unknowns), after these readings; before any: one
    by one and not correlated."""
    if not entries:
        return np.eye(len(SIZES))
    _, jac, error = Rows.of(entries).model(design.dimensions(), {}, hands or Hands())
    return _left(jac, error)


def _ellipse(cov: np.ndarray, scale: np.ndarray) -> np.ndarray:
    """Points of the ellipse that holds 95 in 100, (2, n)."""
    w, v = np.linalg.eigh(cov)
    t = np.linspace(0, 2 * np.pi, 181)
    # 5.991 is the 95 in 100 point of chi-square with two degrees of freedom: -2 ln 0.05.
    axes = np.sqrt(-2 * np.log(0.05) * np.maximum(w, 0))
    return np.asarray(scale[:, None] * (v @ (axes[:, None] * np.array([np.cos(t), np.sin(t)]))))


def known_picture(design: Any, entries: Sequence[Entry], pair: tuple[str, str] = ("saddle_bass", "angle"),
                  extra: Entry | None = None) -> Figure:
    """Left: how much of each unknown's plausible size is left after 2, 4, ... readings [%]; right: two unknowns together
    [mm, deg], before and after, and once ``extra`` was read as well."""
    names = list(UNKNOWNS)
    counts = [k for k in (2, 4, len(entries)) if k <= len(entries)]
    counts = sorted(set(counts))
    stages = [known(design, entries[:k]) for k in counts]
    words = [f"after {k} readings" for k in counts]
    if extra is not None:
        stages.append(known(design, [*entries, extra]))
        words.append("and the saddle measured")
    drawing, (left, right) = stagehand.stage((1.2, 1.0), 230.0, 105.0)
    y, tall = np.arange(len(names)), 0.8 / len(stages)
    for k, (cov, said) in enumerate(zip(stages, words, strict=True)):
        left.barh(y + (k - (len(stages) - 1) / 2) * tall, 100 * np.sqrt(np.diag(cov)), 0.9 * tall, label=said,
                  color=line_style(k)["color"], hatch=("", "//", "..", "xx")[k % 4], edgecolor="white")
    stagehand.axes_of(left, "left of its plausible size [%]", "", (0, 165), (len(names) - 0.4, -0.6))
    left.set_xticks(range(0, 101, 20))
    left.set_yticks(y, [f"{SHORT[n]} ({_size(n)})" for n in names])
    left.axvline(100, color=COLOURS["guide"], lw=1, ls=":")
    legend(left, "upper right")
    told = sum(float(np.sqrt(v)) < 0.3 for v in np.diag(stages[len(counts) - 1]))
    stagehand.headline(left, f"{counts[-1]} readings tell {told} of {len(names)} to better than a third of what is plausible")
    _ellipses(right, pair, stages, words)
    return drawing


def saddle_read(design: Any) -> Entry:
    """One more reading, turns at 0: the strings over the soundboard at the saddle, with the gauge that is usual for it."""
    keys = ("saddle.bass", "saddle.treble")
    show = shown(design.pose(), keys, design.handed)
    sd = float(gauge(GAUGES["saddle"]).uncertainty(1))
    return Entry(Measured({k: float(v) for k, v in show.items()}, dict.fromkeys(keys, sd), design.handed))


def _size(name: str) -> str:
    u = UNKNOWNS[name]
    return f"± {np.degrees(u.size):.2f} deg" if u.unit == "rad" else f"± {u.size:g} mm"


def _ellipses(axes: Axes, pair: tuple[str, str], stages: Sequence[np.ndarray], words: Sequence[str]) -> None:
    at = [list(UNKNOWNS).index(n) for n in pair]
    turn = np.array([np.degrees(1) if UNKNOWNS[n].unit == "rad" else 1.0 for n in pair])
    scale = SIZES[at] * turn
    before = _ellipse(np.eye(2), scale)
    axes.plot(*before, color=COLOURS["guide"], lw=1.2, ls=":")
    for k, cov in enumerate(stages):
        last = k == len(stages) - 1
        axes.plot(*_ellipse(cov[np.ix_(at, at)], scale), color=line_style(k)["color"], lw=2.4 if last else 1.5,
                  ls="-" if last else line_style(k)["linestyle"])
    most = 1.12 * np.abs(before).max(axis=1)
    units = ["deg" if UNKNOWNS[n].unit == "rad" else "mm" for n in pair]
    stagehand.axes_of(axes, f"{UNKNOWNS[pair[0]].words} [{units[0]}]", f"{UNKNOWNS[pair[1]].words} [{units[1]}]",
                      (-most[0], most[0]), (-most[1], most[1]))
    axes.text(0, 0.97 * most[1], "95 in 100; dotted: before any reading", ha="center", va="top", fontsize=8.5)
    cov = stages[-2 if len(stages) > 1 else -1]
    r = float(cov[at[0], at[1]] / np.sqrt(cov[at[0], at[0]] * cov[at[1], at[1]]))
    left_over = 2 * float(np.sqrt(stages[-1][at[1], at[1]])) * scale[1]
    stagehand.headline(axes, f"{words[-2 if len(words) > 1 else -1].capitalize()} the two look alike ({r:+.2f});\n"
                             f"{words[-1]}: ± {left_over:.2f} {units[1]}")


def doubts_picture(found: Learned) -> Figure:
    """Every reading's residual over its own standard deviation, by the order in which it was read; what is past the limit is
    named."""
    names = list(dict.fromkeys(n for n, _ in found.normalised))
    keys = list(dict.fromkeys(k for _, k in found.normalised))
    drawing, (axes,) = stagehand.stage((1.0,), 200.0, 85.0)
    axes.axhspan(-ODD, ODD, color="#E9E9E9", lw=0)
    axes.plot([-0.5, len(names) - 0.5], [0, 0], color=COLOURS["guide"], lw=0.8)
    marks = "oDs^v*"
    for k, key in enumerate(keys):
        points = [(names.index(n), v) for (n, q), v in found.normalised.items() if q == key and np.isfinite(v)]
        x, y = np.array(points).reshape(-1, 2).T
        axes.plot(x + 0.09 * (k - (len(keys) - 1) / 2), y, marks[k % 6], color=line_style(k)["color"], ms=6, label=words_of(key))
    worst = max(found.normalised.items(), key=lambda item: abs(np.nan_to_num(item[1])))
    most = max(ODD, abs(worst[1])) + 1.2
    stagehand.axes_of(axes, "", "residual [standard deviations]", (-0.6, len(names) + 2.6), (-most, most))
    axes.set_xticks(range(len(names)), [n.removeprefix("reading ") for n in names])
    axes.set_xlabel("reading")
    legend(axes, "center right")
    (name, key), v = worst
    if abs(v) > ODD:
        axes.plot([names.index(name) + 0.09 * (keys.index(key) - (len(keys) - 1) / 2)], [v], "o", mfc="none", mec=VERMILLION,
                  ms=15, mew=2)
        stagehand.headline(axes, f"{name}, {words_of(key)}: {v:+.1f} standard deviations from what all the others say")
    else:
        stagehand.headline(axes, f"No reading is further than {abs(v):.1f} standard deviations from the rest (limit {ODD:g})")
    return drawing


def forecast_picture(found: Trend, ahead: Forecast, log: Sequence[LogEntry] = ()) -> Figure:
    """Left: the action at the screws' nominal places as the log has it [mm], and how it may go on; right: turns that keep the
    action, 5 to 95 in 100, over the years, against the stop that is nearer to them [turn], and what was turned so far by the
    ``log``."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 225.0, 92.0)
    for axes, band, what in ((left, ahead.value, "action, turns undone [mm]"),
                             (right, ahead.turns, "tilt screw, to keep it [turn]")):
        axes.fill_between(ahead.years, band[0], band[2], color=ORANGE, alpha=0.3, lw=0, label="5 to 95 in 100")
        axes.plot(ahead.years, band[1], color=ORANGE, ls=(0, (6, 2)), label="middle")
        low, high = float(band.min()), float(band.max())
        pad = 0.15 * (high - low) + 0.02
        stagehand.axes_of(axes, "years since the first reading", what, (-0.5, float(ahead.years[-1]) + 0.5),
                          (low - pad, high + pad))
    d = found.data
    left.errorbar(d.years, d.value, yerr=2 * d.sd, fmt="o", color=BLUE, ms=4, lw=1, label="read, ± two standard deviations")
    left.axhline(ahead.keep, color=COLOURS["guide"], lw=1)
    low, high = left.get_ylim()
    left.set_ylim(min(low, float((d.value - 3 * d.sd).min())), max(high, float(d.value.max()) + 0.35))
    legend(left, "lower right")
    if log:
        at = [(e.when - log[0].when).days / YEAR for e in log]
        right.step(at, [e.tilt for e in log], where="post", color=BLUE, label="turned, as the log has it")
        legend(right, "center right")
    _, turns, stop = max((-ahead.turns[0, -1] / ahead.down, -ahead.down, ahead.down_stop),
                            (ahead.turns[2, -1] / ahead.up, ahead.up, ahead.up_stop))
    right.axhline(turns, color=COLOURS["stop"], lw=2)
    right.text(0, turns, f" {stop}", va="bottom" if turns < 0 else "top", fontsize=8.5, color=COLOURS["stop"])
    low, high = right.get_ylim()
    right.set_ylim(min(low, turns - 0.08, -0.1), max(high, turns + 0.08, 0.1))
    last = float(ahead.years[-1])
    grow, sd = found.mean_and_sd(np.array([0.0, 0.0, 1.0]))
    stagehand.headline(left, f"The first year brought {grow:+.2f} ± {2 * sd:.2f} mm;\nkeep {ahead.keep:.2f} mm (grey)")
    used, gone, way = ((max(-ahead.turns[1, -1], 0.0), ahead.gone_down[-1], "down") if turns < 0 else
                       (max(ahead.turns[1, -1], 0.0), ahead.gone_up[-1], "up"))
    stagehand.headline(right, f"In year {last:.0f} {used:.2f} of {abs(turns):.2f} turns {way} are used;\n"
                              f"all of them in {100 * gone:.0f} of 100")
    return drawing


def _grid(design: Any, turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Slopes of action bass, action treble and gap by every unknown at every turn, last turn lowering and raising, (2, turns, 3,
    unknowns), and what 1 turn of a wrong hand moves them by, (2, turns, 3)."""
    keys, sd = ("action.12.bass", "action.12.treble", "gap.end"), 0.01
    m = Measured(dict.fromkeys(keys, 2.0), dict.fromkeys(keys, sd), design.handed)
    entries = [Entry(m, float(t), last=s) for s in ("lowering", "raising") for t in turns]
    rows, d = Rows.of(entries), design.dimensions()
    _, jac, none = rows.model(d, {}, Hands(turn=0.0))
    _, _, some = rows.model(d, {}, Hands(turn=0.1))
    by = np.sqrt(np.maximum(np.diag(some - none), 0.0)) / 0.1
    k = np.arange(len(entries))
    sign = np.sign((some - none).reshape(len(entries), 3, len(entries), 3)[k, :, k, 0])  # against that of the bass string
    return jac.reshape(2, len(turns), 3, -1), (by.reshape(-1, 3) * sign).reshape(2, len(turns), 3)


def learn_sheet(design: Any) -> HandSheet:
    """Readings, how far apart in turns, error of the gauge [mm] and of the hand [deg], both senses or one: how much of each
    unknown is left, and how well the step of 1/8 turn is known [mm]."""
    turns = np.round(np.linspace(-0.6, 0.6, 121), 3)
    jac, by = _grid(design, turns)
    step, g = step_slopes(design)
    g = g * SIZES
    plausible = 2 * float(np.sqrt(g @ g))
    names = [n for n in UNKNOWNS if n != "bridge_shift"]  # the strings' place across: margins tell it, action does not
    rows = [list(UNKNOWNS).index(n) for n in names]
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 220.0, 98.0)
    stagehand.axes_of(left, "left of its plausible size [%]", "", (0, 109), (len(names) - 0.4, -0.6))
    left.set_yticks(range(len(names)), [f"{SHORT[n]} ({_size(n)})" for n in names])
    left.axvline(100, color=COLOURS["guide"], lw=1, ls=":")
    bars = left.barh(range(len(names)), np.zeros(len(names)), 0.6, color=BLUE)
    finding = stagehand.headline(left)
    counts = np.arange(1, MOST + 1)
    stagehand.axes_of(right, "readings", "1/8 turn is known to ± [mm], 95 in 100", (0.5, MOST + 0.5), (0, 1.25 * plausible))
    right.axhline(plausible, color=COLOURS["guide"], lw=1, ls=":")
    right.text(MOST, plausible, "before any reading", ha="right", va="bottom", fontsize=8.5)
    (curve,) = right.plot([], [], label="action at fret 12, mean", **line_style(0))
    (dot,) = right.plot([], [], "o", color=COLOURS["stop"], ms=9)
    legend(right, "lower left")
    said = stagehand.headline(right)

    def left_over(n: int, reach: float, gauge: float, hand: float, both: bool) -> np.ndarray:
        at = np.argmin(np.abs(turns - np.linspace(-reach, reach, n)[:, None]), axis=1) if n > 1 else np.array([60])
        sense = np.arange(n) % 2 * int(both)
        j, wrong = jac[sense, at].reshape(3 * n, -1), by[sense, at] * hand / 360
        error = gauge**2 * np.eye(3 * n)
        for k in range(n):
            error[3 * k:3 * k + 3, 3 * k:3 * k + 3] += np.outer(wrong[k], wrong[k])
        return _left(j, error)

    def update(v: dict[str, float]) -> str:
        n, both = int(v["n"]), v["both"] > 0.5
        covs = [left_over(k, v["reach"], v["gauge"], v["hand"], both) for k in counts.tolist()]
        known_to = np.array([2 * np.sqrt(g @ c @ g) for c in covs])
        part = 100 * np.sqrt(np.diag(covs[n - 1])[rows])
        for bar, width in zip(bars, part, strict=True):
            bar.set(width=width, facecolor=BLUE if width < 30 else ORANGE, hatch="" if width < 30 else "//")
        curve.set_data(counts, known_to)
        dot.set_data([n], [known_to[n - 1]])
        here, band = known_to[n - 1], part[names.index("play")] / 100 * UNKNOWNS["play"].size / design.tilt_screw.pitch
        finding.set_text(f"{int((part < 30).sum())} of {len(names)} are told to better than 30 % (plain blue)")
        said.set_text(f"1/8 turn: {step:.3f} ± {here:.3f} mm")
        senses = "both senses" if both else "one sense"
        return (f"{n} readings within ± {v['reach']:.2f} turns, gauge ± {2 * v['gauge']:.2f} mm, {senses}: 1/8 turn is "
                f"{step:.3f} ± {here:.3f} mm (before: ± {plausible:.3f}), dead band ± {2 * band:.3f} turn.")

    controls = [stagehand.slider("n", "readings", 6, 1, MOST, 1, ""),
                stagehand.slider("reach", "turned either way by", 0.4, float(REACHES[0]), float(REACHES[-1]), 0.05, "turn"),
                stagehand.slider("gauge", "gauge, standard deviation", 0.025, 0.005, 0.15, 0.005),
                stagehand.slider("hand", "hand, standard deviation", 5.0, 0.0, 20.0, 1.0, "deg"),
                stagehand.slider("both", "last turns in both senses", 1, 0, 1, 1, "")]
    return HandSheet(drawing, controls, [*bars, curve, dot, finding, said], update, units=design.units)
