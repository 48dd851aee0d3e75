# mypy: disable-error-code="valid-type"
"""Strings of one's own and a tuning of one's own, as they stand in a design file.

    [strings]
    gauges = "my twelves"                       # with a list of strings: what they are called
    tuning = ["D2", "A2", "D3", "G3", "A3", "D4"]   # a name, notes, or half tones up: [-2, 0, 0, 0, -2, -2]
    [[strings.set]]
    pitch = "E2"
    diameter = "0.053 in"
    core = "0.018 in"
    wrap = "phosphor bronze"
    [[strings.set]]
    pitch = "B3"
    diameter = "0.4 mm"
"""

from __future__ import annotations

import math
import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, model_validator

from lutherie_geom.design.catalogue import CatalogueError, find, read_table
from lutherie_geom.design.fields import Part, checked
from lutherie_geom.design.units import parse_length
from lutherie_geom.theory.intonation import pitch_ratio, string_mass

__all__ = ["A_TUNING", "OwnString", "note_frequency"]

_NOTE = re.compile(r"([A-Ga-g])\s*(#|♯|sharp|b|♭|flat)?\s*(-?\d)", re.I)
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_BENT = {"#": 1, "♯": 1, "sharp": 1, "b": -1, "♭": -1, "flat": -1}
LOW, HIGH = 20.0, 1500.0
"""Pitches that a string of a guitar or its kin is tuned to [Hz]."""
MOST = 12
"""Half tones that a tuning may move a string, either way."""


def note_frequency(text: Any) -> float:
    """Frequency [Hz] of ``E2``, ``F#3``, ``B flat 2`` (A4 is 440 Hz, C4 the middle C) or ``82.4 Hz``. Raises ValueError."""
    said = text.strip() if isinstance(text, str) else ""
    note = _NOTE.fullmatch(said)
    if note:
        steps = 12 * (int(note[3]) - 4) + _STEPS[note[1].upper()] + _BENT.get((note[2] or "").lower(), 0) - 9
        found = 440.0 * float(pitch_ratio(half_tones=steps))
    else:
        plain = re.fullmatch(r"(\d+\.?\d*)\s*Hz", said, re.I)
        if not plain:
            raise ValueError(f"{text!r} is not a pitch: write a note with its octave, such as \"E2\" or \"F#3\", or \"82.4 Hz\"")
        found = float(plain[1])
    if not LOW <= found <= HIGH:
        raise ValueError(f"{text} is {found:.6g} Hz; allowed is {LOW:g} to {HIGH:g} Hz")
    return found


def _tuning(value: Any) -> str | tuple[float | str, ...]:
    """A name of the table as it stands, or one entry a course: half tones up (a number) or a note. Raises ValueError."""
    if isinstance(value, str):
        return value
    if not isinstance(value, list | tuple) or not value:
        raise ValueError(f"{value!r} is not a tuning: write a name, or a list with a note or half tones for each course")
    for k, v in enumerate(value, 1):
        if isinstance(v, str):
            note_frequency(v)
        elif isinstance(v, bool) or not isinstance(v, int | float) or not abs(v) <= MOST:
            raise ValueError(f"course {k}: {v!r} half tones; allowed is -{MOST} to {MOST}, or a note such as \"D2\"")
    return tuple(value)


A_TUNING = Annotated[str | tuple[float | str, ...], BeforeValidator(_tuning)]
"""Kind of field: a tuning's name, or half tones and notes by course."""


def _size(low: float, high: float) -> Any:
    # No unit beside the field: a tolerance stands on what is made or measured at the bench, and a string is bought.
    return Annotated[float, checked(parse_length, "mm", low, high)]


def _grams(value: Any) -> float:
    """Mass per length [g/m] from ``6.4 g/m`` or ``0.0064 kg/m``. Raises ValueError."""
    said = re.fullmatch(r"\s*(\d+\.?\d*|\.\d+)\s*(k?)g\s*/\s*m\s*", value) if isinstance(value, str) else None
    if not said:
        raise ValueError(f"{value!r} is not a mass for a length: write such as \"6.4 g/m\"")
    return float(said[1]) * (1000 if said[2] else 1)


