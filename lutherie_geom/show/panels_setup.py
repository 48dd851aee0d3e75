"""Set-up day: the action after each step against its window, the travel with its stops, the advice as a list, and a sheet."""

from __future__ import annotations

import base64
import io
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from PIL import ImageOps

from lutherie_geom.joint.travel import Travel, travel
from lutherie_geom.joint.turning import way
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.card_numbers import card
from lutherie_geom.shop.setup.fitting import AsMeasured, as_measured, batched
from lutherie_geom.shop.setup.measured import Measured, measured
from lutherie_geom.shop.setup.moves import moves, options
from lutherie_geom.shop.setup.set_up import SetUpDay, advise
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.shop.setup.turn_card import card_pdf
from lutherie_geom.shop.setup.wanted import wanted
from lutherie_geom.shop.words import amount
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, VERMILLION, label, legend

__all__ = ["card_picture", "set_up_sheet", "show_day", "steps_picture"]

ACTIONS = np.linspace(-0.4, 1.0, 15)  # mm from the target that the sheet lets one read
ASIDE = np.linspace(-2.0, 2.0, 5)  # mm
FEELER, RULER = 0.025, 0.09  # standard deviations [mm] that the sheet reads with: action; off-centre from two margins
DPI = 130  # of the card's picture


def show_day(day: SetUpDay) -> None:
    """Show the advice as a numbered list, with what cannot be had by turning and which stops are near."""
    from IPython.display import display

    lines = [f"**{day.wanted.said(day.units)}**", ""]
    if day.done:
        lines.append(day.verdict)
    for k, step in enumerate(day.instructions, 1):
        part, do = step.told(day.units).split(": ", 1)
        for word in ("Careful", "Expect", "Pitch"):
            do = do.replace(f" {word}: ", f"  \n{'**Careful:**' if word == 'Careful' else f'*{word}:*'} ")
        lines.append(f"{k}. **{part}**: {do}")
    lines.append("")
    for head, said in (("Not by turning", day.cannot), ("Stop near", day.near), ("Note", day.notes)):
        lines += [f"- *{head}:* {text}." for text in said]
    if day.removals:
        lines.append("- *The neck comes off once:* the sockets of the pivot screws face the heel. Do all of it in one removal.")
    text = "\n".join(lines)
    display({"text/markdown": text, "text/plain": text}, raw=True)


def _room(design: Any, m: Measured, day: SetUpDay, now: tuple[float, float, float]) -> Travel:
    """Travel of the tilt screw once all else is done."""
    end = np.array(now) + day.turns
    d = as_measured(design.dimensions(), m, tilt=now[0], bass=now[1], treble=now[2])
    d = d.replaced(h_saddle=np.asarray(d.h_saddle) + np.array(day.saddle))
    return travel(AsMeasured(design, d), bass=float(end[1]), treble=float(end[2]), start=float(end[0]))


