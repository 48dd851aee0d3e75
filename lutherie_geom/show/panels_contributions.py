"""Which hundredth matters: ranked contributions, maps of what an error at the pivot costs, and a sheet to move them."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.design.input_words import words_of
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.panels_moves import moved
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, VERMILLION, legend, line_style
from lutherie_geom.studies.contributions import READ, Contributions, Contributor, error_slopes
from lutherie_geom.studies.first_order import COVER_95, propagate
from lutherie_geom.studies.spreads import Spreads, parse_spread

__all__ = ["group_words", "map_picture", "ranked_picture", "tolerance_sheet"]

_SHORT = {"gap.least": "least gap at rest", "heel.floor_least": "least floor clearance at rest",
          "heel.reveal_least": "least reveal at rest", "margin.bass_last": "edge margin, bass",
          "margin.treble_last": "edge margin, treble"}


def group_words(names: tuple[str, ...]) -> str:
    """Words for an input: one number, or on two lines the numbers of a group that errs together."""
    return "\nwith ".join(words_of(n) for n in names)


def ranked_picture(found: Contributions, keys: tuple[str, str] = ("action.bass_12", "gap.least"), few: int = 8) -> Figure:
    """Shares of two readings' variance [%], the ``few`` largest of each: first order (bars), Sobol alone and with others, with
    their intervals. A group of numbers that err together is one bar."""
    drawing, axes = stagehand.stage((1.0, 1.0), 235.0, 118.0)
    for k, (ax, key) in enumerate(zip(axes, keys, strict=True)):
        r = found[key]
        rows = r.items[:few]
        y = np.arange(len(rows))
        ax.barh(y, [100 * c.share for c in rows], 0.72, color=BLUE, alpha=0.35, edgecolor=BLUE,
                label="by the slopes (first order)")
        for what, shape, colour, place, words in (("first", "o", COLOURS["text"], -0.16, "alone (Sobol first)"),
                                                  ("total", "D", VERMILLION, 0.16, "with others (Sobol total)")):
            values = 100 * np.array([getattr(c, what) for c in rows])
            ends = 100 * np.array([getattr(c, f"{what}_interval") for c in rows]).T
            ax.errorbar(values, y + place, xerr=np.abs(ends - values), fmt=shape, color=colour, ms=5, capsize=3, lw=1.4,
                        mfc="white" if what == "first" else colour, label=words)
        most = max(max(100 * c.share, 100 * c.total_interval[1]) for c in rows)
        stagehand.axes_of(ax, "share of the variance [%]", "", (0, 1.12 * most), (len(rows) - 0.4, -0.6))
        ax.set_yticks(y, [group_words(c.names) for c in rows])
        words = _SHORT.get(key, r.words)
        c = max(rows, key=lambda c: abs(c.total - c.share))
        said = (f"{_needed(r.items, 0.85)} of {len(r.items)} errors carry 85 % of the variance" if r.trustworthy else
                f"the slopes say {100 * c.share:.0f} %, the sample {100 * c.total:.0f} %")
        stagehand.headline(ax, f"{words[0].upper()}{words[1:]}:\n{said}")
        if k == 0:
            legend(ax, "lower right")
    return drawing


def _needed(items: tuple[Contributor, ...], part: float) -> int:
    """How many of the ranked contributors carry this part of the variance."""
    return int(np.searchsorted(np.cumsum([c.first for c in items]), part)) + 1


def map_picture(design: Any) -> Figure:
    """Action at fret 12, bass [mm]: for 0.1 mm of error in depth over the pivot's height and place [mm], the screw left where it
    is; for all the design's tolerances, ± of 95 in 100, over height and arm [mm]; for 1/16 turn over pitch [mm/turn] and arm."""
    base, own, e = design.dimensions(), Spreads.of_design(design), READ[0]
    variables, r = own.variables(base), own.correlation(base)
    drawing, (a, b, c) = stagehand.stage((1, 1, 1), 235.0, 90.0)
    along, depth = np.meshgrid(np.linspace(-15, 15, 16), np.linspace(8, 45, 20))
    head = np.abs(_slope(base.replaced(z_p=-depth, x_p=along), base, "tilt_screw.head_x", "± 0.1 mm")) / 10
    low, arm = np.meshgrid(np.linspace(8, 45, 20), np.linspace(30, 90, 25))
    sds = np.array([v.spread.standard_deviation for v in variables])
    parts = error_slopes(moved(base, depth=low, arm=arm), variables, e) * sds[:, None, None]
    total = COVER_95 * np.sqrt(np.einsum("i...,ij,j...->...", parts, r, parts))
    pitch, arm_c = np.meshgrid(np.linspace(0.5, 1.5, 21), np.linspace(30, 90, 25))
    turn = np.abs(_slope(moved(base, depth=-base.z_p, arm=arm_c, pitch_tilt=pitch), base, "tilt_screw.set", "± 1 turn")) / 16
    below, long, fine = "pivot below the top [mm]", "arm of the tilt screw [mm]", "pitch of the tilt screw [mm/turn]"
    one = ("pivot along the body [mm]", below), f"Screw's head 0.1 mm too deep:\naction {head.min():.2f} to {head.max():.2f} mm"
    counts = float((np.ptp(total, axis=1) / total.mean(axis=1)).max())
    two = (below, long), f"All tolerances, 95 in 100 within ± [mm]:\nthe pivot's height counts {counts:.1%}"
    three = (fine, long), f"Screw set 1/16 turn wrong:\naction {turn.min():.2f} to {turn.max():.2f} mm"
    arm_now = base.z_p - base.z_head
    for axes, x, y, value, (labels, words), here in (
            (a, along, depth, head, one, (base.x_p, -base.z_p)), (b, low, arm, total, two, (-base.z_p, arm_now)),
            (c, pitch, arm_c, turn, three, (base.pitch_tilt, arm_now))):
        levels = _levels(float(value.min()), float(value.max()))
        axes.contourf(x, y, value, levels=levels, cmap="cividis", alpha=0.55, extend="both")
        axes.clabel(axes.contour(x, y, value, levels=levels, colors=COLOURS["text"], linewidths=0.8), fmt="%.2f", fontsize=8)
        stagehand.axes_of(axes, *labels, (float(x.min()), float(x.max())), (float(y.min()), float(y.max())))
        stagehand.headline(axes, words)
        axes.plot(*([float(v)] for v in here), "o", color=COLOURS["stop"], mec="white", ms=8)
    return drawing


