"""The order of work: a chart with points of no return, the cutter round standing screws, the key through the soundhole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from lutherie_geom.shop.order.access import (
    Box,
    Cutter,
    Meeting,
    Standing,
    box_of,
    floor_path,
    meetings,
    outline_path,
    path_half,
    standing,
)
from lutherie_geom.shop.order.keys import GRIP, WORDS, Hand, KeyWay, free_swing, key_way, key_ways, socket_of
from lutherie_geom.shop.order.order import Plan
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, SERIES, legend
from lutherie_geom.theory.access import least_turn

__all__ = ["access_sheet", "cutter_picture", "key_picture", "mending_picture", "order_picture", "swing_picture"]

_ROUND = np.linspace(0, 2 * np.pi, 73)
_SHOWN = ("tilt_screw", "pivot_bass")


def order_picture(plan: Plan) -> Figure:
    """Each operation at its step, the steps at which it could stand, and the points of no return (step numbers, no unit)."""
    drawing, (axes,) = stagehand.stage((1.0,), 205.0, 145.0)
    order, n = plan.order, len(plan.order)
    lines: dict[int, list[str]] = {}
    for part in plan.no_return():
        lines.setdefault(part.step, []).append(part.part)
    for k, name in enumerate(order, 1):
        early, late = plan.windows[name]
        axes.plot([early - 0.3, late + 0.3], [k, k], color=COLOURS["gap"], lw=7, solid_capstyle="butt", zorder=1,
                  label="steps at which it could stand" if k == 1 else None)
        axes.plot([k], [k], "s" if k in lines else "o", color=COLOURS["stop" if k in lines else "string"], ms=6, zorder=3)
    for count, (k, parts) in enumerate(sorted(lines.items())):
        axes.plot([k + 0.5] * 2, [0, n + 1], color=COLOURS["stop"], lw=1.2, ls="--", zorder=2,
                  label="point of no return (square)" if count == 0 else None)
        # Early lines are named below the dots, late ones above: there the chart is empty. The last is named to its right.
        last = count == len(lines) - 1
        axes.text(k + (0.7 if last else 0.3), 0.72 * n if k < n / 2 else 0.08 * n, f"{', '.join(parts)}\nlocked in",
                  fontsize=8.5, color=COLOURS["stop"], ha="left" if last else "right", va="center")
    axes.plot([], [], "o", color=COLOURS["string"], ms=6, label="where the plan puts it")
    stagehand.axes_of(axes, "step", "", (0.3, n + 0.9), (n + 0.8, 0.2))
    axes.set_yticks(range(1, n + 1), [f"{plan.words(name)}  {k}" for k, name in enumerate(order, 1)])
    axes.set_xticks(range(2, n + 1, 2))
    fixed = sum(early == late for early, late in plan.windows.values())
    captive = next((x.step for x in plan.no_return() if x.part == "tilt screw"), None)
    tail = f";\nthe tilt screw is captive from step {captive}" if captive else ""
    stagehand.headline(axes, f"Of {n} steps {fixed} can stand nowhere else{tail}")
    axes.legend(loc="lower left", frameon=True, framealpha=1.0, edgecolor="white", fontsize=8.5)
    return drawing


def mending_picture(plan: Plan, order: Sequence[str]) -> Figure:
    """A builder's own order on the left, the least change on the right: what moves is red (step numbers, no unit)."""
    fault, mended = plan.check(order), plan.mend(order)
    drawing, (axes,) = stagehand.stage((1.0,), 205.0, 130.0)
    moved, n = {m.operation for m in mended.moves}, len(order)
    for k, name in enumerate(order, 1):
        now = mended.order.index(name) + 1
        red = name in moved
        axes.plot([0, 1], [k, now], color=COLOURS["stop"] if red else COLOURS["guide"], lw=2.5 if red else 0.9,
                  ls="-" if red else (0, (6, 2)), zorder=3 if red else 1)
        trouble = fault is not None and name == fault.operation
        for x, at, side in ((-0.03, k, "right"), (1.03, now, "left")):
            words = f"{plan.words(name)}  {at}" if side == "right" else f"{at}  {plan.words(name)}"
            axes.text(x, at, ("✗ " if trouble and side == "right" else "") + words, ha=side, va="center", fontsize=8,
                      in_layout=False, color=COLOURS["stop"] if red else COLOURS["text"], weight="bold" if red else "normal")
    axes.set(xlim=(-2.3, 3.3), ylim=(n + 0.7, -1.2))
    axes.axis("off")
    axes.text(-0.03, -0.1, "as written down (✗: cannot be done)", ha="right", fontsize=8.5, in_layout=False)
    axes.text(1.03, -0.1, "mended", ha="left", fontsize=8.5, in_layout=False)
    step = f"Step {fault.step} cannot be done" if fault else "Every step can be done"
    stagehand.headline(axes, f"{step}; {len(mended.moves)} of {n} operations must move")
    return drawing