class OwnString(Part):
    """One string of one's own: its pitch, and what it weighs.

    Plain steel: ``diameter`` alone. Wound: ``diameter``, steel ``core`` and ``wrap`` (a metal of ``data/tables/strings.toml``).
    Or weighed: ``mass_per_metre`` [g/m] with the ``core`` (plain: the ``diameter``). ``course``: which course it belongs to, 1 is
    the bass; leave it out everywhere and every string is a course.
    """

    pitch: Annotated[float, BeforeValidator(note_frequency)]
    diameter: _size(0.1, 3) | None = None
    core: _size(0.1, 1.5) | None = None
    wrap: str | None = None
    mass_per_metre: Annotated[float, checked(_grams, "g/m", 0.05, 50)] | None = None
    course: int | None = Field(default=None, ge=1, le=8)
    name: str | None = Field(default=None, max_length=40)

    @model_validator(mode="after")
    def _whole(self) -> OwnString:
        weighed = self.mass_per_metre is not None
        if self.diameter is None and (self.core is None or not weighed):
            raise ValueError("diameter is missing: a plain string needs it, a wound one diameter, core and wrap, a weighed one "
                             "mass_per_metre and core")
        if self.core is not None and self.diameter is not None and not self.core < self.diameter:
            raise ValueError(f"core, {self.core:g} mm, is not thinner than the whole string, {self.diameter:g} mm; a plain "
                             "string has no core")
        if not weighed and (self.core is None) != (self.wrap is None):
            raise ValueError(f"{'core' if self.core is None else 'wrap'} is missing: a wound string needs both, or "
                             "mass_per_metre")
        if self.wrap is not None:
            try:
                find(self.wrap, read_table("strings")["wraps"], "metal of a wrap")
            except CatalogueError as e:
                raise ValueError(f"wrap: {e}") from None
        return self

    @property
    def wound(self) -> bool:
        """Whether the string has a wrap about its core."""
        return self.core is not None

    @property
    def core_diameter(self) -> float:
        """Diameter of the steel that carries the pull [mm]."""
        thick = self.diameter if self.core is None else self.core
        assert thick is not None
        return float(thick)

    @property
    def mass(self) -> float:
        """Mass [kg/m], as weighed or from the sizes."""
        if self.mass_per_metre is not None:
            return float(self.mass_per_metre) / 1000
        table = read_table("strings")
        wrap = table["wraps"][find(self.wrap, table["wraps"], "metal of a wrap")]["density"] if self.wrap else 0.0
        return float(string_mass(diameter=self.diameter, core_diameter=self.core_diameter, core_density=table["steel"]["density"],
                                 wrap_density=wrap))

    @property
    def source(self) -> str:
        """Where the mass comes from."""
        if self.mass_per_metre is not None:
            return "mass_per_metre of the design"
        table = read_table("strings")
        wrap = table["wraps"][find(self.wrap, table["wraps"], "metal of a wrap")]["source"] if self.wrap else ""
        return f"sizes of the design; steel: {table['steel']['source']}" + (f"; {self.wrap}: {wrap}" if wrap else "")

    def __str__(self) -> str:
        sizes = [f"{self.diameter:g} mm"] if self.diameter else []
        sizes += [f"core {self.core:g} mm"] if self.core else ["plain"]
        sizes += [f"wrap {self.wrap}"] if self.wrap else []
        return f"{self.name or 'string'}: {self.pitch:.2f} Hz, {', '.join(sizes)}, {1000 * self.mass:.3g} g/m"

    __repr__ = __str__


def half_tones(entry: float | str, lowest: float) -> float:
    """Half tones up [1] that an entry of a tuning means for a course whose lower string stands at ``lowest`` [Hz]."""
    return 12 * math.log2(note_frequency(entry) / lowest) if isinstance(entry, str) else float(entry)
