"""Strength: all margins at a glance, woods and screws side by side, the clamp's preload over the years, balls in their seats."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lutherie_geom.mechanics.ball_seats import DENT, seat_dent, seat_pressure, steel_on_steel
from lutherie_geom.mechanics.check import ORDER
from lutherie_geom.mechanics.comparison import Comparison
from lutherie_geom.mechanics.givens import PartForces, class_numbers, numbers
from lutherie_geom.mechanics.margins import Margins, at_most_clamped, forces_of
from lutherie_geom.mechanics.preload import YEAR, PreloadStory, clamped, preload_story
from lutherie_geom.mechanics.seats import seats_of
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, GREEN, ORANGE, VERMILLION, YELLOW, legend, line_style
from lutherie_geom.theory.joint_strength import first_yield
from lutherie_geom.theory.stiffness import in_series
from lutherie_geom.theory.strength import hertz_point

__all__ = ["compare_picture", "contact_picture", "margins_picture", "plain_washer", "preload_picture", "preload_sheet",
           "wound_in"]

# Short enough for a row of a chart; a margin that is not here keeps its own words.
_SHORT = {
    "clamp.preload_left": "clamp: preload left after a dry season", "clamp.damp": "clamp washer in the damp season",
    "block.captive_washer": "wood under captive head's washer", "block.clamp_washer": "wood under clamp's washer",
    "block.insert": "seat's insert, along its thread", "block.insert_side": "seat's insert, pushed sideways",
    "tilt.locking": "tilt screw: greased thread stays put", "clamp.locking": "clamp: greased thread stays put",
    "heel.clamp_shear_out": "heel: plug behind clamp's receiver", "heel.tilt_shear_out": "heel: plug behind tilt's receiver",
    "heel.clamp_receiver": "heel: wood at clamp's receiver", "heel.tilt_receiver": "heel: wood at tilt's receiver",
    "cover.glue": "glued cover of the captive head", "tilt.bent": "tilt screw: pulled and bent",
    "tilt.engagement": "tilt screw: length of thread held", "clamp.engagement": "clamp: length of thread held",
    "clamp.tightening": "clamp: while the key turns", "clamp.thread": "clamp: screw in tension", "pivot.screw": "seat screw",
    "clamp.strip": "clamp: thread in the receiver", "tilt.thread": "tilt screw in tension",
    "tilt.strip": "tilt screw: thread in the receiver",
}
_SEATS = {"seat.first_yield": "ball in its seat: first yield", "seat.dent": "ball in its seat: lasting dent"}
_MARKS = {"fails": ("X", VERMILLION), "not known": ("$?$", "#555555"), "tight": ("^", ORANGE), "beds in": ("s", YELLOW),
          "good": ("o", GREEN)}
_TOUCH = {"cup rim": "rim, edge rounded 0.3 mm", "cone": "cone, touched all round",
          "hex socket": "hex socket, edge rounded 0.3 mm", "vee groove": "vee groove, two flanks"}
_LOW, _HIGH = 0.08, 40.0


def _short(key: str, words: str) -> str:
    return _SHORT.get(key) or _SEATS.get(key.rsplit(".", 1)[0]) or words


def margins_picture(found: Margins) -> Figure:
    """Every margin over what is wanted of it [1], the worst on top, its state in words, its low end (95 in 100 reach it)."""
    drawing, (axes,) = stagehand.stage((1.0,), 195.0, 22.0 + 5.2 * len(found))
    rows = list(found)
    for k, m in enumerate(rows):
        mark, colour = _MARKS[m.state]
        ratio = m.ratio / m.factor
        known = np.isfinite(ratio) and not m.missing
        at = float(np.clip(ratio, _LOW, _HIGH)) if known else 1.0
        if known and np.isfinite(m.low):
            axes.plot([float(np.clip(m.low / m.factor, _LOW, _HIGH)), at], [-k, -k], color=colour, lw=3.5, alpha=0.55, zorder=2)
        axes.plot([at], [-k], marker=mark, color=colour, mec="black", mew=0.7, ms=8, zorder=3)
        times = "" if m.missing else f": {ratio:.2g}" if np.isfinite(ratio) else ": nothing is asked of it"
        said = (m.state.upper() if m.state != "good" else "good") + times
        # Beside the mark on the side where there is room.
        room = at < _HIGH / 4
        axes.annotate(said, (at, -k), (8 if room else -8, 0), textcoords="offset points", va="center",
                      ha="left" if room else "right", fontsize=8)
    axes.axvspan(_LOW / 2, 1.0, color=COLOURS["stop"], alpha=0.07, lw=0)
    axes.axvline(1.0, color=COLOURS["stop"], lw=1.2)
    axes.set_yticks([-k for k in range(len(rows))], [_short(m.key, m.words) for m in rows], fontsize=8)
    axes.set_xscale("log")
    axes.set_xticks([0.1, 0.2, 0.5, 1, 2, 5, 10, 20], ["0.1", "0.2", "0.5", "1", "2", "5", "10", "20"], minor=False)
    axes.minorticks_off()
    stagehand.axes_of(axes, "what it bears, as a multiple of what is wanted of it [1]; bar: what 95 in 100 reach", "",
                      (_LOW * 0.8, _HIGH * 1.2), (0.7 - len(rows), 0.7))
    counts = ", ".join(f"{len(found.in_state(s))} {s}" for s in ORDER if found.in_state(s))
    stagehand.headline(axes, f"{len(rows)} margins: {counts}")
    return drawing


def _state(ratio: float, factor: float, settles: bool) -> tuple[str, str]:
    """Word and colour of a ratio."""
    word = ("not known" if np.isnan(ratio) else "good" if ratio >= factor else "tight" if ratio >= 1
            else "beds in" if settles else "fails")
    return word, _MARKS[word][1]


def _table(axes: Axes, c: Comparison, keys: list[str], values: np.ndarray, names: tuple[str, ...]) -> None:
    """Ratios (keys, names) as a table whose cells say the state in a word."""
    axes.grid(False)
    for i, key in enumerate(keys):
        place = c.keys.index(key)
        for j in range(len(names)):
            word, colour = _state(float(values[i, j]), c.factors[place], c.settles[place])
            axes.fill([j - 0.48, j + 0.48, j + 0.48, j - 0.48], [-i - 0.46, -i - 0.46, -i + 0.46, -i + 0.46], color=colour,
                      alpha=0.35 if word != "good" else 0.12, lw=0, hatch="///" if word == "fails" else None)
            said = "not\nknown" if word == "not known" else f"{values[i, j]:.2g}\n{word}"
            axes.text(j, -i, said, fontsize=8, ha="center", va="center")
    axes.set_yticks([-i for i in range(len(keys))], [_short(k, c.words[c.keys.index(k)]) for k in keys], fontsize=8)
    axes.set_xticks(range(len(names)), [n.replace(" ", "\n") if " " in n else n.replace("-", "-\n") for n in names], fontsize=7.5)
    axes.tick_params(length=0)
    axes.xaxis.tick_top()
    axes.spines[:].set_visible(False)
    axes.set(xlim=(-0.5, len(names) - 0.5), ylim=(0.5 - len(keys), 0.5))


def compare_picture(c: Comparison, most: int = 8) -> Figure:
    """What changes with the wood, and what changes with the class of screw: times over what is asked [1], worst first."""
    part = c.ratios / np.array(c.factors)[:, None, None]

    def rows(axis: int) -> list[str]:
        seen = part[:, :, 0] if axis else part[:, 0]  # (margins, woods) or (margins, classes)
        ends = [(min(known), max(known)) if len(known := x[np.isfinite(x)]) else (0.0, 0.0) for x in seen]
        moved = [i for i, (low, high) in enumerate(ends) if high > 1.05 * low]
        return [c.keys[i] for i in sorted(moved, key=lambda i: ends[i])][:most]

    def counted(keys: list[str], axis: int) -> str:
        seen = c.ratios[:, :, 0] if axis else c.ratios[:, 0]
        words = [_state(float(x), c.factors[i], c.settles[i])[0] for i in map(c.keys.index, keys) for x in seen[i]]
        return ", ".join(f"{words.count(s)} {s}" for s in ("fails", "tight", "not known") if words.count(s)) or "all good"

    drawing, (left, right) = stagehand.stage((1.15 * len(c.woods), 1.0 * len(c.classes)), 195.0, 34.0 + 9.0 * most)
    by_wood, by_class = rows(1), rows(0)
    _table(left, c, by_wood, np.array([c[k][:, 0] for k in by_wood]), c.woods)
    _table(right, c, by_class, np.array([c[k][0] for k in by_class]), tuple(f"class {n}" for n in c.classes))
    left.set_xlabel(f"times over what is asked [1]\nscrews of class {c.classes[0]}", fontsize=8)
    right.set_xlabel(f"times over asked [1]\n{c.woods[0]}", fontsize=8)
    stagehand.headline(left, f"By wood: {counted(by_wood, 1)}")
    stagehand.headline(right, f"By screw: {counted(by_class, 0)}")
    return drawing


def _needed(design: Any) -> float:
    """Clamp force that the worst handling load asks for [N]."""
    return float(np.max(forces_of(design).needed))


def plain_washer(design: Any, **clamp: Any) -> Any:
    """The same design with a plain washer under the clamp's head, no springs; other fields of the clamp as wanted."""
    return design.model_copy(update={"clamp": design.clamp.model_copy(update={"spring_rate": 0.0, **clamp})})


