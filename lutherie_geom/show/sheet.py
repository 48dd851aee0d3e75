"""The hand sheet: sliders, a picture that follows them at once, and one line of text that says what the picture shows.

    >>> from lutherie_geom.show import style
    >>> from lutherie_geom.show.sheet import Control, HandSheet
    >>> drawing, axes = style.figure("Tilt moves the action")
    >>> _ = axes.set(xlim=(0, 400), ylim=(0, 5))
    >>> line, = axes.plot([], [], color=style.COLOURS["string"])
    >>> def update(values):
    ...     line.set_data([0, 400], [0.5, 2.5 + values["turns"]])
    ...     return f"action at the joint {2.5 + values['turns']:.2f} mm"
    >>> sheet = HandSheet(drawing, [Control("turns", "tilt screw", 0.0, -1.0, 1.0, 0.125, unit="turns")], [line], update)
    >>> sheet.text
    'action at the joint 2.50 mm'

In a notebook the cell ends with ``sheet.show()``.

How it is quick: axes, ticks and titles are drawn once and kept; a slider's step draws only the ``artists`` over them. So the
limits must be fixed before the sheet is made. Whoever changes limits, labels or size later calls ``sheet.refresh()``.

Two sheets in one notebook: make each in a function of its own, ``def tilt_sheet(): ... return sheet``. ``update`` finds its
artists by name at every step, so a later cell that uses the name ``line`` again would take them away from the first sheet.
"""

from __future__ import annotations

import html
import io
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import ipywidgets
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image as PillowImage

from lutherie_geom.show.style import label as with_unit
from lutherie_geom.show.style import vector_bundle, vectors_wanted

Update = Callable[[dict[str, float]], str]


@dataclass(frozen=True)
class Control:
    """One slider. ``start``, ``low``, ``high`` and ``step`` are in ``unit``, the unit that ``update`` is handed."""

    name: str
    label: str
    start: float
    low: float
    high: float
    step: float
    unit: str = "mm"

    def __post_init__(self) -> None:
        if not self.low <= self.start <= self.high or self.low == self.high:
            raise ValueError(f"{self.label}: the start {self.start} {self.unit} must lie between {self.low} and {self.high}")
        if not 0 < self.step <= self.high - self.low:
            raise ValueError(f"{self.label}: a step of {self.step} {self.unit} does not fit between {self.low} and {self.high}")

    @property
    def decimals(self) -> int:
        """Digits behind the point that show every step (no unit); five at most."""
        exponent = Decimal(repr(round(self.step, 5))).normalize().as_tuple().exponent
        return max(0, -exponent) if isinstance(exponent, int) else 0