def _circle(s: Standing, diameter: float) -> np.ndarray:
    return np.column_stack([s.y + diameter / 2 * np.cos(_ROUND), s.z + diameter / 2 * np.sin(_ROUND)])


def _face(axes: Axes, design: Any, top: float = 36.0) -> None:
    """The joint face up to a height [mm]: limits, the heel's outline."""
    h = design.heel
    axes.set_aspect("equal", adjustable="box")
    stagehand.axes_of(axes, "across, to treble [mm]", "height [mm]", (-38, 38), (h.foot_z - 12, top))
    axes.plot([-h.half_width_top, -h.half_width_foot, h.half_width_foot, h.half_width_top], [0, h.foot_z, h.foot_z, 0],
              color=COLOURS["neck"], lw=1.5, label="heel")


def _swept(design: Any, bit: float) -> np.ndarray:
    """Outline of what the bit takes along the pocket's outline [mm]: between the outline and a path twice as far in."""
    low = design.heel.foot_z - design.pocket.side_gap + bit
    over, under = (float(path_half(design, z, 2 * bit)) for z in (0.0, low))
    if under < 0:  # the two passes along the cheeks meet above the foot
        low, under = low * over / (over - under), 0.0
    inner = np.array([[over, 0.0], [under, low], [-under, low], [-over, 0.0]])
    return np.concatenate([outline_path(design, 0.0), inner])


def _passes(m: Meeting) -> str:
    """How the router passes the tilt screw, in a few words."""
    if m.bit < 0:
        return f"meets the tilt screw, {-m.bit:.1f} mm too near"
    return f"the bit clears the tilt screw by {m.bit:.1f} mm,\n{m.part} meets it" if m.meets else "clears the tilt screw"


def cutter_picture(design: Any, bit: float = 12.0) -> Figure:
    """The joint face with the path of a ``bit`` [mm], along the outline only and over the whole floor, and standing screws."""
    drawing, both = stagehand.stage((1.0, 1.0), 190.0, 125.0)
    for axes, whole, words in ((both[0], False, "along the outline"), (both[1], True, "over the whole floor")):
        _face(axes, design)
        cutter = Cutter(bit=bit, bush=bit + 5, whole_floor=whole)
        path = (floor_path if whole else outline_path)(design, bit)
        axes.plot(path[:, 0], path[:, 1], color=COLOURS["screw"], lw=1.2, label="path of the bit's centre")
        found = meetings(design, cutter, ("tilt_screw", "pivot"))
        for m in found:
            s = m.standing
            axes.add_patch(Circle((s.y, s.z), s.diameter / 2, color=COLOURS["string"], zorder=4))
            axes.plot(*_circle(s, s.diameter + bit).T, color=COLOURS["stop"], ls="--", lw=1.3, zorder=3,
                      label="no bit's centre in here" if m is found[0] else None)
        stagehand.headline(axes, f"{bit:g} mm bit {words}:\n{_passes(found[0])}")
    legend(both[0], "upper center")
    return drawing


