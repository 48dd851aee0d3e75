"""Ready-made hand sheets and pictures for the notebooks, so that a notebook's cells stay short.

Every sheet takes a design and gives a :class:`HandSheet`; every picture takes a design and gives a Figure, whose title
states what it shows with numbers computed from the design. Lengths in mm, angles on sliders in degrees, turns in turns.

    >>> import lutherie_geom as lg
    >>> from lutherie_geom.show import panels
    >>> sheet = panels.tilt_sheet(lg.load("slack_water"))
    >>> sheet.show()                                            # doctest: +SKIP
"""

from __future__ import annotations

import base64
import importlib
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.text import Text

from lutherie_geom.joint.body import soundboard
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.show.outlines import board_outline, draw_body, neck_outline
from lutherie_geom.show.sheet import Control
from lutherie_geom.show.style import COLOURS, LOOK, MM_PER_INCH, SCREEN_DPI, to_png, vector_bundle, vectors_wanted
from lutherie_geom.theory.heel import heel_point

# Where each sheet and picture lives; loaded when first asked for.
_HOMES = {
    "travel_sheet": "panels_travel", "joint_picture": "panels_travel",
    "dome_sheet": "panels_dome", "dome_picture": "panels_dome",
    "neck_set_sheet": "panels_set", "neck_set_picture": "panels_set",
    "tilt_sheet": "panels_tilt", "tilt_picture": "panels_tilt",
    "heel_sheet": "panels_heel", "heel_picture": "panels_heel",
    "steer_sheet": "panels_steer", "steer_picture": "panels_steer",
    "sensitivity_sheet": "panels_moves", "sensitivity_picture": "panels_moves", "rate_picture": "panels_moves",
}
SHEETS = tuple(name for name in _HOMES if name.endswith("_sheet"))
PICTURES = tuple(name for name in _HOMES if name.endswith("_picture"))

__all__ = ["PICTURES", "SHEETS", "SideView", "axes_of", "headline", "mean_action", "show", "stage", *_HOMES]

MAGNIFIED = 5.0  # the neck's motion is a tenth of a millimetre a step: side and top views draw it this many times larger


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(importlib.import_module(f"lutherie_geom.show.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def show(drawing: Figure) -> None:
    """Show a picture in a notebook; its titles are its words for a reader who sees no picture."""
    from IPython.display import display

    titles = (drawing.get_suptitle(), *(axes.get_title(loc="left") for axes in drawing.axes))
    words = "; ".join(title.replace("\n", " ") for title in titles if title)
    if vectors_wanted():
        bundle, how = vector_bundle(drawing, words)
        display(bundle, raw=True, metadata=how)
        return
    width = round(drawing.get_figwidth() * drawing.dpi)
    bundle = {"image/png": base64.b64encode(to_png(drawing)).decode("ascii"), "text/plain": words}
    display(bundle, raw=True, metadata={"image/png": {"alt": words, "width": width}})


def stage(columns: Sequence[float] = (1.0, 1.0), width_mm: float = 195.0, height_mm: float = 92.0) -> tuple[Figure, list[Axes]]:
    """A figure with axes side by side (relative widths, no unit) in the project's look; size in mm."""
    with rc_context(LOOK):
        drawing = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH), dpi=SCREEN_DPI, layout="constrained")
        grid = drawing.subplots(1, len(columns), squeeze=False, width_ratios=list(columns))
    return drawing, list(grid[0])


def axes_of(axes: Axes, x: str, y: str, xlim: tuple[float, float], ylim: tuple[float, float]) -> None:
    """Name both axes (quantity and unit) and fix their limits (in those units): a sheet's background must stand still."""
    axes.set(xlabel=x, ylabel=y, xlim=xlim, ylim=ylim)


def headline(axes: Axes, words: str = " ") -> Text:
    """A finding over the axes; the Text is given back, for a sheet that changes its words."""
    return axes.set_title(words, loc="left", fontsize=9.5, color=COLOURS["text"])


def plain(value: Any, digits: int = 2) -> float:
    """A number rounded to so many digits, never minus zero (unit as given)."""
    return round(float(value), digits) + 0.0


