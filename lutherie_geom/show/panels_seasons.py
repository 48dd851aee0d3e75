"""A year in the workshop: air, moisture, action and the turns that undo it; the block that swells behind the screw."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lutherie_geom.mechanics.climate import Air, constant, moisture, seasonal
from lutherie_geom.mechanics.movement import Swelling, TopStrip, action_change, null_captive_face, swelling_of
from lutherie_geom.mechanics.seasons import LAGS, MONTHS, Seasons, ends
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLACK, BLUE, COLOURS, GREEN, ORANGE, PURPLE, legend, line_style

__all__ = ["action_picture", "air_picture", "block_sheet", "parts_picture", "window_picture"]

_BANDS = {"top": (BLUE, "-"), "block": (ORANGE, (0, (6, 2))), "neck": (PURPLE, (0, (2, 1.5)))}
_FIRSTS = np.linspace(0, 365, 13)[:-1]
_MIDDLES = _FIRSTS + 365 / 24
STEP = 5.0  # day of the sheet's air: a picture needs no finer


def _months(axes: Axes, days: bool = True) -> None:
    axes.set_xticks(_FIRSTS + 365 / 24 if days else range(12), [m[0] for m in MONTHS])
    axes.grid(axis="x", visible=False)


def _daily(air: Air) -> tuple[np.ndarray, np.ndarray]:
    """Days and their mean humidity [%]."""
    day = np.floor(air.days + 1e-9).astype(int)
    count = np.bincount(day - day[0])
    return np.flatnonzero(count) + day[0], (np.bincount(day - day[0], air.humidity) / np.maximum(count, 1))[count > 0]


def air_picture(found: Seasons) -> Figure:
    """Left the room's humidity [%], day by day; right the moisture [%] of top, block and neck, 5 to 95 in 100."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 200.0, 84.0)
    days, humidity = _daily(found.air)
    left.plot(days, humidity, color=COLOURS["guide"], lw=1.0)
    mean = found.air.by_month(found.air.humidity)
    left.plot(_MIDDLES, mean, "o-", color=BLACK, ms=4, label="mean of the month")
    stagehand.axes_of(left, "", "relative humidity [%]", (0, 365), (0, 100))
    stagehand.headline(left, f"The room: {np.nanmin(mean):.0f} % in its driest month, {np.nanmax(mean):.0f} % in its dampest")
    legend(left, "lower right")
    for name, (colour, dash) in _BANDS.items():
        band = ends(found.moisture[name], axis=1)
        right.fill_between(_MIDDLES, *band, color=colour, alpha=0.22, lw=0)
        right.plot(_MIDDLES, np.median(found.moisture[name], axis=1), color=colour, ls=dash, label=name)
    right.axhline(found.set_at, color=COLOURS["guide"], lw=1)
    right.text(4, found.set_at + 0.06, "when set up", fontsize=8)
    least, most = (f(np.stack([ends(v, axis=1) for v in found.moisture.values()])) for f in (np.nanmin, np.nanmax))
    stagehand.axes_of(right, "", "moisture of the wood [%]", (0, 365), (least - 0.5, most + 0.5))
    legend(right, "upper left")
    late = np.median(found.lags["block"] - found.lags["top"])
    stagehand.headline(right, f"The block is {late:.0f} days slower than the top")
    for axes in (left, right):
        _months(axes)
    return drawing


def action_picture(found: Seasons) -> Figure:
    """Left the change of the action [mm] by month; right the turns that undo it, and the fewest settings that serve."""
    drawing, (left, right) = stagehand.stage((1.0, 1.0), 200.0, 84.0)
    for axes, v, colour in ((left, found.change, BLUE), (right, found.turns, GREEN)):
        low, high = ends(v, axis=1)
        axes.bar(range(12), high - low, bottom=low, width=0.62, color=colour, alpha=0.35, label="5 to 95 in 100")
        axes.plot(range(12), np.median(v, axis=1), "o", color=colour, mec="black", ms=5, label="middle")
        axes.axhline(0, color=COLOURS["guide"], lw=1)
        _months(axes, days=False)
        span = max(0.2, 1.12 * float(np.nanmax(np.abs([low, high]))))
        axes.set(xlim=(-0.6, 11.6), ylim=(-span, span))
    left.axhspan(-found.tolerance, found.tolerance, color=COLOURS["highlight"], alpha=0.35, lw=0, label="not minded")
    left.set_ylabel(f"change of the action at fret {found.fret} [mm]")
    right.set_ylabel("turns of the tilt screw, + raises")
    settings = found.settings()
    place = np.full(12, np.nan)
    for s in settings:
        place[list(s.months)] = s.turns
    right.stairs(place, np.arange(13) - 0.5, color=BLACK, lw=2, baseline=None, label="fewest settings")
    a, b = ends(found.swing)
    stagehand.headline(left, f"The action swings by {a:.1f} to {b:.1f} mm over the year")
    changes = len(settings) if len(settings) > 1 else 0
    stagehand.headline(right, f"The middle guitar asks for {changes} small turns a year")
    legend(left, "upper left")
    legend(right, "lower left")
    return drawing


