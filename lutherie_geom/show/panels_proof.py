"""Before the box is closed: what single errors leave on the test sheet, prototypes judged, and a sheet with hidden errors.

All patterns are drawn alike: a column for each reading, in it three dots for the turns of the tilt screw; their height is how far
the reading is off, as a part of how far off is still fine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from lutherie_geom.design.input_words import words_of
from lutherie_geom.shop.bench.proof import ProofSheet, proof_sheet
from lutherie_geom.shop.bench.verdict import ALIKE, WOOD, BenchVerdict, Off, pattern_over_turns
from lutherie_geom.shop.invented import Bench
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, VERMILLION

__all__ = ["HIDDEN", "patterns", "proof_sheet_panel", "sheet_table", "signature_picture", "verdict_picture"]

COLUMNS: Mapping[str, str] = {
    "straightedge.bridge": "straight-\nedge", "centre.bridge": "middle\naside", "floor.foot_bass": "floor\nbass",
    "floor.foot_treble": "floor\ntreble", "gap.end_bass": "gap end\nbass", "gap.end_treble": "gap end\ntreble",
    "gap.joint_bass": "gap joint\nbass", "gap.joint_treble": "gap joint\ntreble", "reveal.foot": "in the\npocket",
    "side.foot_bass": "side gap\nbass", "side.foot_treble": "side gap\ntreble"}
SPREAD = 0.3  # columns from the turn 0 to the turn that is furthest from it
TALL = 0.37  # rows that "just fine" takes
SEEN = 3.0  # a pattern shorter than this, in standard deviations of the readings, is not seen at all
HIDDEN: Mapping[str, tuple[str, float, str]] = {
    "pivot.z": ("seats too high by", 2.0, "mm"), "tilt_screw.head_x": ("tilt screw's head too far back by", 2.0, "mm"),
    "heel.yaw": ("ball heads out of square by", 1.5, "deg"), "tilt_screw.pitch": ("tilt screw's pitch too large by", 0.3, "mm"),
    "heel.floor_clearance": ("floor clearance too large by", 2.0, "mm")}
"""Errors with a slider: words, how far it goes, unit."""


def sheet_table(sheet: ProofSheet) -> None:
    """Show the test sheet as a table: what each reading should be at each turn, how far off is fine, what is left for later."""
    from IPython.display import display

    rows = [(*row, r.later.split(";")[-1].strip()) for row, r in zip(sheet.rows(), sheet.readings, strict=True)]
    head = ("tilt screw at", *(f"{turn_text(t)} turn" for t in sheet.turns), "once it is closed")
    lines = [head, ("---",) * len(head), *rows]
    text = "\n".join(f"| {' | '.join(row)} |" for row in lines)
    display({"text/markdown": text, "text/plain": text}, raw=True)


def _fine(bench: Bench, sheet: ProofSheet) -> np.ndarray:
    """How far off is fine [mm], a row of the bench each."""
    at = {r.key: k for k, r in enumerate(sheet.readings)}
    return np.array([sheet.fine[at[r.key], sheet.turns.index(t)] for r, t in bench.rows])


def _places(bench: Bench) -> np.ndarray:
    """Where a row's dot stands along the axis [columns]."""
    keys, most = list(COLUMNS), max((abs(t) for t in bench.turns), default=0.0) or 1.0
    return np.array([keys.index(r.key) + SPREAD * t / most for r, t in bench.rows])


def patterns(design: Any) -> tuple[list[tuple[tuple[str, ...], float, np.ndarray]], int]:
    """Groups of numbers that leave the same pattern: their names, the size of the first (in its unit) at which its worst reading
    is just fine, and that pattern as a part of what is fine, (rows,); and how many numbers are not seen at all.

    Two belong together when one, at the size that 95 in 100 stay within, explains the readings of the other to what the verdict
    takes for a tie.
    """
    sheet = proof_sheet(design)
    bench = Bench.of(design, sheet.turns)
    fine, none, sd = _fine(bench, sheet), bench.shown({}), np.hypot(bench.sd, WOOD)
    usual = {v.name: 2 * v.spread.standard_deviation for v in bench.spreads.variables(design.dimensions())}
    off = {n: bench.shown({n: size}) - none for n, size in usual.items()}
    length = {n: float(np.linalg.norm(o / sd)) for n, o in off.items()}
    groups: list[list[str]] = []
    for name in sorted((n for n in off if length[n] >= SEEN), key=lambda n: -length[n]):
        own = off[name] / sd
        for group in groups:
            first = off[group[0]] / sd
            if own @ own - (own @ first) ** 2 / (first @ first) < ALIKE:
                group.append(name)
                break
        else:
            groups.append([name])
    out = []
    for group in groups:
        part = off[group[0]] / fine
        worst = float(np.abs(part).max())
        out.append((tuple(group), usual[group[0]] / worst, part / worst))
    return out, sum(v < SEEN for v in length.values())