def wound_in(design: Any) -> tuple[float, float, float]:
    """How far the clamp's key winds in, how far the wood shrinks by the driest of the year [mm], preload left then [N]."""
    n = numbers(design, PartForces(0.0, 0.0), estimate=True)
    k = clamped(n)
    both = in_series(stiffness_1=k.screw, stiffness_2=k.wood)
    return float(n["preload"] / both), float(k.swelling * n["season_swing"]), float(preload_story(design).steps[4][2])


def _usual_rate(design: Any) -> float:
    """Rate of the design's disc springs [N/mm]; of soft ones, pressed by 3 mm, if it has none."""
    return float(design.clamp.spring_rate) or design.clamp.preload / 3


def preload_picture(design: Any) -> Figure:
    """The clamp's preload [N] on a plain washer and on disc springs: left alone for a year; the plain one turned again."""
    needed, plain = _needed(design), preload_story(plain_washer(design))
    sprung = preload_story(design, spring_rate=_usual_rate(design))
    drawing, (left, right) = stagehand.stage((1.0, 1.0))
    most = 1.75 * plain.preload
    for k, (story, said) in enumerate(((plain, "plain washer"), (sprung, f"disc springs, {_usual_rate(design):.0f} N/mm"))):
        seen = story.days <= YEAR / 4
        left.plot(story.days[seen], story.left[seen], label=said, **line_style(1 - k))
    left.set_xscale("log")
    left.set_xticks([1 / 24, 1, 7, 30, YEAR / 4], ["an hour", "a day", "a week", "a month", "dry\nseason"], minor=False)
    left.minorticks_off()
    for axes, where in ((left, 1 / 22), (right, 1.6)):
        axes.axhline(needed, color=COLOURS["stop"], lw=1.2, ls="--")
        axes.text(where, needed + 0.012 * most, "needed for handling", fontsize=8, color=COLOURS["stop"])
    stagehand.axes_of(left, "after the key was put down, in an even season", "preload left [N]", (1 / 26, YEAR / 3.6), (0, most))
    legend(left, "upper left")
    stagehand.headline(left, f"In the dry season {plain.steps[4][2]:.0f} N are left; on springs {sprung.steps[4][2]:.0f} N")
    highest = float(np.max(plain.kept[plain.days <= 3 * YEAR]))
    right.plot(plain.days / YEAR, plain.kept, label="plain washer, key turned again", **line_style(1))
    right.plot([day / YEAR for _, day in plain.turns], [plain.preload] * len(plain.turns), "v", color="black", ms=8, zorder=5,
               label="the key is turned")
    right.plot(sprung.days / YEAR, sprung.left, label="disc springs, left alone", **line_style(0))
    stagehand.axes_of(right, "years", "preload [N]", (0, 3), (0, 1.4 * max(highest, plain.preload)))
    legend(right, "upper right")
    stagehand.headline(right, f"Turned when dry: {highest:.0f} N when damp")
    return drawing