def _slope(d: Any, base: Any, name: str, text: str) -> np.ndarray:
    """Exact slope of the bass string's action by one error [mm per unit of it], for a batch of joints."""
    return np.asarray(error_slopes(d, Spreads({name: parse_spread(text, name)}).variables(base), READ[0])[0])


def _levels(low: float, high: float) -> np.ndarray:
    """About six round levels between two values [mm]."""
    step = min((s for s in (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.25) if (high - low) / s <= 8), default=0.5)
    return np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step


def tolerance_sheet(design: Any, few: int = 9) -> HandSheet:
    """Pivot, arm [mm] and one tolerance [times as loose]: what each error brings to the action of the bass string [mm], and what
    that one tolerance buys. Exact slopes at every step, the ``few`` largest errors one by one."""
    base, spreads, e = design.dimensions(), Spreads.of_design(design), READ[0]
    variables, r = spreads.variables(base), spreads.correlation(base)
    sds = np.array([v.spread.standard_deviation for v in variables])
    at_start = error_slopes(base, variables, e) * sds
    order = np.argsort(-np.abs(at_start), kind="stable")[:few]
    others = np.setdiff1d(np.arange(len(variables)), order)
    names = [words_of(variables[i].name) for i in order]
    half = [variables[i].spread.half * (180 / np.pi if variables[i].spread.unit == "rad" else 1) for i in order]
    units = ["deg" if variables[i].spread.unit == "rad" else variables[i].spread.unit for i in order]
    drawing, (bars, curve) = stagehand.stage((1.15, 1.0), 225.0, 105.0)
    wide = 1.25
    stagehand.axes_of(bars, "brings to the action, 1 standard deviation [mm]", "", (0, wide), (few + 0.6, -0.6))
    bars.set_yticks(range(few + 1), [*(f"{k + 1}  {n}" for k, n in enumerate(names)), "all others together"])
    patches = bars.barh(range(few + 1), np.zeros(few + 1), 0.6, color=BLUE)
    numbers = [bars.text(0, k, "", va="center", fontsize=8) for k in range(few + 1)]
    finding = stagehand.headline(bars)
    stagehand.axes_of(curve, "this one tolerance, times as loose as designed", "action of 95 in 100: nominal ± [mm]",
                      (0, 2), (0, 3.2))
    x = np.linspace(0, 2, 41)
    (line,) = curve.plot([], [], label="all errors together", **line_style(0))
    (floor,) = curve.plot([], [], label="this one without error", **line_style(1))
    (dot,) = curve.plot([], [], "o", color=COLOURS["stop"], ms=8)
    legend(curve, "lower right")
    bought = stagehand.headline(curve)

    def update(v: dict[str, float]) -> str:
        d = moved(base, depth=v["depth"], arm=v["arm"], x_p=v["pivot"])
        g, which = error_slopes(d, variables, e), int(v["which"]) - 1
        i = order[which]

        def total(times: float) -> float:
            return COVER_95 * propagate(g, np.where(np.arange(len(sds)) == i, times * sds, sds), r).standard

        parts = np.abs(g * sds)
        parts[i] *= v["times"]
        rest = propagate(g[others], sds[others], r[np.ix_(others, others)]).standard
        values = np.r_[parts[order], rest]
        for k, (patch, number, value) in enumerate(zip(patches, numbers, values, strict=True)):
            patch.set(width=value, facecolor=ORANGE if k == which else BLUE, hatch="//" if k == which else "")
            number.set(text=f"{value:.3f}", x=float(min(value + 0.01, wide - 0.12)))
        none, now, as_designed = total(0.0), total(v["times"]), total(1.0)
        # The variance is a square of the times: three values of it give the whole curve.
        two = total(2.0) ** 2
        bend, run = (two - 2 * as_designed**2 + none**2) / 2, (-two + 4 * as_designed**2 - 3 * none**2) / 2
        line.set_data(x, np.sqrt(np.maximum(none**2 + run * x + bend * x**2, 0.0)))
        floor.set_data([0, 2], [none, none])
        dot.set_data([v["times"]], [now])
        finding.set_text(f"95 in 100 within ± {now:.2f} mm of the action laid out")
        bought.set_text(f"Without error {which + 1}: ± {none:.2f} mm")
        said = f"± {half[which] * v['times']:.2g} {units[which]}"
        return (f"Action at fret 12, bass: 95 in 100 within ± {now:.2f} mm. {names[which]}, {said}, brings {parts[i]:.3f} mm; "
                f"without that error ± {none:.2f} mm.")

    controls = [stagehand.slider("which", "which error", 1, 1, few, 1, ""),
                stagehand.slider("times", "its tolerance, as loose as designed", 1.0, 0.0, 2.0, 0.1, "times"),
                stagehand.slider("arm", "arm of the tilt screw", float(base.z_p - base.z_head), 40.0, 90.0, 1.0,
                                 field=tuple((f"tilt_screw.{end}_z", lambda v: stagehand.mm(-v["depth"] - v["arm"]))
                                             for end in ("head", "receiver"))),
                stagehand.slider("depth", "pivot below the top", -float(base.z_p), 8.0, 50.0, 1.0,
                                 field=("pivot.z", lambda v: stagehand.mm(-v["depth"]))),
                stagehand.slider("pivot", "pivot along the body", float(base.x_p), -15.0, 15.0, 0.2, field="pivot.x")]
    return HandSheet(drawing, controls, [*patches, *numbers, line, floor, dot, finding, bought], update, design=design)