def _cells(axes: Axes, rows: int, labels: Sequence[str], size: float = 8.0) -> None:
    """Columns and rows of a chart of patterns, with what is fine in grey; ``size`` of the columns' words [points]."""
    n = len(COLUMNS)
    stagehand.axes_of(axes, "", "", (-0.55, n - 0.45), (rows - 0.45, -0.55))
    axes.set_xticks(range(n), list(COLUMNS.values()), fontsize=size)
    axes.set_yticks(range(rows), labels, fontsize=8)
    axes.grid(False)
    axes.tick_params(length=0)
    axes.xaxis.tick_top()
    for row in range(rows):
        for column in range(n):
            axes.fill_between([column - 0.42, column + 0.42], row - TALL, row + TALL, color="#E9E9E9", lw=0)
            axes.plot([column - 0.42, column + 0.42], [row, row], color=COLOURS["guide"], lw=0.6)


def _draw(axes: Axes, bench: Bench, part: np.ndarray, row: int, most: float = 1.2) -> None:
    """One pattern in its row: a line for each reading, dots for its turns, those past what is fine filled."""
    x, y = _places(bench), row - TALL * np.clip(part, -most, most)
    keys = np.array([r.key for r, _ in bench.rows])
    for key in COLUMNS:
        axes.plot(x[keys == key], y[keys == key], color=BLUE, lw=1.3)
    for bad, colour, mark in ((False, BLUE, "o"), (True, VERMILLION, "D")):
        here = (np.abs(part) > 1 + 1e-9) == bad
        axes.plot(x[here], y[here], mark, color=colour, mfc=colour if bad else "white", ms=4.5, zorder=4)


def _size(size: float, unit: str) -> str:
    return f"{np.degrees(size):.2f} deg" if unit == "rad" else f"{size:.2f} {unit}"


def signature_picture(design: Any) -> Figure:
    """What each single error leaves on the test sheet, drawn at the size at which its worst reading is just fine."""
    groups, unseen = patterns(design)
    bench = Bench.of(design, proof_sheet(design).turns)
    unit = {v.name: v.spread.unit for v in bench.spreads.variables(design.dimensions())}
    drawing, (axes,) = stagehand.stage((1.0,), 240.0, 26.0 + 13.0 * len(groups))
    labels = [_label(names, _size(size, unit[names[0]])) for names, size, _ in groups]
    _cells(axes, len(groups), labels)
    for row, (_, _, part) in enumerate(groups):
        _draw(axes, bench, part * (1 - 1e-12), row)
    seen = sum(len(names) for names, _, _ in groups)
    stagehand.headline(axes, f"{seen} numbers that may be off leave {len(groups)} patterns; {unseen} more leave none: "
                             "measure those on the parts\n(each drawn at the size from which a reading is too far off)")
    return drawing


def _label(names: tuple[str, ...], size: str) -> str:
    """Words of a group, with the size of its first."""
    first = f"{words_of(names[0])}: from {size}"
    twins = [words_of(n) for n in names[1:4]]
    lines = [first, *(f"or {w}" for w in twins[:2])]
    return "\n".join(lines) + (f", or {len(names) - 3} more" if len(names) > 3 else "")


def _parts(v: BenchVerdict, bench: Bench) -> np.ndarray:
    of = {(o.reading.key, o.tilt): o.off / o.fine for o in v.offs}
    return np.array([of.get((r.key, t), np.nan) for r, t in bench.rows])


def verdict_picture(found: Mapping[str, BenchVerdict]) -> Figure:
    """Prototypes by name, each with its verdict: how far each reading is off, against what is fine; further off than 1.2 times
    that is drawn at 1.2."""
    first = next(iter(found.values()))
    bench = Bench.of(first.sheet.design, first.sheet.turns)
    drawing, (axes,) = stagehand.stage((1.0,), 225.0, 30.0 + 27.0 * len(found))
    _cells(axes, len(found), [f"{name}:\n{v.words}" for name, v in found.items()])
    for row, v in enumerate(found.values()):
        _draw(axes, bench, _parts(v, bench), row)
    closed = sum(v.close for v in found.values())
    alone = sum(bool(v.mend) and all(o.ok for o in v.offs) for v in found.values())
    stagehand.headline(axes, f"{closed} of {len(found)} prototypes may be closed; "
                             f"{sum(not o.ok for v in found.values() for o in v.offs)} readings are too far off (filled)"
                             + (f"; {alone} is refused for its pattern alone" if alone else ""))
    axes.set_xlabel("three turns of the tilt screw in each column, -, 0, +; height: off by, up is high; grey: fine")
    return drawing


