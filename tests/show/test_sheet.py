"""The hand sheet without a browser: a slider's step changes picture and words, reset brings the first picture back."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
from PIL import Image

import lutherie_geom as lg
from lutherie_geom.show import panels, style
from lutherie_geom.show.inches import texts_of
from lutherie_geom.show.sheet import Control, HandSheet


def make_sheet(**options: object) -> HandSheet:
    drawing, axes = style.figure("A line that rises", 160.0, 80.0)
    axes.set(xlim=(0, 10), ylim=(-20, 20))
    style.label_axes(axes, ("distance", "mm"), ("height", "mm"))
    (line,) = axes.plot([], [], **style.line_style(0))
    distance = np.linspace(0.0, 10.0, 50)

    def update(values: dict[str, float]) -> str:
        if values["slope"] > 1.9:
            raise ValueError("too steep <for this board>")
        line.set_data(distance, values["slope"] * distance + values["offset"])
        return f"ends at {10 * values['slope'] + values['offset']:.1f} mm"

    controls = [Control("slope", "slope", 1.0, -2.0, 2.0, 0.125, unit=""), Control("offset", "offset", 0.0, -5.0, 5.0, 0.5)]
    return HandSheet(drawing, controls, [line], update, **options)  # type: ignore[arg-type]


def pixels_of(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def test_a_step_changes_picture_and_words_and_reset_undoes_it() -> None:
    sheet = make_sheet()
    first_picture, first_text = sheet.png, sheet.text
    assert first_text == "ends at 10.0 mm"
    slope, offset = sheet.widget.children[:2]
    assert sheet.reset_button in sheet.widget.children[2].children
    slope.value = 0.5
    after_slope = sheet.png
    assert after_slope != first_picture and sheet.text == "ends at 5.0 mm"
    assert sheet.text in sheet.widget.children[3].value
    offset.value = 2.0
    assert sheet.png not in (first_picture, after_slope) and sheet.text == "ends at 7.0 mm"
    sheet.reset_button.click()
    assert sheet.png == first_picture and sheet.text == first_text
    assert sheet.values == {"slope": 1.0, "offset": 0.0}


def test_drawing_over_the_kept_background_gives_the_full_picture() -> None:
    """Independent route: matplotlib's own full drawing of the same figure, pixel by pixel."""
    sheet = make_sheet()
    sheet.set(slope=-0.5, offset=3.0)
    quick, full = pixels_of(sheet.png), pixels_of(style.to_png(sheet.figure))
    assert quick.shape == full.shape
    # The axes' own lines are drawn after the curve in a full drawing: only where they cross may a pixel differ.
    assert np.mean(np.abs(quick - full).max(axis=2) > 8) < 1e-3
    sheet.refresh()
    sheet.set(slope=1.0, offset=0.0)
    assert sheet.png == make_sheet().png


def test_an_error_is_written_out_and_the_sheet_goes_on() -> None:
    sheet = make_sheet()
    first = sheet.png
    sheet.set(slope=2.0)
    assert isinstance(sheet.error, ValueError) and "too steep" in sheet.text
    shown = sheet.widget.children[3].value
    assert "too steep &lt;for this board&gt;" in shown and 'role="alert"' in shown and "Traceback" in shown
    assert sheet.png != first
    sheet.set(slope=1.0)
    assert sheet.error is None and sheet.png == first


def test_an_error_at_the_start_stops_the_cell() -> None:
    drawing, _ = style.figure("Nothing")
    with pytest.raises(ZeroDivisionError):
        HandSheet(drawing, [Control("a", "a", 0.0, 0.0, 1.0, 0.1)], [], lambda values: str(1 / values["a"]))


def test_several_sliders_move_in_one_redraw() -> None:
    drawing, _ = style.figure("Nothing")
    calls: list[dict[str, float]] = []

    def update(values: dict[str, float]) -> str:
        calls.append(values)
        return "seen"

    sheet = HandSheet(drawing, [Control(name, name, 0.0, 0.0, 1.0, 0.1) for name in "ab"], [], update)
    sheet.set(a=0.5, b=0.7)
    assert calls == [{"a": 0.0, "b": 0.0}, {"a": 0.5, "b": 0.7}]
    with pytest.raises(KeyError, match="no slider named c"):
        sheet.set(c=1.0)


