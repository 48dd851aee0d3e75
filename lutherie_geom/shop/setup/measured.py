"""What a feeler gauge and a ruler show on set-up day, each reading with its error.

A sheet of readings is a small TOML text; every length brings its unit, and may bring its own error (``± 0.05 mm``, taken as two
standard deviations). Without one, the error is that of the gauge: a feeler gauge for heights, a steel ruler for margins and for
the string over the soundboard. Only what was measured is written::

    [gauge]                   # only where it is another one
    action = "feeler gauge, fine set"

    [action.12]               # at a fret: outer strings, or "each" with one reading for every string, bass to treble
    bass = "2.40 mm"
    treble = "1.75 mm ± 0.06 mm"
    [relief]
    middle = "0.25 mm"        # between fret 1 and the joint fret
    [nut]                     # underside of the string in its slot, over the line of the crowns
    bass = "0.45 mm"
    treble = "0.30 mm"
    [margin]                  # string to the board's edge at the last fret, as seen from the front, nut up
    left = "3.5 mm"
    right = "3.2 mm"
    [gap]
    end = "1.05 mm"           # under the tongue's end, on the centreline
    [saddle]                  # underside of the string over the soundboard, at the saddle
    bass = "11.9 mm"
    treble = "10.9 mm"

Inside, a reading is known by its key (``action.12.bass``, ``margin.left``) and all lengths are in mm. Values may be arrays:
one reading of many instruments. Left-handed instruments: left and right are what the eye sees; bass and treble are the strings.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.spread import SpreadError, read_spread
from lutherie_geom.design.units import UnitsError, parse_length
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.shop.words import length
from lutherie_geom.studies.measuring import MeasuringError, gauge

__all__ = ["Measured", "SheetError", "measured", "one_reading", "side_of", "words_of"]

RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"action": (0.0, 10.0), "relief": (-0.5, 1.5), "nut": (0.0, 3.0), "margin": (-2.0, 20.0), "gap": (0.0, 10.0),
     "saddle": (1.0, 30.0)})
"""What can be read at all [mm]; not what is usual."""
PLACES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"relief": ("middle",), "nut": ("bass", "treble"), "margin": ("left", "right"), "gap": ("end",),
     "saddle": ("bass", "treble")})
GAUGES: Mapping[str, str] = MappingProxyType(
    {"action": "feeler gauge", "relief": "feeler gauge", "nut": "feeler gauge", "gap": "feeler gauge", "margin": "steel ruler",
     "saddle": "steel ruler"})
"""The gauge that is meant when none is named (common practice, no source)."""
_KEY = re.compile(r"(?:action\.(?P<fret>[1-9]\d?)\.(?:bass|treble|string_[1-8])"
                  r"|(?:nut|saddle)\.(?:bass|treble)|margin\.(?:left|right)|relief\.middle|gap\.end)")


class SheetError(ValueError):
    """Readings that cannot be used. ``problems`` holds every one: field, value, unit, and what is allowed."""

    def __init__(self, problems: list[str], source: str = "readings") -> None:
        self.problems = tuple(problems)
        head = f"{source}: {len(problems)} problem{'s' if len(problems) != 1 else ''}"
        super().__init__("\n".join([head, *(f"  - {p}" for p in problems)]))


def side_of(margin: str, handed: str) -> str:
    """The string, bass or treble, that a person who looks at the top, nut up, sees on the left or right."""
    return "bass" if (margin == "left") == (handed == "right") else "treble"


def words_of(key: str) -> str:
    """A reading's key in words."""
    kind, _, rest = key.partition(".")
    if kind == "action":
        fret, _, string = rest.partition(".")
        return f"action at fret {fret}, {string.replace('_', ' ')}"
    return {"relief": "relief", "nut": f"string at the nut, {rest}", "margin": f"margin at the last fret, {rest}",
            "gap": "gap under the tongue's end", "saddle": f"string over the soundboard at the saddle, {rest}"}[kind]


@dataclass(frozen=True)
class Measured:
    """Readings by key [mm] and the standard deviation of each [mm]; values may be arrays, one number for each instrument."""

    values: Mapping[str, Array]
    errors: Mapping[str, float]
    handed: str = "right"
    units: Any = field(default="mm", compare=False)

    def __post_init__(self) -> None:
        problems = []
        for key, value in self.values.items():
            kind = key.partition(".")[0]
            if not _KEY.fullmatch(key):
                near = difflib.get_close_matches(key, _known(), 1, 0.5)
                problems.append(f"{key}: no such reading; " + (f"did you mean {near[0]!r}?" if near else f"known: {_known()}"))
                continue
            low, high = RANGES[kind]
            v = np.asarray(value, dtype=float)
            if not np.all((v >= low) & (v <= high)):
                worst = float(v.ravel()[int(np.argmax(~((v >= low) & (v <= high)).ravel()))])
                problems.append(f"{key}: {worst:g} mm; allowed is {low:g} to {high:g} mm")
            sd = self.errors.get(key, math.nan)
            if not (math.isfinite(sd) and 0 < sd <= 5):
                problems.append(f"{key}: error (standard deviation) {sd:g} mm; it must be more than 0 and at most 5 mm")
        if self.handed not in ("right", "left"):
            problems.append(f"handed: {self.handed!r}; it must be 'right' or 'left'")
        if problems:
            raise SheetError(problems)

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def __iter__(self) -> Iterator[str]:
        return iter(self.values)

    def get(self, key: str) -> Array:
        """The reading [mm], nan when it was not taken."""
        return self.values.get(key, math.nan)

    def margin(self, side: str) -> str:
        """Key of the margin at the ``bass`` or ``treble`` side of this instrument."""
        return f"margin.{'left' if side_of('left', self.handed) == side else 'right'}"

    @property
    def frets(self) -> tuple[int, ...]:
        """Frets at which the action was read."""
        return tuple(sorted({int(k.split(".")[1]) for k in self.values if k.startswith("action.")}))

    def __str__(self) -> str:
        if any(np.ndim(v) for v in self.values.values()):
            return f"readings of many instruments: {', '.join(self.values)}"
        system = self.units
        return "\n".join(f"{words_of(k):<52}{length(float(v), system)}, standard deviation {length(self.errors[k], system)}"
                         for k, v in self.values.items())

    __repr__ = __str__