def window_picture(found: Seasons, design: Any) -> Figure:
    """The action [mm] after long weeks in one humidity [%]: its band, and the window in which no turn is needed."""
    drawing, (axes,) = stagehand.stage((1.0,), 170.0, 84.0)
    humidity = np.linspace(15, 85, 71)
    settled = moisture(constant(temperature=20.0, humidity=humidity, days=1.0), lag=1e-3)[-1]
    change = action_change(design, (settled - found.set_at)[:, None], found.swelling, found.fret)
    low, high = ends(change, axis=1)
    axes.fill_between(humidity, low, high, color=BLUE, alpha=0.25, lw=0, label="5 to 95 in 100")
    axes.plot(humidity, np.median(change, axis=1), color=BLUE, label="middle")
    axes.axhspan(-found.tolerance, found.tolerance, color=COLOURS["highlight"], alpha=0.35, lw=0, label="not minded")
    sides = [v[np.isfinite(v)] for v in found.window]
    sure = [float(np.quantile(v, q)) if v.size else edge for v, q, edge in zip(sides, (0.95, 0.05), (15.0, 85.0), strict=True)]
    mid = [float(np.median(v)) if v.size else edge for v, edge in zip(sides, (15.0, 85.0), strict=True)]
    for x, dash in zip((*sure, *mid), ("-", "-", (0, (3, 2)), (0, (3, 2))), strict=True):
        axes.axvline(x, color=GREEN, lw=1.6, ls=dash)
    top = 1.6
    axes.text(mid[0] - 0.8, 0.86 * top, "19 guitars in 20 (full lines)\nand the middle one (broken)", fontsize=8.5, color=GREEN,
              ha="right", va="center")
    stagehand.axes_of(axes, "steady humidity of the room [%]", f"change of the action at fret {found.fret} [mm]", (15, 85),
                      (-top, top))
    legend(axes, "lower right")
    stagehand.headline(axes, f"No turn is needed from {sure[0]:.0f} to {sure[1]:.0f} % in 19 of 20 guitars, from {mid[0]:.0f} to "
                             f"{mid[1]:.0f} % in the middle one")
    return drawing


def parts_picture(found: Seasons) -> Figure:
    """What moves the action in its lowest and its highest month [mm], part by part, 5 to 95 in 100."""
    drawing, (axes,) = stagehand.stage((1.0,), 170.0, 78.0)
    middle = np.median(found.change[found.known], axis=-1)
    months = [found.known[k] for k in (middle.argmin(), middle.argmax())]
    reach = 0.1
    for k, v in enumerate(found.parts.values()):
        for m, shift, colour, mark in zip(months, (0.16, -0.16), (ORANGE, BLUE), ("s", "o"), strict=True):
            low, mid, high = np.quantile(v[m], (0.05, 0.5, 0.95))
            axes.plot([low, high], [shift - k] * 2, color=colour, lw=5, alpha=0.55, solid_capstyle="butt")
            axes.plot([mid], [shift - k], mark, color=colour, mec="black", ms=6, label=MONTHS[m] if k == 0 else None)
            reach = max(reach, abs(low), abs(high))
    axes.axvline(0, color=COLOURS["guide"], lw=1)
    axes.set_yticks([-k for k in range(len(found.parts))], list(found.parts))
    stagehand.axes_of(axes, "its part of the change of the action [mm], 5 to 95 in 100", "", (-1.1 * reach, 1.1 * reach),
                      (0.5 - len(found.parts), 0.5))
    legend(axes, "lower right")
    if np.median(found.swing) < 0.005:
        stagehand.headline(axes, "In steady air nothing moves with the months")
        return drawing
    first, *rest = sorted(found.parts.items(), key=lambda kv: -np.median(np.ptp(kv[1][found.known], axis=0)))
    ratio = np.median(np.ptp(first[1][found.known], axis=0)) / max(np.median(np.ptp(rest[0][1][found.known], axis=0)), 1e-9)
    stagehand.headline(axes, f"Most comes from one part ({first[0]}): {ratio:.0f} times the next"
                       if ratio < 100 else f"All comes from one part ({first[0]})")
    return drawing