def contact_picture(design: Any) -> Figure:
    """Greatest pressure [MPa] of a ball over the force [N] by the kind of seat, and the lasting dent [mm] by class of screw."""
    n, _ = at_most_clamped(numbers(design, forces_of(design), estimate=True))
    worst, limit = float(np.max(n["seat_force"])), first_yield(yield_stress=n["pivot_yield"])
    own = [seat.kind for seat in seats_of(design)][-1]  # of a cone and a vee, the vee
    kinds = list(dict.fromkeys(("cup rim", "cone", own)))
    drawing, (left, right) = stagehand.stage((1.05, 0.95), 195.0, 96.0)
    force = np.geomspace(10, 5000, 80)
    left.plot(force, hertz_point(force=force, relative_radius=design.pivot.ball_radius, contact_modulus=steel_on_steel(n)).peak,
              label="flat, touched at one point", **line_style(0))
    for k, kind in enumerate(kinds):
        left.plot(force, seat_pressure(n, kind, force)[0], label=_TOUCH[kind], **line_style(k + 1))
    left.axvline(worst, color=COLOURS["guide"], lw=1)
    left.text(worst * 0.93, 112, "largest on\none seat", fontsize=8, ha="right")
    for value in (limit.point_limit, limit.line_limit):
        left.axhline(value, color=COLOURS["stop"], lw=1, ls=":")
    left.annotate("first yield", (10.5, min(limit)), (0, -2), textcoords="offset points", fontsize=8, va="top",
                  color=COLOURS["stop"])
    left.set_xscale("log")
    left.set_yscale("log")
    stagehand.axes_of(left, "force on one ball, along its seat [N]", "greatest pressure if nothing gave way [MPa]", (10, 5000),
                      (100, 60000))
    legend(left, "upper left")
    at = [f"{float(seat_pressure(n, k, worst)[0]):.0f} MPa in a {k}" for k in (own, "cup rim" if own == "cone" else "cone")]
    stagehand.headline(left, f"{worst:.0f} N: {at[0]}, {at[1]}")
    names = ("A2-70", "8.8", "10.9", "12.9")
    hard = np.array([class_numbers("pivot", c)[0]["pivot_hardness"] for c in names])
    place, wide = np.arange(len(names)), 0.8 / len(kinds)
    most = 1000 * DENT
    for k, kind in enumerate(kinds):
        values = 1000 * np.asarray(seat_dent(n, kind, worst, hard)[0])
        most = max(most, float(values.max()))
        bars = right.bar(place + (k - (len(kinds) - 1) / 2) * wide, values, 0.95 * wide, color=(ORANGE, BLUE, GREEN)[k],
                         hatch=("//", "", "..")[k], edgecolor="white", label=kind)
        right.bar_label(bars, [f"{x:.2g}" for x in values], fontsize=8, padding=2)
    right.axhline(1000 * DENT, color=COLOURS["stop"], lw=1.2, ls="--", label=f"allowed: {1000 * DENT:g}")
    right.set_xticks(place, names)
    stagehand.axes_of(right, "class of the seat screw", "ball sinks for good, at the most [mm/1000]", (-0.6, len(names) - 0.4),
                      (0, 1.6 * most))
    legend(right, "upper right")
    mine = float(seat_dent(n, own, worst, n["pivot_hardness"])[0])
    stagehand.headline(right, f"Class {design.pivot.strength_class}, {own}: dents {mine:.2g} mm at most")
    return drawing


