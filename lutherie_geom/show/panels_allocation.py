"""How loose may the rest be: the cheapest processes that keep a yield, what they cost, and the price of one more per cent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lutherie_geom.design.input_words import words_of
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.panels_yield import windowed
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, LOOK, ORANGE, legend
from lutherie_geom.studies.allocation import AllocationError, Problem, allocate, price_curve
from lutherie_geom.studies.allocation_design import problem_for
from lutherie_geom.studies.allocation_result import Allocation
from lutherie_geom.studies.setup import limits_of

__all__ = ["Menu", "allocation_picture", "allocation_sheet", "menu"]

YIELDS = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98)
GAPS = (0.1, 0.5, 0.9)  # mm that must be left under the tongue
HALVES = (0.5, 0.75, 1.0)  # mm, half window of the action
SAMPLES, CUT = 2**10, 60  # enough to choose by; the set chosen is then judged on the whole joint


@dataclass(frozen=True)
class Menu:
    """The cheapest sets of processes, rising in cost: ``turned`` by the least gap [mm] that must be left, the screws being at
    their best; ``still`` by half the action's window [mm], the neck staying as it was put together. ``best_still``: the yield [1]
    of everything at its tightest. ``names``: inputs with a choice; ``offered`` (names, processes): who makes what."""

    names: tuple[str, ...]
    processes: tuple[str, ...]
    offered: np.ndarray
    turned: Mapping[float, Sequence[Allocation]]
    still: Mapping[float, Sequence[Allocation]]
    best_still: Mapping[float, float]

    def places(self, found: Allocation | None) -> tuple[list[int], list[int]]:
        """Columns (processes) and rows (inputs) of a set's choices."""
        rows = range(len(self.names)) if found is not None else range(0)
        return [self.processes.index(found[self.names[r]].process) for r in rows if found is not None], list(rows)


def _sets(problem: Problem) -> list[Allocation]:
    found: list[Allocation] = []
    for share in YIELDS:
        if found and found[-1].straight >= share:
            continue  # the cheapest for less is the cheapest for this, too
        try:
            found.append(allocate(problem, share, cut=CUT))
        except AllocationError:
            break
    return found


def _first(found: Sequence[Allocation], share: float) -> Allocation | None:
    """The cheapest set that keeps the share [1], if one does."""
    return next((a for a in found if a.straight >= share), None)


def _narrowed(problem: Problem, half: float) -> Problem:
    """The same neck as put together, both windows of the action ``half`` [mm] either way about their middles."""
    w = problem.windows
    action = np.array([name.startswith("action") for name in w.names])
    middle = (w.low + w.high) / 2  # infinite where there is one limit only: never an action
    low, high = np.where(action, middle - half, w.low), np.where(action, middle + half, w.high)
    return replace(problem, windows=replace(w, low=low, high=high))


def menu(design: Any, gaps: Sequence[float] = GAPS, halves: Sequence[float] = HALVES) -> Menu:
    """The cheapest sets of a design for gaps that must be left and for windows ± of the action [mm], by the straight line."""
    limits = limits_of(design)
    turned = {g: problem_for(design, limits=limits.model_copy(update={"least_gap": g}), samples=SAMPLES) for g in gaps}
    first = problem_for(design, limits=windowed(limits, max(halves)), samples=SAMPLES, set_up=False)
    still = {h: _narrowed(first, h) for h in halves}
    chosen = [(n, o) for n, o in zip(first.names, first.options, strict=True) if isinstance(o, tuple) and len(o) > 1]
    # From the process that makes most of them to the special ones.
    made = [c.process for _, o in chosen for c in o]
    processes = tuple(sorted(dict.fromkeys(made), key=lambda p: -made.count(p)))
    offered = np.array([[p in {c.process for c in o} for p in processes] for _, o in chosen])
    return Menu(tuple(n for n, _ in chosen), processes, offered, {g: _sets(p) for g, p in turned.items()},
                {h: _sets(p) for h, p in still.items()}, {h: price_curve(p, (0.01,), cut=CUT).best for h, p in still.items()})


def _dot_chart(axes: Axes, m: Menu) -> tuple[Any, Any]:
    """Inputs down, processes across, a small dot where a process can make an input; the marks of two sets, still empty."""
    y, x = np.nonzero(m.offered)
    axes.plot(x, y, ".", color="#B5B5B5", ms=5, label="possible")
    (still,) = axes.plot([], [], "s", mfc="none", mec=ORANGE, mew=1.8, ms=9, label="as put together")
    (turned,) = axes.plot([], [], "D", color=BLUE, ms=5, label="turned")
    stagehand.axes_of(axes, "", "", (-0.6, len(m.processes) - 0.4), (len(m.names) - 0.4, -2.3))
    axes.set_yticks(range(len(m.names)), [words_of(n) for n in m.names])
    axes.set_xticks(range(len(m.processes)), list(m.processes), rotation=40, ha="right", rotation_mode="anchor")
    with rc_context(LOOK):  # in a row over the marks, which fill the rest
        row = axes.legend(loc="upper left", ncols=3, handletextpad=0.3, columnspacing=1.0, borderaxespad=0.2)
    row.set_in_layout(False)  # or it would press the axes together
    return turned, still