@pytest.mark.parametrize(("step", "decimals"), [(1.0, 0), (0.5, 1), (0.125, 3), (1 / 16, 4), (10.0, 0), (1 / 3, 5)])
def test_every_step_can_be_read(step: float, decimals: int) -> None:
    assert Control("a", "a", 0.0, 0.0, 100.0, step).decimals == decimals


@pytest.mark.parametrize(("start", "low", "high", "step"), [(2.0, 0.0, 1.0, 0.1), (0.0, 0.0, 0.0, 0.1), (0.0, 0.0, 1.0, 0.0)])
def test_a_control_that_cannot_move_is_refused(start: float, low: float, high: float, step: float) -> None:
    with pytest.raises(ValueError, match="seat"):
        Control("a", "seat", start, low, high, step)


def test_show_gives_the_sheet_and_then_a_picture_that_needs_no_kernel(monkeypatch: pytest.MonkeyPatch) -> None:
    import IPython.display

    shown: list[object] = []
    monkeypatch.setattr(IPython.display, "display", lambda thing, **_: shown.append(thing))
    sheet = make_sheet()
    sheet.show()
    bundle, picture = shown
    assert isinstance(bundle, dict) and bundle["text/plain"] == sheet.text
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert isinstance(picture, IPython.display.Image) and picture.alt == sheet.text
    assert np.array_equal(pixels_of(picture.data), pixels_of(sheet.png))


def test_the_svg_keeps_its_letters_its_size_and_its_bytes() -> None:
    drawing, axes = style.figure("Two curves", 127.0, 63.5)
    for number in range(2):
        axes.plot([0, 1], [number, 2 - number], label=f"curve {number}", **style.line_style(number))
    style.legend(axes)
    text = style.to_svg(drawing)
    assert "Two curves" in text and text == style.to_svg(drawing)
    assert ElementTree.fromstring(text).get("width") == "360pt"  # 127 mm = 5 in = 360 pt


def test_inches_and_back_give_the_very_same_picture() -> None:
    sheet = make_sheet()
    sheet.set(slope=0.5, offset=0.5)
    before, words = sheet.png, [t.get_text() for t in texts_of(sheet.figure)]
    assert sheet.units_buttons is not None
    sheet.units_buttons.value = "inch"
    assert sheet.units == "inch" and sheet.text == "ends at 0.217 in" and sheet.text in sheet.widget.children[3].value
    inches = sheet.png
    assert inches != before
    sheet.set(offset=3.0)
    sheet.units_buttons.value = "mm"
    sheet.set(offset=0.5)
    assert sheet.png == before and sheet.text == "ends at 5.5 mm"
    assert [t.get_text() for t in texts_of(sheet.figure)] == words
    sheet.set_units("inch")
    assert sheet.units_buttons.value == "inch" and sheet.png == inches


def test_a_slider_in_inches_stays_in_millimetres_inside() -> None:
    sheet = make_sheet(units="inch")
    slope, offset = sheet.widget.children[:2]
    assert (slope.description, slope.readout) == ("slope", True)  # no length
    sheet.set(offset=2.5)
    assert sheet.values == {"slope": 1.0, "offset": 2.5} and offset.value == 2.5
    assert (offset.description, offset.readout) == ("offset 0.098 in", False)
    sheet.set_units("mm")
    assert (offset.description, offset.readout) == ("offset [mm]", True)
    with pytest.raises(ValueError, match="choose 'mm' or 'inch'"):
        sheet.set_units("cubit")
    with pytest.raises(ValueError, match="furlong"):
        make_sheet(units="furlong")


