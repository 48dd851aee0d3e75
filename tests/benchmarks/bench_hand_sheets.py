"""A step of every slider of every notebook, in the kernel: python tests/benchmarks/bench_hand_sheets.py [04 17 ...]

The code cells of a notebook are run in one process, in turn; then every slider of its hand sheets is moved step by step, as the
hand does. Timed is all that the kernel does for a step: calculation, words, drawing, PNG. Beside it stands the least that any
sheet could do: one line and one text drawn over a kept background by matplotlib's own means, on a figure of the same size, PNG
as well; the two take turns. Only the ratios are worth comparing between machines: milliseconds also tell how busy this one is.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import matplotlib
import nbformat
import numpy as np
from IPython.display import display
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from lutherie_geom.show.sheet import HandSheet

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "show"))


@contextlib.contextmanager
def collected() -> Iterator[list[HandSheet]]:
    """Every hand sheet made meanwhile."""
    made: list[HandSheet] = []
    own = HandSheet.__init__

    def begin(self: HandSheet, *args: Any, **options: Any) -> None:
        own(self, *args, **options)
        made.append(self)

    HandSheet.__init__ = begin  # type: ignore[method-assign]
    try:
        yield made
    finally:
        HandSheet.__init__ = own  # type: ignore[method-assign]


def sheets_of(place: Path) -> list[HandSheet]:
    """Run the code cells; what they print and show stays away."""
    names: dict[str, Any] = {"__name__": "__main__", "display": display}
    with collected() as made, contextlib.redirect_stdout(io.StringIO()):
        for number, cell in enumerate(nbformat.read(place, as_version=4).cells):
            if cell.cell_type == "code":
                exec(compile(cell.source, f"{place.name}, cell {number}", "exec", dont_inherit=True), names)
    return made


def plain_blit(like: Figure) -> Callable[[float], bytes]:
    """A step that draws a line and a text over a kept background, as large as another figure, and makes a PNG."""
    figure = Figure(figsize=like.get_size_inches(), dpi=like.dpi)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_subplot(xlim=(0, 1), ylim=(-1, 1))
    x = np.linspace(0, 1, 50)
    (line,) = axes.plot(x, x, animated=True)
    text = axes.text(0.05, 0.8, "", animated=True)
    canvas.draw()
    background = canvas.copy_from_bbox(figure.bbox)

    def step(value: float) -> bytes:
        line.set_data(x, value * x)
        text.set_text(f"{value:.3f} mm")
        canvas.restore_region(background)
        axes.draw_artist(line)
        axes.draw_artist(text)
        page = io.BytesIO()
        pixels = Image.frombuffer("RGBA", canvas.get_width_height(), canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        pixels.convert("RGB").save(page, format="png", compress_level=1)
        return page.getvalue()

    return step


def took(call: Callable[..., Any], *what: float, **named: float) -> float:
    """Milliseconds of one call."""
    begun = time.perf_counter()
    call(*what, **named)
    return 1e3 * (time.perf_counter() - begun)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("numbers", nargs="*", help="numbers of notebooks, 04 say; all without")
    parser.add_argument("--steps", type=int, default=7, help="steps of each slider, fewer where it ends before")
    given = parser.parse_args()
    from sheets import steps_of

    matplotlib.use("Agg")
    os.chdir(NOTEBOOKS)
    print(f"{'notebook':44}{'sliders':>8}{'median ms':>11}{'plain ms':>10}{'ratio':>7}{'slowest slider':>16}", flush=True)
    ratios = []
    for place in sorted(NOTEBOOKS.glob("*.ipynb")):
        if given.numbers and place.name[:2] not in given.numbers:
            continue
        mine, plain, sliders = [], [], []
        try:
            sheets = sheets_of(place)
        except Exception as error:  # a notebook's cell may raise anything; the other notebooks are still worth their time
            print(f"{place.stem[:43]:44}not timed, {type(error).__name__}: {error}", flush=True)
            continue
        for sheet in sheets:
            least = plain_blit(sheet.figure)
            for control in sheet.controls:
                own = []
                for value in steps_of(control, given.steps):
                    own.append(took(sheet.set, **{control.name: value}))
                    plain.append(took(least, value))
                    if sheet.error is not None:
                        raise SystemExit(f"{place.name}: {control.name} = {value}: {sheet.text}")
                sheet.reset()
                sliders.append((statistics.median(own), control.label))
                mine += own
        if mine:
            each, bare = statistics.median(mine), statistics.median(plain)
            slowest, label = max(sliders)
            ratios.append(each / bare)
            print(f"{place.stem[:43]:44}{len(sliders):8}{each:11.1f}{bare:10.1f}{ratios[-1]:7.1f}{slowest / bare:8.1f}  {label}",
                  flush=True)
    if ratios:
        print(f"median of {len(ratios)} notebooks: {statistics.median(ratios):.1f} times a plain line and text")


if __name__ == "__main__":
    main()
