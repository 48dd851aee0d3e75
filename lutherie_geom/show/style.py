"""One look for every picture: colours that the colour-blind can tell apart, one frame, one font, units on every axis.

The font is DejaVu Sans, which comes with matplotlib, so that a picture is the same on every machine.
"""

from __future__ import annotations

import io
import os
import re
from typing import Any, Literal

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure

MM_PER_INCH = 25.4
SCREEN_DPI = 100  # dots per inch of a picture on screen; a hand sheet's redraw time grows with its square

# The eight colours of Okabe and Ito (from memory). Colour never speaks alone: lines that matter also differ in dash
# or carry a label.
BLACK, ORANGE, SKY_BLUE, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"

# What each colour stands for, the same in every picture.
COLOURS: dict[str, str] = {
    "string": BLACK,
    "neck": ORANGE,
    "board": PURPLE,
    "body": GREEN,
    "soundboard": GREEN,
    "screw": BLUE,
    "pivot": BLUE,
    "gap": SKY_BLUE,
    "highlight": YELLOW,
    "stop": VERMILLION,
    "guide": "#8A8A8A",
    "text": "#222222",
}
SERIES: tuple[str, ...] = (BLUE, VERMILLION, GREEN, ORANGE, PURPLE, SKY_BLUE, BLACK)
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1.5, 2)), "-", (0, (6, 2)), (0, (2, 1.5)))

# Typed loosely: matplotlib's own list of keys differs from version to version.
LOOK: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "axes.titlesize": 10.0,
    "axes.titlelocation": "left",
    "axes.labelsize": 9.0,
    "axes.labelcolor": COLOURS["text"],
    "axes.edgecolor": "#666666",
    "axes.linewidth": 0.8,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "grid.color": "#E2E2E2",
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.6,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "xtick.labelsize": 8.5,
    "ytick.labelsize": 8.5,
    "text.color": COLOURS["text"],
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
}


def line_style(number: int) -> dict[str, Any]:
    """Colour and dash of the curve with this number (no unit, from 0): neighbours differ in both."""
    place = number % len(SERIES)
    return {"color": SERIES[place], "linestyle": DASHES[place]}


def figure(title: str, width_mm: float = 180.0, height_mm: float = 90.0, *, true_shape: bool = False) -> tuple[Figure, Axes]:
    """A new figure with one frame, made without pyplot, so that nothing is kept behind the reader's back.

    title       a sentence in the reader's words
    width_mm    width of the whole picture [mm]
    height_mm   height of the whole picture [mm]
    true_shape  one millimetre is as long upward as sideways (for drawings; not for curves)
    """
    with rc_context(LOOK):
        drawing = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH), dpi=SCREEN_DPI, layout="constrained")
        axes = drawing.add_subplot()
        axes.set_title(title)
        if true_shape:
            axes.set_aspect("equal", adjustable="datalim")
    return drawing, axes


def label(quantity: str, unit: str = "") -> str:
    """A quantity with its unit in brackets, as it stands on an axis or a slider: ``action [mm]``."""
    return f"{quantity} [{unit}]" if unit else quantity


def label_axes(axes: Axes, x: tuple[str, str], y: tuple[str, str]) -> None:
    """Name both axes: each a quantity and its unit, as in ``label_axes(axes, ("turns", ""), ("action", "mm"))``."""
    axes.set_xlabel(label(*x))
    axes.set_ylabel(label(*y))


def legend(axes: Axes, place: Any = "best") -> None:
    """A legend without a box at ``place`` (matplotlib's words, no unit), in the look of the other text."""
    with rc_context(LOOK):
        axes.legend(loc=place)


def to_svg(drawing: Figure) -> str:
    """The figure as SVG text: letters stay letters, size in points (1/72 in), the same text at every run."""
    return _saved(drawing, "svg").decode("utf-8")


def to_png(drawing: Figure) -> bytes:
    """The figure as PNG bytes at the screen's resolution [dots per inch: SCREEN_DPI]."""
    return _saved(drawing, "png")


def vectors_wanted() -> bool:
    """Whether notebooks are asked for vectors in place of dots: the environment variable LUTHERIE_FIGURES says ``svg``."""
    return os.environ.get("LUTHERIE_FIGURES") == "svg"


def vector_bundle(drawing: Figure, words: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """What a notebook shows of a figure as vectors, and how: its words for a reader without a picture, width in pixels.

    Letters are outlines, since not every reader's machine has the font.
    """
    drawn = _saved(drawing, "svg", outlines=True).decode("utf-8")
    points = re.search(r'<svg[^>]* width="([\d.]+)pt"', drawn)
    how = {"alt": words, "width": round(float(points[1]) * drawing.dpi / 72) if points else 0}
    return {"image/svg+xml": drawn, "text/plain": words}, {"image/svg+xml": how}


def _saved(drawing: Figure, kind: Literal["svg", "png"], *, outlines: bool = False) -> bytes:
    page = io.BytesIO()
    # Drawn in outlines a long title is wider by a letter: the page grows to take it in.
    edge: Any = {"bbox_inches": "tight", "pad_inches": 0.04} if outlines else {}
    look: Any = {**LOOK, "svg.fonttype": "path" if outlines else "none", "svg.hashsalt": "lutherie_geom"}
    # A fixed salt and no date: the same drawing gives the same file, so that a comparison of files means something.
    with rc_context(look):
        if kind == "svg":
            drawing.savefig(page, format="svg", metadata={"Date": None, "Creator": None}, **edge)
        else:
            drawing.savefig(page, format="png", dpi=SCREEN_DPI, metadata={"Software": None})
    return page.getvalue()