class _Side:
    """The box cut along the middle, seen from the bass side; what moves as ``artists``; lengths in mm."""

    def __init__(self, axes: Axes, design: Any, box: Box, screws: Sequence[str] = _SHOWN) -> None:
        self.design, self.screws = design, screws
        axes.set_aspect("equal", adjustable="box")
        stagehand.axes_of(axes, "along the body, to the tail [mm]", "height over the top [mm]", (-12, 272), (-box.depth - 10, 40))
        block = design.block.depth
        axes.fill([0, block, block, 0], [-box.top, -box.top, -box.depth + box.back, -box.depth + box.back],
                  color=COLOURS["body"], alpha=0.15, lw=0)
        axes.text(2, -52, "neck block", fontsize=8, color=COLOURS["body"])
        axes.fill([0, 272, 272, 0], [-box.depth, -box.depth, -box.depth + box.back, -box.depth + box.back], color=COLOURS["body"],
                  alpha=0.5, lw=0)
        for screw in screws:
            s = socket_of(design, screw)
            edges = [s.x, *(e for e, _ in s.holes)]
            for start, (end, half) in zip(edges, s.holes, strict=False):
                axes.fill([start, end, end, start], [s.z - half, s.z - half, s.z + half, s.z + half], color="white", lw=0)
            axes.plot([min(0.0, s.x - 6), s.x], [s.z, s.z], color=COLOURS["string"], lw=4, solid_capstyle="butt")
        blue, orange = SERIES[0], SERIES[3]
        self.top = [axes.plot([], [], color=COLOURS["soundboard"], lw=3, solid_capstyle="butt")[0] for _ in range(2)]
        (self.brace,) = axes.plot([], [], color=COLOURS["soundboard"], lw=1.5)
        self.lines, self.bent = [], []
        for k, _ in enumerate(screws):
            first = k == 0
            self.lines += axes.plot([], [], color=orange, ls="--", lw=1.5, label="best straight key" if first else None)
            self.bent += axes.plot([], [], color=blue, lw=2.2, label="bent key" if first else None)
        self.words = [axes.text(2, 0, "", fontsize=8, va="top") for _ in screws]
        legend(axes, "upper left")
        self.artists: list[Any] = [*self.top, self.brace, *self.lines, *self.bent, *self.words]

    def draw(self, box: Box) -> list[KeyWay]:
        """Put soundhole, brace and keys where this box has them."""
        y = [-box.top / 2] * 2
        self.top[0].set_data([0, box.near], y)
        self.top[1].set_data([box.far, 272], y)
        left, right, low = box.brace_x - box.brace_width / 2, box.brace_x + box.brace_width / 2, -box.top - box.brace_height
        self.brace.set_data([left, left, right, right], [-box.top, low, low, -box.top])
        found = []
        for k, screw in enumerate(self.screws):
            way = key_way(socket_of(self.design, screw), box)
            s, (x, _, z) = way.socket, way.line
            past = 1 + 50.0 / max(np.hypot(x - s.x, z - s.z), 1.0)
            self.lines[k].set_data([s.x, s.x + past * (x - s.x)], [s.z, s.z + past * (z - s.z)])
            if way.way in ("short arm", "long arm"):
                arm = way.arm if -s.z - box.top > box.depth / 2 else -way.arm  # drawn toward the roomier side
                self.bent[k].set_data([s.x, way.swings_at, way.swings_at], [s.z, s.z, s.z + arm])
            else:
                self.bent[k].set_data([], [])
            self.words[k].set(text=f"{WORDS[screw]}:\n{way.way}", position=(2, s.z - 4))
            found.append(way)
        return found


def key_picture(design: Any, box: Box | None = None) -> Figure:
    """The box cut along the middle: the best straight key from the soundhole to tilt and pivot screw, and the bent key [mm]."""
    box = box or box_of(design)
    drawing, (axes,) = stagehand.stage((1.0,), 195.0, 112.0)
    tilt, pivot = _Side(axes, design, box).draw(box)
    stagehand.headline(axes, f"Tilt screw: {_finding(tilt)}\nPivot screw: {_finding(pivot)}")
    return drawing


def _finding(way: KeyWay) -> str:
    lean = f"a straight key ({np.degrees(way.angle):.0f}°)"
    if way.way in ("straight", "ball end"):
        return f"{lean} gets in, {way.way}; smallest turn 1/{1 / way.least:.0f}"
    room = f" lacks {-way.room:.1f} mm of room" if way.room < 0 else " leans too far"
    if not way.open:
        return f"no way in: {lean}{room}, a bent one cannot swing or pass"
    if way.way == "from the heel":
        return "from the heel, with the neck off"
    return (f"{lean}{room}; {way.way} of {way.arm:.0f} mm swings {np.degrees(way.swing):.0f}°, smallest turn "
            f"1/{1 / way.least:.0f}")