def steps_picture(design: Any, readings: Any, target: Any = None,
                  turns_now: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Figure:
    """The action of the outer strings [mm] as read and after each step, and where the tilt screw then stands in its travel
    [turn]. Arguments as those of :func:`.set_up.advise`."""
    m = readings if isinstance(readings, Measured) else measured(readings, design)
    day = advise(design, m, target, turns_now=turns_now)
    want, keys = day.wanted, [f"action.{day.wanted.fret}.{s}" for s in ("bass", "treble")]
    steps = [("as read", day.before), *((i.part, i.expect) for i in day.instructions if keys[0] in i.expect)]
    drawing, (left, right) = stagehand.stage((1.5, 1.0), 230.0, 98.0)
    values = np.array([[e.get(k, np.nan) for k in keys] for _, e in steps])
    x = np.arange(len(steps))
    for k, (colour, mark, words) in enumerate(((BLUE, "o", "bass"), (VERMILLION, "D", "treble"))):
        goal = want.ends[k]
        left.axhspan(goal - want.within, goal + want.within, color=colour, alpha=0.16, lw=0)
        left.plot(x, values[:, k], marker=mark, color=colour, ls=("-", (0, (5, 2)))[k], ms=6, label=f"{words}, window shaded")
        for at, v in zip(x, values[:, k], strict=True):
            left.annotate(f"{v:.2f}", (at, v), xytext=(0, 7), textcoords="offset points", ha="center", fontsize=8, color=colour)
    low, high = np.nanmin(values), np.nanmax(values)
    stagehand.axes_of(left, "", label(f"action at fret {want.fret}", "mm"), (-0.4, len(steps) - 0.6),
                      (min(low, want.ends[1] - want.within) - 0.25, max(high, want.ends[0] + want.within) + 0.5))
    left.set_xticks(x, [words for words, _ in steps])
    legend(left, "upper right")
    stagehand.headline(left, f"{len(steps) - 1} steps bring {day.before[keys[0]]:.2f} / {day.before[keys[1]]:.2f} mm to "
                             f"{values[-1, 0]:.2f} / {values[-1, 1]:.2f} mm")
    _travel_bar(right, _room(design, m, day, turns_now), turns_now[0], turns_now[0] + day.turns[0])
    return drawing


def _travel_bar(axes: Axes, t: Travel, start: float, end: float) -> None:
    """Travel of the tilt screw [turn] upright, with what ends it, and where the screw stood and stands."""
    room = max(t.high - t.low, 0.5)
    stagehand.axes_of(axes, "", "tilt screw [turn]", (0, 1), (t.low - 0.12 * room, t.high + 0.12 * room))
    axes.set_xticks([])
    axes.grid(False)
    axes.add_patch(Rectangle((0.08, t.low), 0.10, t.high - t.low, facecolor="#E9E9E9", edgecolor=COLOURS["text"], lw=0.8))
    for stop in t.stops:
        inside = stop.turn is not None and t.low - 1e-6 <= stop.turn <= t.high + 1e-6
        if inside and stop.turn is not None:
            ends = stop.kind == "stop"
            axes.plot([0.05, 0.21], [stop.turn] * 2, color=COLOURS["stop"], lw=2.2 if ends else 1.2, ls="-" if ends else ":")
            up = "bottom" if stop.turn > (t.low + t.high) / 2 else "top"
            axes.text(0.24, stop.turn, f"{stop.turn:+.2f} {stop.words}", fontsize=8, va=up if ends else "center", wrap=True)
    axes.plot([0.13], [start], "o", color=BLUE, mfc="white", ms=9, zorder=4)
    axes.plot([0.13], [end], "D", color=BLUE, ms=8, zorder=4)
    axes.text(0.24, end, f"now {turn_text(end)}, was {turn_text(start)}", fontsize=8.5, va="center", color=BLUE)
    stagehand.headline(axes, f"Left: {end - t.low:.2f} turns down, {t.high - end:.2f} up")


def set_up_sheet(design: Any, target: Any = None) -> HandSheet:
    """Action bass and treble [mm] and strings off the board's middle [mm] as read: the turns that the tool asks for, and what is
    left over. All answers are worked out before (the full search, as on the day), so that a slider finds its own at once."""
    want = wanted(design, target)
    ends = [np.round(e + ACTIONS, 1) for e in want.ends]
    b, t, a = (g.ravel() for g in np.meshgrid(*ends, ASIDE, indexing="ij"))
    keys = (f"action.{want.fret}.bass", f"action.{want.fret}.treble")
    base = shown(design.pose(), ("margin.left", "margin.right"), design.handed)
    m = Measured({keys[0]: b, keys[1]: t, "margin.left": float(base["margin.left"]) + _left(design) * a,
                  "margin.right": float(base["margin.right"]) - _left(design) * a},
                 dict.fromkeys(keys, FEELER) | dict.fromkeys(("margin.left", "margin.right"), RULER), design.handed)
    found = moves(options(design, want), batched(as_measured(design.dimensions(), m), len(b)), np.zeros((3, len(b))),
                  np.array([FEELER, FEELER, RULER]))
    after = np.array([*want.ends, 0.0])[:, None] + found.off * np.array([want.within, want.within, want.centring])[:, None]
    room = travel(design)
    seen = dict.fromkeys((design.tilt_screw.key_from, design.pivot.key_from))
    drawing, (left, right) = stagehand.stage((1.0, 1.15), 225.0, 100.0)
    mean = [float(e.mean()) for e in ends]
    reach = float(np.ptp(ACTIONS)) / 2 + 0.15
    stagehand.axes_of(left, label(f"action at fret {want.fret}, bass", "mm"), label("treble", "mm"),
                      (mean[0] - reach, mean[0] + reach), (mean[1] - reach, mean[1] + reach))
    left.add_patch(Rectangle((want.ends[0] - want.within, want.ends[1] - want.within), 2 * want.within, 2 * want.within,
                             facecolor=COLOURS["gap"], alpha=0.4, edgecolor=COLOURS["text"], label="window"))
    (path,) = left.plot([], [], color=COLOURS["guide"], lw=1)
    (read,) = left.plot([], [], "o", color=ORANGE, mfc="none", mew=2, ms=9, label="as read")
    (done,) = left.plot([], [], "D", color=BLUE, ms=8, label="as foreseen")
    legend(left, "upper left")
    finding = stagehand.headline(left)
    stagehand.axes_of(right, f"turns; senses as seen from the {' and the '.join(seen)}", "", (-1.3, 1.3), (3.5, -0.6))
    right.set_yticks(range(4), ["tilt screw", "bass pivot", "treble pivot", "saddle, bass | treble"])
    right.barh(0, room.high - room.low, 0.8, left=room.low, color="#E9E9E9", edgecolor=COLOURS["guide"])
    right.text(room.high + 0.02, -0.42, "travel", fontsize=8, ha="left", va="center", color=COLOURS["text"])
    right.axvline(0, color=COLOURS["guide"], lw=0.8)
    bars = right.barh(range(3), np.zeros(3), 0.45, color=BLUE)
    words = [right.text(0, k, "", fontsize=8.5, va="center") for k in range(4)]
    moved = stagehand.headline(right)
    screws = (design.tilt_screw, design.pivot, design.pivot)
    shape = (len(ends[0]), len(ends[1]), len(ASIDE))

    def turned(k: int, by: float) -> str:
        screw = screws[k]
        return f"{amount(by)} {way(screw.hand, screw.key_from, by > 0, 'tilt' if k == 0 else 'pivot').split(',')[0]}"

    def update(v: dict[str, float]) -> str:
        i = np.ravel_multi_index(tuple(int(np.argmin(np.abs(g - s))) for g, s in zip((*ends, ASIDE), (
            v["bass"], v["treble"], v["aside"]), strict=True)), shape)
        turns = np.nan_to_num(found.turns[:, i])
        by = found.saddle[[0, -1], i]
        read.set_data([b[i]], [t[i]])
        done.set_data([after[0, i]], [after[1, i]])
        path.set_data([b[i], after[0, i]], [t[i], after[1, i]])
        said = [turned(k, float(x)) if abs(x) > 1e-9 else "as it is" for k, x in enumerate(turns)]
        for bar, text, x, told in zip(bars, words[:3], turns, said, strict=True):
            bar.set_width(x)
            text.set(text=told, x=max(x, 0.0) + 0.04)
        parts = [f"{x:+.2f}" if abs(x) >= 0.01 else "0" for x in by]
        again = "" if np.abs(found.later[:, i]).max() < 0.01 else "; read again"
        cut = f"as it is{again}" if np.abs(by).max() < 0.01 else f"{parts[0]} | {parts[1]} mm"
        words[3].set(text=cut, x=0.04)
        off = after[:2, i] - np.array(want.ends)
        finding.set_text(f"Left over: bass {off[0]:+.2f}, treble {off[1]:+.2f} mm")
        moved.set_text(f"Strings {abs(a[i]):.1f} mm off the middle, then {abs(after[2, i]):.2f} mm")
        if not found.within[i]:
            return "No setting of the screws within their stops was found: look first for what is out of place."
        return (f"Read {b[i]:.1f} mm bass, {t[i]:.1f} mm treble. Tilt screw {said[0]}; bass pivot {said[1]}; treble pivot "
                f"{said[2]}; saddle {cut}. Then {after[0, i]:.2f} and {after[1, i]:.2f} mm, strings {abs(after[2, i]):.2f} mm "
                "aside.")

    controls = [stagehand.slider("bass", "action read, bass", float(ends[0][11]), float(ends[0][0]), float(ends[0][-1]), 0.1),
                stagehand.slider("treble", "action read, treble", float(ends[1][10]), float(ends[1][0]), float(ends[1][-1]), 0.1),
                stagehand.slider("aside", "strings to treble of the middle", 1.0, float(ASIDE[0]), float(ASIDE[-1]), 1.0)]
    return HandSheet(drawing, controls, [path, read, done, *bars, *words, finding, moved], update, units=design.units)


def _left(design: Any) -> int:
    """What strings that lie to treble add to the margin seen on the left: plus on a right-handed instrument."""
    return 1 if design.handed == "right" else -1


def card_picture(design: Any, *, learned: Any = None) -> None:
    """Show the turn card's one page. Without pypdfium2, which draws pages of a PDF, only its size is told."""
    from IPython.display import display

    page = card_pdf(card(design, learned=learned))
    words = f"Turn card of {design.name}: one page, PDF, {len(page) / 1000:.0f} kB"
    bundle: dict[str, Any] = {"text/plain": words}
    try:
        import pypdfium2
    except ImportError:
        display(bundle, raw=True)
        return
    picture = io.BytesIO()
    drawn = pypdfium2.PdfDocument(page)[0].render(scale=DPI / 72).to_pil().convert("L")
    box = ImageOps.invert(drawn).getbbox() or (0, 0, *drawn.size)
    drawn.crop((max(box[0] - 12, 0), max(box[1] - 12, 0), box[2] + 12, box[3] + 12)).save(picture, "png", optimize=True)
    bundle["image/png"] = base64.b64encode(picture.getvalue()).decode("ascii")
    display(bundle, raw=True, metadata={"image/png": {"alt": words, "width": 720}})

