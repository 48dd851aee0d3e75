"""What every hand sheet must do, whatever it shows: its sliders answer, and reset brings the very first picture back."""

from __future__ import annotations

import re
from collections.abc import Collection

from lutherie_geom.show.control import Control
from lutherie_geom.show.inches import texts_of
from lutherie_geom.show.sheet import HandSheet

STEPS = 3
NO_NUMBER = re.compile(r"\b(nan|inf)\b|(?<![\d.])[-−]0(\.0+)?(?![\d.])", re.IGNORECASE)  # a nought has no sign


def steps_of(control: Control, count: int) -> list[float]:
    """So many values, a step apart, from the start toward the farther end (in the control's unit); fewer where it ends before."""
    up = control.high - control.start >= control.start - control.low
    ahead = [control.start + (k if up else -k) * control.step for k in range(1, count + 1)]
    return [v for v in ahead if control.low <= v <= control.high]


def every_slider_answers(sheet: HandSheet, small: Collection[str] = ()) -> None:
    """Move every slider of a sheet that stands at its start: a few steps, then both ends; reset after each slider.

    No error, and no nan, inf or -0 in the words or in the picture's texts. Every step away from the start changes the picture;
    of the sliders named in ``small``, whose steps may be less than a pixel, one value at least does. Reset gives the same
    picture, to the byte, and the same words.
    """
    first, words = sheet.png, sheet.text
    for control in sheet.controls:
        changed = []
        for value in (*steps_of(control, STEPS), control.low, control.high):
            where = f"{control.name} = {value}"
            sheet.set(**{control.name: value})
            assert sheet.error is None, f"{where}: {sheet.text}"
            told = [sheet.text, *(text.get_text() for text in texts_of(sheet.figure))]
            assert not (wrong := [t for t in told if NO_NUMBER.search(t)]), f"{where}: {wrong}"
            changed.append(sheet.png != first)
            assert changed[-1] or value == control.start or control.name in small, f"{where} leaves the picture as it was"
        assert any(changed), f"{control.name} never changes the picture"
        sheet.reset()
        assert sheet.png == first and sheet.text == words, f"reset after {control.name}: another picture or other words"
