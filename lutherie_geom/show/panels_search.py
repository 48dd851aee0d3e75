"""Search: the front of fair trades with the present design on it, what to change first, and a sheet to move the pivot by hand."""

from __future__ import annotations

import textwrap
from functools import partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, GREEN, ORANGE, legend
from lutherie_geom.studies.search_aims import AIMS, Aim, read_aims, read_coupling
from lutherie_geom.studies.search_space import HOMES, drawn, possible, present, spaces, spread_over
from lutherie_geom.studies.searching import Search, non_dominated

__all__ = ["changes_picture", "front_picture", "pivot_sheet"]

_SHORT = {"step": "step of the action, 1/16 turn", "travel": "travel of the action", "coupled": "coupling of the screws",
          "steer": "nut end aside, 1/16 turn", "length": "string length per mm of action", "reveal": "heel in the pocket",
          "force": "force on the tilt screw", "clamp": "clamp force needed", "seats": "force on a pivot screw",
          "gap": "gap under the tongue"}
_COUNTS = 0.005  # parts of the front's spread that are worth a word
_MARKS = (("the design now", "*", 17, COLOURS["highlight"]), ("compromise", "D", 9, ORANGE),
          ("better in some, worse in none", "s", 9, GREEN))


def _label(a: Aim) -> str:
    return f"{_SHORT[a.key]} [{a.unit}]" if a.unit else _SHORT[a.key]


def _cloud(axes: Axes, found: Search, x: str, y: str) -> tuple[int, int]:
    """Points of the front in two of its aims, with those that no other betters in these two alone; the aims' places."""
    keys = [a.key for a in found.aims]
    i, j = keys.index(x), keys.index(y)
    axes.plot(found.readings[i], found.readings[j], ".", ms=3.5, color="#9DB7C9", label="front of all aims", zorder=2)
    two = non_dominated(found.signs[[i, j], None] * found.readings[[i, j]])
    edge = found.readings[:, two][[i, j]]
    edge = edge[:, np.argsort(edge[0])]
    axes.plot(*edge, "-", color=BLUE, lw=1.8, label="front of these two", zorder=3)
    ends = np.concatenate([found.readings[[i, j]], found.now[[i, j], None]], axis=1)
    low, high = ends.min(axis=1), ends.max(axis=1)
    room = 0.07 * (high - low)
    stagehand.axes_of(axes, _label(found.aims[i]), _label(found.aims[j]), (low[0] - room[0], high[0] + room[0]),
                      (low[1] - room[1], high[1] + room[1]))
    for k, axis in ((i, "x"), (j, "y")):
        better = "less is better" if found.aims[k].sign > 0 else "more is better"
        (axes.set_xlabel if axis == "x" else axes.set_ylabel)(f"{_label(found.aims[k])}, {better}")
    return i, j


def front_picture(found: Search, pairs: tuple[tuple[str, str], ...]) -> Figure:
    """The front in pairs of its aims, by their keys, with the present design, the compromise and what loses nothing."""
    drawing, columns = stagehand.stage((1.0,) * len(pairs), 112.0 * len(pairs), 96.0)
    places = [found.compromise] if found.free_gain is None else [found.compromise, found.free_gain]
    for axes, (x, y) in zip(columns, pairs, strict=True):
        i, j = _cloud(axes, found, x, y)
        spots = [found.now[[i, j]], *(found.readings[[i, j], k] for k in places)]
        for at, (words, mark, size, colour) in zip(spots, _MARKS, strict=False):
            axes.plot(*at, mark, ms=size, mfc=colour, mec="black", mew=1.0, ls="", label=words, zorder=5)
    n = int(found.better.sum())
    stagehand.headline(columns[0], "The design lies on the front" if found.on_front else
                       f"{n} of {found.values.shape[1]} trades better the design and lose in none of the aims" if n > 1 else
                       f"One of {found.values.shape[1]} trades betters the design and loses in none of the aims")
    legend(columns[0], "best")
    if len(columns) > 1:
        stagehand.headline(columns[1], f"{found.looked[0] - found.looked[1]} joints that can be built, looked at from two sides")
    return drawing