class HandSheet:
    """Sliders, a reset button, a picture and its reading in words.

    figure    a Figure with fixed limits, everything that stands still already on it
    controls  the sliders, in the order in which they are shown
    artists   what moves: lines, patches and texts on the figure's axes; they are drawn in the order of their zorder
    update    is handed the sliders' values by name, each in its control's unit; sets the artists' data; returns one
              line that says with numbers and units what is seen (a reader who sees no picture has this line)

    An error in ``update`` stops the making of a sheet. Later, at a slider's step, it is written out under the picture, and
    the moving parts leave the picture, since they would show another setting than the sliders.
    """

    def __init__(self, figure: Figure, controls: Sequence[Control], artists: Sequence[Artist], update: Update) -> None:
        if len({control.name for control in controls}) != len(controls):
            raise ValueError("two controls of this hand sheet have the same name")
        self.figure = figure
        self.controls = tuple(controls)
        self.text = ""
        self.error: Exception | None = None
        self._update = update
        self._artists = sorted(artists, key=lambda artist: artist.get_zorder())
        for artist in self._artists:
            artist.set_animated(True)
        self._canvas: Any = FigureCanvasAgg(figure)  # Any: matplotlib gives its canvas no types
        self._held = False
        self._sliders = {control.name: _slider(control) for control in self.controls}
        self._picture = ipywidgets.Image(format="png", layout=ipywidgets.Layout(max_width="100%"))
        self._line = ipywidgets.HTML()
        # Before the first drawing: an error here is the author's, and stops the cell. The artists get their data before
        # the background is laid out, so that the layout is that of a full picture.
        self.text = str(update(self.values))
        self._lay_background()
        self._show_text()
        self._picture.value = self._draw(moving=True)
        for slider in self._sliders.values():
            slider.observe(self._moved, names="value")
        reset = ipywidgets.Button(description="Reset", tooltip="Put every slider back where it began", icon="undo")
        reset.on_click(lambda _: self.reset())
        self.reset_button = reset
        self.widget = ipywidgets.VBox([*self._sliders.values(), reset, self._line, self._picture])

    @property
    def values(self) -> dict[str, float]:
        """What the sliders say now, by name, each in its control's unit."""
        return {name: float(slider.value) for name, slider in self._sliders.items()}

    @property
    def png(self) -> bytes:
        """The picture as it is seen now (PNG bytes, no unit)."""
        return bytes(self._picture.value)

    def set(self, **values: float) -> None:
        """Move the named sliders, each value in its control's unit, and redraw once."""
        unknown = sorted(set(values) - set(self._sliders))
        if unknown:
            raise KeyError(f"this hand sheet has no slider named {', '.join(unknown)}; it has {', '.join(self._sliders)}")
        self._move(values)

    def reset(self) -> None:
        """Put every slider back to its start."""
        self._move({control.name: control.start for control in self.controls})

    def refresh(self) -> None:
        """Draw everything anew: after a change of limits, labels or size."""
        self._lay_background()
        self._redraw()

    def show(self) -> None:
        """Show the live sheet and, under it, the same picture standing still, which a reader without a kernel sees too."""
        from IPython import display as notebook

        display: Any = notebook.display
        picture: Any = notebook.Image
        # In place of the widget's bare listing, its plain text is the reading: that is what a page without scripts shows
        # and what a comparison of stored with computed outputs compares.
        bundle: dict[str, Any] = dict(self.widget._repr_mimebundle_())
        bundle["text/plain"] = self.text
        display(bundle, raw=True)
        if vectors_wanted():
            for artist in self._artists:  # an animated artist is left out of a drawing that is saved
                artist.set_animated(False)
            drawn, how = vector_bundle(self.figure, self.text)
            for artist in self._artists:
                artist.set_animated(True)
            display(drawn, raw=True, metadata=how)
            return
        width = round(self.figure.get_figwidth() * self.figure.dpi)
        stored = io.BytesIO()  # this one is kept in the notebook's file: compress it well
        PillowImage.open(io.BytesIO(self.png)).save(stored, format="png", compress_level=9)
        display(picture(data=stored.getvalue(), format="png", width=width, alt=self.text))

    def _move(self, values: Mapping[str, float]) -> None:
        self._held = True  # several sliders move: draw once, when all have moved
        try:
            for name, value in values.items():
                self._sliders[name].value = value
        finally:
            self._held = False
        self._redraw()

    def _moved(self, _change: object) -> None:
        if not self._held:
            self._redraw()

    def _redraw(self) -> None:
        try:
            self.text = str(self._update(self.values))
            picture = self._draw(moving=True)
            self.error = None
        except Exception as error:  # whatever it is, the reader must see it: a widget's callback has no other place to say it
            self.error = error
            self.text = f"This setting cannot be drawn. {type(error).__name__}: {error}"
            picture = self._draw(moving=False)
        self._picture.value = picture
        self._show_text()

    def _show_text(self) -> None:
        if self.error is None:
            self._line.value = f'<p role="status">{html.escape(self.text)}</p>'
            return
        trace = html.escape("".join(traceback.format_exception(self.error)))
        self._line.value = (
            f'<p role="alert"><strong>{html.escape(self.text)}</strong></p>'
            f"<details><summary>where it happened</summary><pre>{trace}</pre></details>"
        )

    def _lay_background(self) -> None:
        self._canvas.draw()  # leaves out animated artists
        self._background = self._canvas.copy_from_bbox(self.figure.bbox)

    def _draw(self, *, moving: bool) -> bytes:
        self._canvas.restore_region(self._background)
        if moving:
            renderer = self._canvas.get_renderer()
            for artist in self._artists:
                artist.draw(renderer)
        size = self._canvas.get_width_height()
        pixels = PillowImage.frombuffer("RGBA", size, self._canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        page = io.BytesIO()
        # Little compression: it costs less than a millisecond, and the picture goes no farther than the reader's own browser.
        pixels.convert("RGB").save(page, format="png", compress_level=1)
        return page.getvalue()


def _slider(control: Control) -> ipywidgets.FloatSlider:
    return ipywidgets.FloatSlider(
        value=control.start,
        min=control.low,
        max=control.high,
        step=control.step,
        description=with_unit(control.label, control.unit),
        readout_format=f".{control.decimals}f",
        continuous_update=True,
        style={"description_width": "16em"},
        layout=ipywidgets.Layout(width="100%", max_width="44em"),
    )