def allocation_picture(m: Menu, share: float = 0.7, half: float = 0.5) -> Figure:
    """Cost [min] over yield [in 100] with and without the screws, and who makes what when the ``share`` [1] is wanted."""
    drawing, (left, right) = stagehand.stage((0.9, 1.0), 225.0, 125.0)
    for values, sets, colour, mark, words in (
            ((half, max(m.still)), m.still, ORANGE, "s", "as put together, window ± {:g} mm"),
            ((min(m.turned), max(m.turned)), m.turned, BLUE, "D", "screws turned, {:g} mm of gap left")):
        for value, dash in zip(values, ((0, (6, 2)), "-"), strict=True):
            left.plot([100 * a.straight for a in sets[value]], [a.cost for a in sets[value]], color=colour, marker=mark, ls=dash,
                      mfc="white" if mark == "s" else colour, ms=5.5, label=words.format(value))
    stagehand.axes_of(left, "yield [instruments in 100]", "work on one joint [min]", (25, 103), (0, 420))
    with rc_context(LOOK):
        left.legend(loc="lower left", handlelength=3.2)  # long enough to show the dashes
    one, other = _first(m.turned[min(m.turned)], share), _first(m.still[half], share)
    said = [f"{a.cost:.0f} min" if a else "not to be had" for a in (one, other)]
    stagehand.headline(left, f"{100 * share:.0f} in 100: {said[0]} with the screws, {said[1]} without")
    for a in m.still[half][-2:]:
        if a.price == a.price:
            left.annotate(f"one more in 100:\n{a.price:.0f} min", (100 * a.straight, a.cost), textcoords="offset points",
                          xytext=(-12, 6), ha="right", fontsize=8.5)
    turned, still = _dot_chart(right, m)
    turned.set_data(*m.places(one))
    still.set_data(*m.places(other))
    hand = sum(one[n].process in ("hand tools", "as bought") for n in m.names) if one else 0
    stagehand.headline(right, f"With the screws {hand} of {len(m.names)} by hand or as bought")
    return drawing


def allocation_sheet(m: Menu) -> HandSheet:
    """Yield wanted [in 100], window and gap [mm], prices of an hour and of a joint that misses: who makes what, what it costs."""
    drawing, (chart, money) = stagehand.stage((1.15, 0.85), 225.0, 125.0)
    turned, still = _dot_chart(chart, m)
    stagehand.axes_of(money, "yield of a set [instruments in 100]", "work and misses, a joint [your money]", (35, 103), (0, 500))
    looks = ((m.turned, BLUE, "D", "-", "screws turned"), (m.still, ORANGE, "s", (0, (5, 2)), "as put together"))
    lines = [money.plot([], [], color=c, marker=mark, ms=5, mfc=c if mark == "D" else "white", ls=dash, label=words)[0]
             for _, c, mark, dash, words in looks]
    (rings,) = money.plot([], [], "o", mfc="none", mec=COLOURS["text"], mew=1.5, ms=13, ls="", label="chosen for this yield")
    wanted_line = money.axvline(70, color=COLOURS["guide"], lw=1)
    legend(money, "upper left")
    finding, spent = stagehand.headline(chart), stagehand.headline(money)

    def nearest(sets: Mapping[float, Sequence[Allocation]], value: float) -> float:
        return min(sets, key=lambda k: abs(k - value))

    def update(v: dict[str, float]) -> str:
        keys = nearest(m.turned, v["gap"]), nearest(m.still, v["half"])
        chosen, said, marks = [], [], []
        for line, (sets, *_), key, words in zip(lines, looks, keys, ("turned", "as put together"), strict=True):
            found = sets[key]
            share = np.array([a.straight for a in found])
            work = np.array([a.cost for a in found]) * v["hour"] / 60
            total = work + (1 - share) * v["miss"]
            line.set_data(100 * share, total)
            a = _first(found, v["share"] / 100)
            chosen.append(a)
            if a is None:
                best = 100 * m.best_still[key] if words == "as put together" else 100 * max(share, default=0.0)
                said.append(f"{words} it cannot be had, {best:.0f} in 100 at the best")
                continue
            k = found.index(a)
            marks.append((100 * share[k], total[k]))
            said.append(f"{words} {a.cost:.0f} min or {work[k]:.0f} of your money for {100 * share[k]:.0f} in 100, and "
                        f"{(1 - share[k]) * v['miss']:.0f} for misses")
        turned.set_data(*m.places(chosen[0]))
        still.set_data(*m.places(chosen[1]))
        rings.set_data([x for x, _ in marks], [y for _, y in marks])
        wanted_line.set_xdata([v["share"]] * 2)
        minutes = [f"{a.cost:.0f} min" if a else "none" for a in chosen]
        finding.set_text(f"{v['share']:.0f} in 100 wanted: turned {minutes[0]}, as put together {minutes[1]}")
        spent.set_text(f"Gap left {keys[0]:g} mm, window ± {keys[1]:g} mm")
        return f"Wanted {v['share']:.0f} in 100: {said[0]}; {said[1]}."

    gaps, halves = sorted(m.turned), sorted(m.still)
    controls = [stagehand.slider("share", "yield wanted", 70, 50, 98, 1, "in 100"),
                stagehand.slider("gap", "gap that must be left (turned)", gaps[0], gaps[0], gaps[-1],
                                 round(gaps[1] - gaps[0], 3)),
                stagehand.slider("half", "window ± (as put together)", halves[1], halves[0], halves[-1],
                                 round(halves[1] - halves[0], 3)),
                stagehand.slider("hour", "an hour costs", 40, 10, 60, 5, "money"),
                stagehand.slider("miss", "a joint that misses costs", 300, 0, 600, 20, "money")]
    return HandSheet(drawing, controls, [turned, still, *lines, rings, wanted_line, finding, spent], update)