def preload_sheet(design: Any) -> HandSheet:
    """Clamp preload [N], how far its disc springs are pressed, washer, depth of the block [mm], what may be missing [%]."""
    needed, forces = _needed(design), PartForces(0.0, 0.0)
    drawing, (chart,) = stagehand.stage((1.0,), 195.0, 92.0)
    most = 6500.0
    stagehand.axes_of(chart, "years", "preload of the clamp [N]", (0, 3), (0, most))
    chart.axhline(needed, color=COLOURS["stop"], lw=1.2, ls="--")
    chart.text(2.98, needed + 60, "needed for handling", fontsize=8, color=COLOURS["stop"], ha="right")
    for year in range(3):
        for part, season in ((0.25, "driest"), (0.75, "dampest")):
            chart.text(year + part, most * 0.985, season, fontsize=8, ha="center", va="top", color=COLOURS["text"])
    (alone,) = chart.plot([], [], label="left alone", **line_style(1))
    (kept,) = chart.plot([], [], label="key turned when due", **line_style(0))
    (due,) = chart.plot([], [], color=COLOURS["guide"], lw=1.2, ls=":", label="key due below this")
    (turns,) = chart.plot([], [], "v", color="black", ms=8, label="the key is turned")
    chart.legend(loc="upper center", bbox_to_anchor=(0.5, 0.95), ncols=4, fontsize=8.5, frameon=False)
    finding = stagehand.headline(chart)

    def rate(v: dict[str, float]) -> float:
        return v["preload"] / v["pressed"] if v["pressed"] > 0 else 0.0

    def story(v: dict[str, float]) -> PreloadStory:
        clamp = design.clamp.model_copy(update={"preload": v["preload"], "washer_diameter": v["washer"], "spring_rate": rate(v)})
        block = design.block.model_copy(update={"depth": v["depth"]})
        changed = design.model_copy(update={"clamp": clamp, "block": block})
        return preload_story(changed, forces=forces, loss=v["missing"] / 100)

    def update(v: dict[str, float]) -> str:
        s = story(v)
        seen = s.days <= 3 * YEAR
        years = s.days[seen] / YEAR
        alone.set_data(years, np.minimum(s.left[seen], 0.8 * most))
        kept.set_data(years, np.minimum(s.kept[seen], 0.8 * most))
        due.set_data([0, 3], [(1 - v["missing"] / 100) * s.preload] * 2)
        days = [day for _, day in s.turns if day <= 3 * YEAR]
        turns.set_data(np.array(days) / YEAR, np.full(len(days), s.preload))
        dry = float(s.steps[4][2])
        finding.set_text(f"Left alone, {dry:.0f} N of {s.preload:.0f} N are left in the first dry season")
        enough = "enough" if dry >= needed else "not enough"
        when = f"turn the key again {s.turns[0][0]}" if s.turns else "the key need not be turned again in ten years"
        return (f"Of {s.preload:.0f} N, {dry:.0f} N are left in the first dry season, {enough} for the handling loads "
                f"({needed:.0f} N); {when}. Key torque {s.torque[0] / 1000:.2f} N m greased, {s.torque[1] / 1000:.2f} N m dry.")

    c = design.clamp
    controls = [stagehand.slider("preload", "preload", float(c.preload), 300.0, 2000.0, 50.0, "N", "clamp.preload"),
                stagehand.slider("pressed", "springs pressed by (0: none)", c.preload / _usual_rate(design), 0.0, 5.0, 0.1,
                                 field=("clamp.spring_rate", rate)),
                stagehand.slider("washer", "washer's diameter", float(c.washer_diameter), 12.0, 30.0, 1.0,
                                 field="clamp.washer_diameter"),
                stagehand.slider("depth", "depth of the neck block", float(design.block.depth), 30.0, 90.0, 1.0,
                                 field="block.depth"),
                stagehand.slider("missing", "may be missing", 20.0, 5.0, 80.0, 5.0, "%")]
    return HandSheet(drawing, controls, [due, alone, kept, turns, finding], update, design=design)