def _known() -> list[str]:
    return ["action.12.bass", "action.12.treble", "action.12.string_1", *(f"{k}.{p}" for k, ps in PLACES.items() for p in ps)]


def measured(source: str | Path | Mapping[str, Any], design: Any) -> Measured:
    """Readings from a TOML file, a TOML text, or a dictionary shaped like it, of an instrument of this design.

    Raises :class:`SheetError` with every problem at once.
    """
    table, name = _table(source)
    problems: list[str] = []
    errors = _gauges(table.pop("gauge", {}), problems)
    values: dict[str, Array] = {}
    sds: dict[str, float] = {}
    for key, text in _flat(table, problems):
        try:
            usual = errors[key.partition(".")[0]]
            values[key], own = one_reading(text)
            sds[key] = usual if own is None else own
        except (UnitsError, SpreadError) as e:
            problems.append(f"{key}: {e}")
        except KeyError:
            problems.append(f"{key}: no such reading; known: {', '.join(_known())}")
    for key in list(values):
        if _KEY.fullmatch(key):
            problems += _misfit(key, design)
    try:
        found = Measured(values, sds, design.handed, design.units)
    except SheetError as e:
        raise SheetError([*problems, *e.problems], name) from None
    if problems:
        raise SheetError(problems, name)
    if not values:
        raise SheetError(["holds no reading; give at least [action.12] with bass and treble"], name)
    return found


def _table(source: Any) -> tuple[dict[str, Any], str]:
    if isinstance(source, Mapping):
        return dict(source), "readings"
    import tomllib

    name = "readings"
    if isinstance(source, Path) or (isinstance(source, str) and source.strip().endswith(".toml") and "\n" not in source):
        name = Path(source).name
        try:
            source = Path(source).read_text("utf-8")
        except (OSError, UnicodeDecodeError) as e:
            reason = e.strerror.lower() if isinstance(e, OSError) and e.strerror else "not plain text in UTF-8"
            raise SheetError([f"cannot be read ({reason})"], name) from None
    if not isinstance(source, str):
        raise SheetError([f"{source!r} is no file, TOML text or dictionary"])
    try:
        return tomllib.loads(source), name
    except (ValueError, RecursionError) as e:
        raise SheetError([f"not a TOML text: {e}"], name) from None


def _gauges(named: Any, problems: list[str]) -> dict[str, float]:
    chosen = dict(GAUGES)
    if not isinstance(named, Mapping):
        problems.append(f"gauge: {named!r} is not a table; write [gauge] and below it action = \"feeler gauge\"")
        named = {}
    for kind, name in named.items():
        if kind not in chosen:
            problems.append(f"gauge.{kind}: no such kind of reading; known: {', '.join(chosen)}")
            continue
        chosen[kind] = str(name)
    out = {}
    for kind, name in chosen.items():
        try:
            out[kind] = float(gauge(name).uncertainty(1))
        except (MeasuringError, CatalogueError) as e:
            problems.append(f"gauge.{kind}: {e}")
            out[kind] = float(gauge(GAUGES[kind]).uncertainty(1))
    return out


def _flat(table: Mapping[str, Any], problems: list[str], at: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in table.items():
        key = f"{at}.{name}" if at else str(name)
        if isinstance(value, Mapping):
            yield from _flat(value, problems, key)
        elif isinstance(value, list | tuple):
            if not key.endswith(".each"):
                problems.append(f"{key}: a list; only action at a fret takes one, as each = [...], one reading for every string")
            else:
                yield from ((f"{key.removesuffix('each')}string_{i + 1}", v) for i, v in enumerate(value))
        else:
            yield key, value


def one_reading(text: Any) -> tuple[float, float | None]:
    """Value and, if it was written, its own standard deviation [mm]."""
    if isinstance(text, str) and re.search(r"±|\+/-|\+-", text):
        s = read_spread(text)
        if s.nominal is None:
            raise SpreadError(f"{text!r}: write the reading and then its error, as in 2.40 mm ± 0.06")
        return float(s.nominal), float(s.standard_deviation)
    return parse_length(text), None


def _misfit(key: str, design: Any) -> Iterator[str]:
    fret = _KEY.fullmatch(key)
    number = fret.group("fret") if fret else None
    if number and int(number) > design.board.last_fret:
        yield f"{key}: fret {number}; the board has {design.board.last_fret}: allowed is 1 to {design.board.last_fret}"
    string = key.rpartition("string_")[2] if "string_" in key else ""
    if string and int(string) > design.count:
        yield f"{key}: string {string}; allowed is 1 to {design.count}, bass to treble"