def swing_picture(design: Any, screw: str = "pivot_bass") -> Figure:
    """Free swing [deg] and smallest turn [parts of a turn] of a bent key over the length of its arm [mm]."""
    box, way = box_of(design), key_ways(design)[screw]
    s, arm = way.socket, np.linspace(10.0, 130.0, 241)
    swing = np.degrees(free_swing(s, box, arm, max(way.swings_at, s.inside + s.thick)))
    drawing, (left, right) = stagehand.stage()
    left.plot(arm, swing, color=COLOURS["screw"])
    left.axhline(np.degrees(GRIP), color=COLOURS["stop"], ls="--", lw=1.2)
    left.text(12, 66, "a new grip", fontsize=8.5, color=COLOURS["stop"])
    stagehand.axes_of(left, "length of the arm [mm]", "free swing [deg]", (10, 130), (0, 375))
    free = arm[swing >= np.degrees(GRIP)]
    longest = float(free[-1])
    stagehand.headline(left, f"{WORDS[screw].capitalize()}: an arm up to\n{longest:.0f} mm can be gripped anew")
    least = 1 / least_turn(hand_step=Hand().step, arm=arm)
    right.plot(arm, least, color=COLOURS["screw"])
    right.plot([longest] * 2, [0, 420], color=COLOURS["stop"], ls="--", lw=1.2)
    stagehand.axes_of(right, "length of the arm [mm]", "smallest turn: one part in", (10, 130), (0, 420))
    stagehand.headline(right, f"and sets 1/{float(np.interp(longest, arm, least)):.0f} turn, {Hand().step:g} mm at its end")
    return drawing


def access_sheet(design: Any) -> HandSheet:
    """Bit, how far the tilt screw stands out, soundhole and brace [mm]: does the cutter clear, and how does the key get in?"""
    base, place = box_of(design), standing(design)[0]
    drawing, (face, side) = stagehand.stage((0.75, 1.6), 215.0, 100.0)
    _face(face, design, 12.0)
    face.add_patch(Circle((place.y, place.z), place.diameter / 2, color=COLOURS["string"], zorder=4))
    (band,) = face.fill([], [], color=COLOURS["gap"], alpha=0.35, lw=0)
    (path,) = face.plot([], [], color=COLOURS["screw"], lw=1.2)
    (ring,) = face.plot([], [], color=COLOURS["stop"], ls="--", lw=1.3)
    verdict = stagehand.headline(face)
    view = _Side(side, design, base)
    finding = stagehand.headline(side)

    def update(v: dict[str, float]) -> str:
        centre, cutter = outline_path(design, v["bit"]), Cutter(bit=v["bit"], bush=v["bit"] + 5, whole_floor=False)
        band.set_xy(_swept(design, v["bit"]))
        path.set_data(centre[:, 0], centre[:, 1])
        s = Standing(place.screw, place.y, place.z, place.diameter, v["out"])
        m: Meeting = meetings(design, cutter, [s])[0]
        ring.set_data(*_circle(s, cutter.bit + s.diameter).T)
        verdict.set_text(f"Screw {v['out']:.1f} mm out:\n{f'{m.part} meets it' if m.meets else 'clear'}")
        verdict.set_color(COLOURS["stop"] if m.meets else COLOURS["text"])
        box = Box(**{**vars(base.moved(v["hole"])), "brace_height": v["brace"]})
        ways = view.draw(box)
        finding.set_text("; ".join(f"{WORDS[w.socket.screw]}: {w.way}" for w in ways))
        said = str(m) if np.isfinite(m.margin) else f"a screw that does not stand out is not met ({s.out:.1f} mm)"
        keys = " ".join(f"{WORDS[w.socket.screw].capitalize()}: {_finding(w)}." for w in ways)
        return f"Cutter along the outline: {said}. {keys}"

    controls = [stagehand.slider("bit", "router bit, diameter", 12.0, 4.0, 16.0, 0.5),
                stagehand.slider("out", "tilt screw stands out", place.out, 0.0, 40.0, 0.5),
                stagehand.slider("hole", "soundhole's middle", base.middle, 120.0, 200.0, 0.5),
                stagehand.slider("brace", "brace height", base.brace_height, 0.0, 20.0, 0.5)]
    return HandSheet(drawing, controls, [band, path, ring, verdict, *view.artists, finding], update, units=design.units)
