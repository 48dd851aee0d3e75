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

In a notebook the cell ends with ``sheet.show()``. Where a length is shown, the reader can choose millimetres or inches; where a
slider has a ``field``, its value can be kept in a design file.

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
from contextlib import AbstractContextManager, nullcontext
from typing import Any

import ipywidgets
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image as PillowImage

from lutherie_geom.show.control import Control
from lutherie_geom.show.inches import in_inches, inch_unit, set_in_inches, texts_of
from lutherie_geom.show.keeping import keep, stem_of
from lutherie_geom.show.style import vector_bundle, vectors_wanted

Update = Callable[[dict[str, float]], str]


class HandSheet:
    """Sliders, a reset button, a picture and its reading in words.

    figure    a Figure with fixed limits, everything that stands still already on it
    controls  the sliders, in the order in which they are shown
    artists   what moves: lines, patches and texts on the figure's axes; they are drawn in the order of their zorder
    update    is handed the sliders' values by name, each in its control's unit; sets the artists' data; returns one
              line that says with numbers and units what is seen (a reader who sees no picture has this line)

    units     "mm" or "inch": how lengths are told at first; without it as the design has them. Controls and ``update`` stay in
              mm: only what is read is told in inches, from the same words
    design    the design shown: ``units`` and the file to copy are taken from it
    design_name  demo design or path of the design file that the design was made from; without it the design's name

    An error in ``update`` stops the making of a sheet. Later, at a slider's step, it is written out under the picture, and
    the moving parts leave the picture, since they would show another setting than the sliders.
    """

    def __init__(
        self, figure: Figure, controls: Sequence[Control], artists: Sequence[Artist], update: Update, *,
        units: str = "", design: Any = None, design_name: str = "",
    ) -> None:  # fmt: skip
        if len({control.name for control in controls}) != len(controls):
            raise ValueError("two controls of this hand sheet have the same name")
        self.units = units or getattr(design, "units", "mm")
        if self.units not in ("mm", "inch"):
            raise ValueError(f"units: {self.units!r} is no unit of a hand sheet's lengths: choose 'mm' or 'inch'")
        self.figure = figure
        self.controls = tuple(controls)
        self.text = ""
        self.error: Exception | None = None
        self._update = update
        self._design, self._design_name = design, design_name or getattr(design, "name", "")
        self._artists = sorted(artists, key=lambda artist: artist.get_zorder())
        for artist in self._artists:
            artist.set_animated(True)
        self._moving_texts = [text for artist in self._artists for text in texts_of(artist)]
        self._canvas: Any = FigureCanvasAgg(figure)  # Any: matplotlib gives its canvas no types
        self._backgrounds: dict[str, tuple[Any, list[tuple[Any, ...]]]] = {}
        self._held = False
        self._sliders = {control.name: control.slider() for control in self.controls}
        self._picture = ipywidgets.Image(format="png", layout=ipywidgets.Layout(max_width="100%"))
        self._line = ipywidgets.HTML()
        # Before the first drawing: an error here is the author's, and stops the cell. The artists get their data before
        # the background is laid out, so that the layout is that of a full picture.
        told = str(update(self.values))
        reset = ipywidgets.Button(description="Reset", tooltip="Put every slider back where it began", icon="undo")
        reset.on_click(lambda _: self.reset())
        self.reset_button = reset
        row, below = [reset], []
        self.units_buttons: ipywidgets.ToggleButtons | None = None
        if self._shows_lengths(told):
            self.units_buttons = ipywidgets.ToggleButtons(
                options=["mm", "inch"], value=self.units, style={"button_width": "4em"},
                tooltips=["Tell lengths in millimetres", "Tell lengths in inches"])  # fmt: skip
            self.units_buttons.observe(lambda change: self.set_units(change["new"]), names="value")
            row.append(self.units_buttons)
        else:
            self.units = "mm"
        self.text = in_inches(told) if self.units == "inch" else told
        self._lay_background()
        self._show_text()
        self._label_sliders()
        self._picture.value = self._draw(moving=True)
        for slider in self._sliders.values():
            slider.observe(self._moved, names="value")
        if any(control.field for control in self.controls):
            self.file_box = ipywidgets.Text(value=f"{stem_of(self._design_name)}_mine.toml", description="design file",
                                            tooltip="A design file in this folder, made if it is not there yet")  # fmt: skip
            self.keep_button = ipywidgets.Button(description="Keep in this file", icon="save",
                                                 tooltip="Write what the sliders say into the design file")  # fmt: skip
            self.keep_button.on_click(lambda _: self.keep())
            below = [ipywidgets.HBox([self.file_box, self.keep_button])]
        self.widget = ipywidgets.VBox([*self._sliders.values(), ipywidgets.HBox(row), self._line, *below, self._picture])

    @property
    def values(self) -> dict[str, float]:
        """What the sliders say now, by name, each in its control's unit."""
        return {name: float(slider.value) for name, slider in self._sliders.items()}

    @property
    def png(self) -> bytes:
        """The picture as it is seen now (PNG bytes, no unit)."""
        return bytes(self._picture.value)

    def set(self, **values: float | str) -> None:
        """Move the named sliders and redraw once: each value a number in its control's unit, or a text with its unit ("0.1 in").

        Raises KeyError for a name that is none, ValueError for a value that the slider does not have; then none has moved.
        """
        unknown = sorted(set(values) - set(self._sliders))
        if unknown:
            raise KeyError(f"this hand sheet has no slider named {', '.join(unknown)}; it has {', '.join(self._sliders)}")
        self._move({control.name: control.value_of(values[control.name]) for control in self.controls if control.name in values})

    def reset(self) -> None:
        """Put every slider back to its start."""
        self._move({control.name: control.start for control in self.controls})

    def refresh(self) -> None:
        """Draw everything anew: after a change of limits, labels or size."""
        self._backgrounds.clear()
        self._lay_background()
        self._redraw()

    def set_units(self, units: str) -> None:
        """Tell lengths in ``"mm"`` or ``"inch"``, in the picture, on the sliders and in words."""
        if units not in ("mm", "inch"):
            raise ValueError(f"units: {units!r} is no unit of a hand sheet's lengths: choose 'mm' or 'inch'")
        if units == self.units or self.units_buttons is None:
            return
        self.units = units
        self.units_buttons.value = units
        self._lay_background()
        self._label_sliders()
        self._redraw()

    def keep(self, file: str = "") -> bool:
        """Write what the sliders say into a design file (the name in the box if none is given); whether it was done."""
        values, start = self.values, {control.name: control.start for control in self.controls}
        now = {field: text for control in self.controls for field, text in control.written(values).items()}
        first = {field: text for control in self.controls for field, text in control.written(start).items()}
        try:
            said = keep(file or self.file_box.value, now, first, self._design_name, self._design)
        except (OSError, ValueError) as error:
            self._show_text(f"Nothing was written. {error}", role="alert")
            return False
        self._show_text(said)
        return True

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
            with self._told():
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
        if self.units == "inch":
            self._label_sliders()
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
        if self.units == "inch":
            self.text = in_inches(self.text)
        self._picture.value = picture
        self._show_text()

    def _show_text(self, note: str = "", role: str = "status") -> None:
        """The reading, and under it a note, if any, until the next step."""
        more = f'<p role="{role}">{html.escape(note).replace(chr(10), "<br>")}</p>' if note else ""
        if self.error is None:
            self._line.value = f'<p role="status">{html.escape(self.text)}</p>{more}'
            return
        trace = html.escape("".join(traceback.format_exception(self.error)))
        self._line.value = (
            f'<p role="alert"><strong>{html.escape(self.text)}</strong></p>{more}'
            f"<details><summary>where it happened</summary><pre>{trace}</pre></details>"
        )

    def _shows_lengths(self, told: str) -> bool:
        words = [told, *(text.get_text() for text in texts_of(self.figure))]
        return any(inch_unit(control.unit) for control in self.controls) or any(in_inches(w) != w for w in words)

    def _label_sliders(self) -> None:
        for control in self.controls:
            control.label_slider(self._sliders[control.name], self.units)

    def _told(self, moving: Sequence[Text] | None = None) -> AbstractContextManager[None]:
        return set_in_inches(self.figure, moving) if self.units == "inch" else nullcontext()

    def _lay_background(self) -> None:
        every = self.figure.get_axes()
        if self.units not in self._backgrounds:
            with self._told():
                self._canvas.draw()  # leaves out animated artists
            # The layout gives longer numbers more room: where the axes then stand belongs to the background.
            places = [(a.get_position(original=True).frozen(), a.get_position().frozen(), a.get_xlim(), a.get_ylim())
                      for a in every]  # fmt: skip
            self._backgrounds[self.units] = self._canvas.copy_from_bbox(self.figure.bbox), places
        else:
            for axes, (given, taken, x, y) in zip(every, self._backgrounds[self.units][1], strict=True):
                axes.set_position(given, which="original")
                axes.set_position(taken, which="active")
                axes.set(xlim=x, ylim=y)
        self._background = self._backgrounds[self.units][0]

    def _draw(self, *, moving: bool) -> bytes:
        self._canvas.restore_region(self._background)
        if moving:
            renderer = self._canvas.get_renderer()
            with self._told(self._moving_texts):
                for artist in self._artists:
                    artist.draw(renderer)
        size = self._canvas.get_width_height()
        pixels = PillowImage.frombuffer("RGBA", size, self._canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        page = io.BytesIO()
        # Little compression: it costs less than a millisecond, and the picture goes no farther than the reader's own browser.
        pixels.convert("RGB").save(page, format="png", compress_level=1)
        return page.getvalue()