def proof_sheet_panel(design: Any) -> HandSheet:
    """Hidden errors [mm, deg] and the scatter of the gauges [times]: the pattern of the readings, what any single error would
    explain of it [%], and the verdict on the readings. Exact joint at every step; scatter is one fixed draw."""
    sheet = proof_sheet(design)
    bench = Bench.of(design, sheet.turns)
    fine, sd, none = _fine(bench, sheet), np.hypot(bench.sd, WOOD), bench.shown({})
    noise = bench.sd * np.random.default_rng(4).standard_normal(len(bench.sd))
    groups, _ = patterns(design)
    shapes = np.array([part * fine / sd for _, _, part in groups])
    shapes /= np.linalg.norm(shapes, axis=1)[:, None]
    drawing, (left, right) = stagehand.stage((2.75, 1.0), 255.0, 98.0)
    keys = np.array([r.key for r, _ in bench.rows])
    _cells(left, 1, [""], 7.5)
    left.set_ylim(0.85, -0.85)
    left.set_yticks([k * -TALL for k in (-2, -1, 0, 1, 2)], ["-2", "-1", "0", "+1", "+2"])
    left.set_ylabel("off by, as a part of what is fine")
    x = _places(bench)
    lines: list[Line2D] = [left.plot([], [], color=BLUE, lw=1.3)[0] for _ in COLUMNS]
    (good,) = left.plot([], [], "o", color=BLUE, mfc="white", ms=5, zorder=4)
    (bad,) = left.plot([], [], "D", color=VERMILLION, ms=5, zorder=4)
    finding = stagehand.headline(left)
    stagehand.axes_of(right, "one error alone explains [%]", "", (0, 100), (len(groups) - 0.4, -0.6))
    right.set_yticks(range(len(groups)), [_short(names) for names, _, _ in groups], fontsize=8)
    bars = right.barh(range(len(groups)), np.zeros(len(groups)), 0.6, color=BLUE)
    nearest = stagehand.headline(right)

    def update(v: dict[str, float]) -> str:
        errors = {n.replace("__", "."): np.radians(s) if n == "heel__yaw" else s for n, s in v.items() if n != "scatter" and s}
        off = bench.shown(errors) - none + v["scatter"] * noise
        part = off / fine
        y = -TALL * np.clip(part, -2.1, 2.1)
        for line, key in zip(lines, COLUMNS, strict=True):
            line.set_data(x[keys == key], y[keys == key])
        far = np.abs(part) > 1
        good.set_data(x[~far], y[~far])
        bad.set_data(x[far], y[far])
        w = off / sd
        share = 100 * (shapes @ w) ** 2 / max(float(w @ w), 1e-12)
        best = int(np.argmax(share))
        for k, (bar, value) in enumerate(zip(bars, share, strict=True)):
            bar.set(width=value, facecolor=ORANGE if k == best and share[best] > 1 else BLUE, hatch="//" if k == best else "")
        offs = [Off(r, t, n + o, n, f, s) for (r, t), n, o, f, s in zip(bench.rows, none, off, fine, bench.sd, strict=True)]
        pattern, otherwise = pattern_over_turns(design, offs, sheet.system)
        words = "mend this first" if far.any() or otherwise or sheet.no_room else "close it"
        finding.set_text(f"{words[0].upper()}{words[1:]}: {far.sum()} of {len(far)} readings too far off")
        name = words_of(groups[best][0][0])
        nearest.set_text(f"The nearest explains {share[best]:.0f} %" if share[best] > 1 else "Nothing to explain")
        said = f"looks most like {name}, {share[best]:.0f} %" if share[best] > 1 else "nothing to explain"
        return f"{words[0].upper()}{words[1:]}. {far.sum()} of {len(far)} readings too far off; {said}. {pattern}"

    controls = [stagehand.slider(n.replace(".", "__"), words, 0.8 if n == "pivot.z" else 0.0, -most, most, most / 20, unit)
                for n, (words, most, unit) in HIDDEN.items()]
    controls.append(stagehand.slider("scatter", "scatter of the gauges", 0.0, 0.0, 2.0, 0.5, "times"))
    return HandSheet(drawing, controls, [*lines, good, bad, *bars, finding, nearest], update)


def _short(names: tuple[str, ...]) -> str:
    return words_of(names[0]) + (f" (+{len(names) - 1})" if len(names) > 1 else "")