def test_an_axis_in_millimetres_is_told_in_inches_in_the_picture() -> None:
    """The stored figure is never changed: what is drawn is compared with a figure whose own labels and ticks are in inches."""
    sheet = make_sheet(units="inch")
    drawing, axes = style.figure("A line that rises", 160.0, 80.0)
    axes.set(xlim=(0, 10), ylim=(-20, 20))
    style.label_axes(axes, ("distance", "in"), ("height", "in"))
    axes.plot([0.0, 10.0], [0.0, 10.0], **style.line_style(0))
    x, y = (0, 2.54, 5.08, 7.62), (-0.6, -0.4, -0.2, 0, 0.2, 0.4, 0.6)
    axes.set_xticks(x, ["0", "0.1", "0.2", "0.3"])
    axes.set_yticks([25.4 * v for v in y], [f"{v:g}".replace("-", "−") for v in y])
    mine, own = pixels_of(sheet.png), pixels_of(style.to_png(drawing))
    assert mine.shape == own.shape and np.mean(np.abs(mine - own).max(axis=2) > 8) < 0.01
    assert sheet.figure.axes[0].get_xlabel() == "distance [mm]"


def test_a_sheet_without_lengths_has_no_switch() -> None:
    drawing, _ = style.figure("Shares")
    sheet = HandSheet(drawing, [Control("a", "share", 0.0, 0.0, 1.0, 0.1, "%")], [], lambda v: f"{v['a']:.1f} %", units="inch")
    assert sheet.units_buttons is None and sheet.units == "mm"


@pytest.mark.parametrize("name", panels.SHEETS)
def test_every_joint_sheet_there_and_back(name: str) -> None:
    sheet = getattr(panels, name)(lg.load("slack_water"))
    first, text = sheet.png, sheet.text
    sheet.set_units("inch")
    assert sheet.error is None and sheet.png != first and " mm" not in sheet.text and " in" in sheet.text
    for control in sheet.controls:
        sheet.set(**{control.name: control.high})
    sheet.reset()
    sheet.set_units("mm")
    assert sheet.png == first and sheet.text == text


def test_a_design_in_inches_begins_in_inches() -> None:
    sheet = panels.tilt_sheet(lg.load("cross_tide"))
    assert sheet.units == "inch" and " in" in sheet.text and "mm" not in sheet.text


@pytest.mark.parametrize(("given", "words"), [
    (99, r"offset: 99 mm; allowed is -5 to 5 mm"), (np.nan, "offset: nan mm; allowed"), (np.inf, "offset: inf mm; allowed"),
    (-5.01, "offset: -5.01 mm; allowed is -5 to 5 mm"), ("1 in", "offset: '1 in'; allowed is -5 to 5 mm"),
    ("2 kg", "offset: '2 kg'; allowed is -5 to 5 mm. 'kg' does not measure a length"), (None, "offset: None mm; allowed"),
    (True, "offset: True mm; allowed"), ("", "offset: ''; allowed"), ([1, 2], "offset: .*; allowed"),
])
def test_a_value_that_the_slider_does_not_have_is_refused_and_nothing_moves(given: object, words: str) -> None:
    sheet = make_sheet()
    first, text = sheet.png, sheet.text
    with pytest.raises(ValueError, match=words):
        sheet.set(slope=0.5, offset=given)  # type: ignore[arg-type]
    assert (sheet.png, sheet.text) == (first, text) and sheet.values == {"slope": 1.0, "offset": 0.0}


def test_a_text_with_a_unit_is_taken_and_the_ends_are_too() -> None:
    sheet = make_sheet()
    sheet.set(offset="0.1 in", slope="-1/2")
    assert sheet.values == {"slope": -0.5, "offset": pytest.approx(2.54)}
    sheet.set(offset=0.1 * 50, slope=-2)
    assert sheet.values == {"slope": -2.0, "offset": 5.0}
    turn = Control("tilt", "tilt screw", 0.0, -1.0, 1.0, 0.125, unit="turns")
    assert turn.value_of("90 deg") == pytest.approx(0.25) == turn.value_of("0.25 turns")
    angle = Control("angle", "neck angle", 0.0, -2.0, 2.0, 0.1, unit="deg")
    assert angle.value_of("0.02 rad") == pytest.approx(1.1459, abs=1e-4)