def span(low: float, high: float, reach: float) -> str:
    """Turns from low to high [turn] in words; at the end of what was looked at (``reach``) it may go on."""
    ends = [f"{end:+.2f}" + (" or more" if abs(end) >= reach else "") for end in (low, high)]
    return f"{ends[0]} to {ends[1]} turns"


def mean_action(p: Pose, fret: int = 12) -> Any:
    """Action at a fret [mm], mean of all strings, (*batch)."""
    return action(p, [fret]).mean(axis=(0, 1))


def magnified(nominal: np.ndarray, turned: np.ndarray, times: float = MAGNIFIED) -> np.ndarray:
    """Points [mm] whose motion away from the nominal place is drawn ``times`` larger."""
    return nominal + times * (turned - nominal)


def carried(p: Pose, x: Any, z: Any, y: Any = 0.0) -> np.ndarray:
    """Points of the neck, given where they lie at the nominal pose, where they come to lie [mm]: rows of x, z."""
    at = heel_point(x_face=np.asarray(x, dtype=float), y_face=y, z_face=np.asarray(z, dtype=float), **p.turned)
    return np.column_stack([at.x, at.z])


class SideView:
    """The joint from the bass side, drawn from the design: what stands still on the axes, what moves as ``artists``; lengths in
    mm."""

    def __init__(self, axes: Axes, design: Any, *, times: float = MAGNIFIED) -> None:
        """times: how much larger than it is the neck's motion is drawn [1]."""
        self.design, self.times, self.axes = design, times, axes
        axes.set_aspect("equal", adjustable="box")
        block, clamp = design.block, design.clamp
        right = max(104.0, float(design.tongue.length) + 14)
        self.left = min(-62.0, -float(design.heel.length) - 8)
        axes_of(axes, "along the body, to the tail [mm]", "height over the top [mm]",
                (self.left, right),
                (min(-112.0, block.foot_z - 8, design.heel.foot_z - 14), 40))
        draw_body(axes, design, "mm", right)
        green: dict[str, Any] = dict(ha="right", fontsize=8, color=COLOURS["soundboard"])
        axes.text(block.depth - 4, block.foot_z + 4, "neck block", **green)
        axes.text(right - 2, -12, "soundboard", **green)
        self.neck = Polygon(np.zeros((3, 2)), closed=True, facecolor=COLOURS["neck"], edgecolor="#8a5f00", alpha=0.45, zorder=3)
        axes.add_patch(self.neck)
        (self.string,) = axes.plot([], [], color=COLOURS["string"], lw=1.2, zorder=4)
        (self.rim,) = axes.plot([], [], color=COLOURS["guide"], lw=1, ls=":", zorder=7)
        (self.clamp,) = axes.plot([], [], color="#9CC3E6", lw=3.5, solid_capstyle="butt", zorder=4)
        (self.screw,) = axes.plot([], [], color=COLOURS["screw"], lw=3, solid_capstyle="butt", zorder=5)
        (self.head,) = axes.plot([], [], "s", color=COLOURS["screw"], ms=7, zorder=5)
        (self.pivot,) = axes.plot([], [], "o", color=COLOURS["stop"], ms=8, mec="white", zorder=6)
        self.words = [axes.text(0, 0, "pivot", fontsize=8, color=COLOURS["stop"], va="bottom", zorder=6),
                      axes.text(0, 0, "tilt screw", fontsize=8, color=COLOURS["screw"], va="center", zorder=6),
                      axes.text(0, 0, "strings", fontsize=8, zorder=6)]
        self.clamp_end = float(block.depth + clamp.diameter)
        self.artists = [self.neck, self.string, self.rim, self.clamp, self.screw, self.head, self.pivot, *self.words]

    def name_parts(self) -> None:
        """Name, at rest, what the stops are named by: heel and its foot, tongue, pocket and its floor; and the clamp screw."""
        d, heel = self.design.dimensions(), self.design.heel
        foot, rim = float(d.foot_z), -float(d.pocket)
        plate: dict[str, Any] = dict(fontsize=8, zorder=7)
        self.axes.text(-0.45 * heel.length, foot * 0.42, "heel", ha="center", **plate)
        for word, at, to in (("foot", (-0.3 * heel.length, foot), (self.left + 4, foot - 8)),
                             ("pocket", (rim, foot * 0.66), (self.left + 3, foot * 0.72)),
                             ("floor of\nthe pocket", (0.0, foot * 0.62), (8, foot * 0.62)),
                             ("tongue", (0.7 * d.tongue_length, float(d.gap_joint) + 4), (0.15 * d.tongue_length, 27)),
                             ("clamp screw", (self.clamp_end, float(d.z_p) - self.design.clamp.below_axis), (68, -34))):
            self.axes.annotate(word, at, to, va="center", arrowprops={"arrowstyle": "-", "lw": 0.7, "color": COLOURS["guide"],
                                                                      "shrinkA": 0, "shrinkB": 0}, **plate)

    def outline(self, d: Dimensions) -> tuple[np.ndarray, np.ndarray]:
        """Neck and board as one outline at the nominal pose [mm], x and z."""
        (x, z), (bx, bz) = (part(self.design, d, self.left - 40) for part in (neck_outline, board_outline))
        top = len(bx) // 2  # the board's upper side, from left to right; the neck's lower side, from the tongue's end to the left
        low = int(np.argmin(x)) + 1
        return np.r_[bx[:top], x[:low]], np.r_[bz[:top], z[:low]]

    def draw(self, p: Pose) -> None:
        """Put the moving parts where this pose has them."""
        d = p.of
        x, z = self.outline(d)
        self.neck.set_xy(magnified(np.column_stack([x, z]), carried(p, x, z), self.times))
        rest = pose(d)
        lines = string_lines(rest)
        nut = [np.array([q.x.mean(), q.z.mean()]) for q in (a.to_body(lines.x_nut, lines.y_nut, lines.z_nut) for a in (rest, p))]
        start = magnified(nut[0], nut[1], self.times)
        saddle_z = float(np.mean(soundboard(d, d.x_saddle, d.y_saddle) + np.asarray(d.h_saddle)))
        self.string.set_data([start[0], float(np.mean(d.x_saddle))], [start[1], saddle_z])
        part = (60.0 - start[0]) / (float(np.mean(d.x_saddle)) - start[0])
        self.words[2].set_position((60.0, start[1] + (saddle_z - start[1]) * part + 2))
        end = magnified(np.array([[d.x_receiver, d.z_receiver]]), carried(p, [d.x_receiver], [d.z_receiver]), self.times)[0]
        self.screw.set_data([float(d.x_head), end[0]], [float(d.z_head), end[1]])
        self.head.set_data([float(d.x_head)], [float(d.z_head)])
        self.pivot.set_data([float(d.x_p - p.advance)], [float(d.z_p)])
        self.rim.set_data([-float(d.pocket)] * 2, [0.0, float(d.foot_z)])
        clamp, low = self.design.clamp, float(d.z_p) - self.design.clamp.below_axis
        end = magnified(np.array([[clamp.receiver_x, low]]), carried(p, [clamp.receiver_x], [low]), self.times)[0]
        self.clamp.set_data([end[0], self.clamp_end], [end[1], low])
        self.words[0].set_position((float(d.x_p) + 4, float(d.z_p) + 2))
        self.words[1].set_position((float(d.x_head) + 6, float(d.z_head)))


def moved_height(d: Dimensions, gap: float) -> Dimensions:
    """The same joint with another planned gap [mm]: neck and saddle go up by as much, so that the action stays."""
    lift = gap - float(d.gap_joint)
    return d.replaced(gap_joint=gap, z_joint=d.z_joint + lift, h_saddle=np.asarray(d.h_saddle) + lift)


def slider(name: str, label: str, start: float, low: float, high: float, step: float, unit: str = "mm",
           field: Any = ()) -> Control:
    """A slider whose range is widened to take in its start, all in ``unit``: a design may lie outside the usual. ``field`` as
    in :class:`Control`."""
    return Control(name, label, start, min(low, start), max(high, start), step, unit, field)


def mm(value: Any) -> str:
    """A length [mm] as it is written in a design file."""
    return f"{float(value):.6g} mm"


def lifted_saddle(d: Dimensions, lift: Callable[[dict[str, float]], float]) -> tuple[str, Callable[[dict[str, float]], Any]]:
    """The design file's saddle heights, all raised by what ``lift`` makes of the sliders' values [mm]; for a control's field."""
    return "strings.saddle_heights", lambda v: [mm(h + lift(v)) for h in np.atleast_1d(d.h_saddle)]