def changes_picture(found: Search) -> Figure:
    """A small change of every free dimension, the way that gains, and what each aim gains or loses by it: exact slopes."""
    changes = [c for c in found.changes if np.abs(c.gains).max() >= _COUNTS] or list(found.changes)
    drawing, (axes,) = stagehand.stage((1.0,), 215.0, 30.0 + 10.0 * len(changes))
    gains = np.array([c.gains for c in changes])
    top = float(np.abs(gains).max()) or 1.0
    axes.imshow(gains, cmap="PuOr", vmin=-top * 2.2, vmax=top * 2.2, aspect="auto")
    for i, c in enumerate(changes):
        moved = found.slopes[:, found.free.index(c.free)] * (c.to - c.start)
        for j, (value, gain) in enumerate(zip(moved, c.gains, strict=True)):
            if abs(gain) >= _COUNTS:
                axes.text(j, i, f"{'better' if gain > 0 else 'worse'}\n{value:+.2g} {found.aims[j].unit}".rstrip(), ha="center",
                          va="center", fontsize=8)
    axes.set_yticks(range(len(changes)), [f"{c.free.words.partition(',')[0]}:\n{_way(c)}, {c.start:.3g} to {c.to:.3g}"
                                          for c in changes])
    axes.set_xticks(range(len(found.aims)), [textwrap.fill(_SHORT[a.key], 16) for a in found.aims])
    axes.tick_params(top=True, labeltop=True, bottom=False, labelbottom=False, length=0)
    axes.grid(False)
    first = changes[0]
    stagehand.headline(axes, f"Change first: {first.free.words.partition(',')[0]}, {_way(first)} ({first.start:.3g} to "
                             f"{first.to:.3g} {first.free.unit})")
    return drawing


def _way(change: Any) -> str:
    return str(change.free.more if change.to > change.start else change.free.less)


def pivot_sheet(design: Any, found: Search, pairs: tuple[tuple[str, str], tuple[str, str]] = (("step", "coupled"),
                                                                                             ("length", "force"))) -> HandSheet:
    """Move the free dimensions [mm, mm/turn] and watch the design wander over the front of a search in two pairs of its aims.

    Whether a joint can be built is asked at rest. What the sliders say can be kept in a design file.
    """
    free, base = spaces(None), design.dimensions()
    start = present(free, base)
    keys = [k for pair in pairs for k in pair]
    aims = tuple(a for a in AIMS if a.key in keys and a.key != "travel")
    drawing, columns = stagehand.stage((1.0, 1.0), 215.0, 92.0)
    at, points, trails = [], [], []
    for axes, pair in zip(columns, pairs, strict=True):
        i, j = _cloud(axes, found, *pair)
        axes.plot(*found.now[[i, j]], "*", ms=15, mfc="white", mec="black", label="the design as drawn", zorder=4)
        (trail,) = axes.plot([], [], color="black", lw=1.0, zorder=4)
        (point,) = axes.plot([], [], "o", ms=10, mfc=COLOURS["highlight"], mec="black", zorder=6)
        at.append((i, j))
        points.append(point)
        trails.append(trail)
    legend(columns[0], "best")
    finding = stagehand.headline(columns[0])
    own = [[a.key for a in aims].index(k) for k in keys]
    stagehand.headline(columns[1], "dots: the front of the search")

    def update(v: dict[str, float]) -> str:
        values = np.array([v[f.key] for f in free])
        with np.errstate(invalid="ignore"):
            d = spread_over(base, free, values[:, None])
            r, seen = read_aims(design, d, aims)[:, 0], read_coupling(d)
        fits = bool(possible(design, free, values[:, None], at_rest=True)[0])
        for k, (point, trail) in enumerate(zip(points, trails, strict=True)):
            here, was = r[own[2 * k:2 * k + 2]], found.now[list(at[k])]
            point.set_data(here[:1], here[1:])
            point.set_markerfacecolor(COLOURS["highlight"] if fits else "white")
            trail.set_data(*np.stack([was, here], axis=1))
        finding.set_text("Can be built" if fits else "Can't be built: wood or room is missing")
        told = "; ".join(f"{_SHORT[a.key]} {x:.3g} {a.unit}".rstrip() for a, x in zip(aims, r, strict=True))
        pulls = f"A pivot screw moves a string by {seen.other[0]:.3f} mm, the tilt screw the same by {seen.own[0]:.3f} mm."
        return f"{told}. {pulls}{'' if fits else ' This joint cannot be built.'}"

    steps = {"pitch_tilt": 0.05, "pitch_pivot": 0.05, "gap": 0.1, "clearance": 0.1}
    wanted = ("height", "depth", "arm", "spacing", "pitch_tilt", "pitch_pivot")
    shown = [f for f in free if f.key in wanted]
    rest = {f.key: float(s) for f, s in zip(free, start, strict=True) if f.key not in wanted}

    def text(home: tuple[str, str], v: dict[str, float]) -> str:
        part, field = home
        return stagehand.mm(getattr(getattr(drawn(design, free, np.array([{**rest, **v}[f.key] for f in free])), part), field))

    controls = [stagehand.slider(f.key, f.words.partition(",")[0], float(s), f.low, f.high, steps.get(f.key, 0.5), f.unit,
                                 field=tuple((".".join(HOMES[k]), partial(text, HOMES[k])) for k in f.moves))
                for f, s in zip(free, start, strict=True) if f in shown]
    return HandSheet(drawing, controls, [*trails, *points, finding], lambda v: update({**rest, **v}), design=design)