def block_sheet(design: Any) -> HandSheet:
    """Place of the captive face [mm], lag of the top [day], swing of the room [%], share of the top's free rise [1]: the action
    over the year, and its swing against the place of the captive face [mm].

    Block and neck lag by the middle of their ranges; swellings are the woods' own.
    """
    base = design.dimensions()
    start, head = float(design.woods.moisture), float(base.x_head)
    plain = swelling_of(design)
    top_alone = swelling_of(design, strip=TopStrip(share=1.0)).top_rise
    null = float(null_captive_face(design, plain))
    faces = np.linspace(0.0, 45.0, 16)
    days = np.arange(0.0, 365.0, STEP)
    slow = [sum(LAGS[k]) / 2 for k in ("block", "neck")]
    drawing, (left, right) = stagehand.stage((1.25, 1.0), 200.0, 88.0)
    lines = {name: left.plot([], [], label=name, **line_style(k))[0]
             for k, name in enumerate(("action in all", "from the block", "from the top"))}
    lines["action in all"].set(color=BLACK, ls="-", lw=2.2)
    left.axhline(0, color=COLOURS["guide"], lw=1)
    stagehand.axes_of(left, "", "change of the action at fret 12 [mm]", (0, 365), (-1.3, 1.7))
    _months(left)
    legend(left, "upper left")
    (curve,) = right.plot([], [], color=BLUE)
    (now,) = right.plot([], [], "o", color=BLACK, ms=8)
    right.axvline(null, color=GREEN, ls=(0, (4, 2)))
    right.text(null + 0.8, 1.86, f"null: {null:.1f} mm", fontsize=8.5, color=GREEN, va="top")
    stagehand.axes_of(right, "captive face behind the joint face [mm]", "swing of the action over the year [mm]", (0, 45),
                      (0, 2.0))
    titles = [stagehand.headline(a) for a in (left, right)]
    many = base.replaced(x_head=faces)

    def update(v: dict[str, float]) -> str:
        air = seasonal(swing=v["swing"], step=STEP)
        split = replace(air, temperature=air.temperature[:, None], humidity=air.humidity[:, None])
        top, block, neck = (moisture(split, lag=np.array([v["lag"], *slow])) - start).T
        mine = replace(plain, top_rise=v["share"] * top_alone)
        each = (mine, mine.only("block", "heel"), mine.only("top_rise", "bridge"))  # side by side: one call for the three lines
        abreast = Swelling(**{f.name: np.array([getattr(s, f.name) for s in each]) for f in fields(Swelling)})
        of_year = action_change(design, top[:, None], abreast, d=base.replaced(x_head=v["head"]), block=block[:, None],
                                neck=neck[:, None])
        for line, values in zip(lines.values(), of_year.T, strict=True):
            line.set_data(days, values)
        total = of_year[:, 0]
        ends_of_year = [int(total.argmin()), int(total.argmax())]
        swing = float(np.ptp(total))
        # The days that are outermost now stand for the swing at every other place as well.
        low, high = action_change(design, top[ends_of_year, None], mine, d=many, block=block[ends_of_year, None],
                                  neck=neck[ends_of_year, None])
        curve.set_data(faces, np.abs(high - low))
        now.set_data([v["head"]], [swing])
        titles[0].set_text(f"The action swings by {swing:.2f} mm over the year")
        alone = float(np.ptp(lines["from the block"].get_ydata()))
        titles[1].set_text(f"The block's own part: {alone:.2f} mm")
        when = MONTHS[int(days[ends_of_year[1]] * 12 // 365)]
        return (f"Captive face at {v['head']:.0f} mm (null at {null:.1f} mm): over the year the action at fret 12 swings by "
                f"{swing:.2f} mm, highest in {when}; the block's own part is {alone:.2f} mm.")

    controls = [stagehand.slider("head", "captive face, behind the joint face", head, 0.0, 45.0, 1.0,
                                 field="tilt_screw.head_x"),
                stagehand.slider("lag", "lag of the top", 25.0, 2.0, 90.0, 1.0, "day"),
                stagehand.slider("swing", "room's humidity, either way", 14.0, 0.0, 25.0, 1.0, "%"),
                stagehand.slider("share", "share of the top's free rise", 0.3, 0.0, 0.6, 0.05, "")]
    return HandSheet(drawing, controls, [*lines.values(), curve, now, *titles], update, design=design)
