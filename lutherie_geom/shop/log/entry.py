"""An entry of the set-up log: what it may hold, and the text that it is kept as.

Turns are counted from the nominal place of each screw [turn]; lengths in mm; humidity inside is a fraction, in the text per cent.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType

__all__ = ["CHANGES", "LASTS", "Entry", "LogError", "LogReading", "entry_from", "entry_text", "meant", "standing", "turn_text"]

OWN = MappingProxyType({"straightedge.bridge": ("straightedge on the frets over the soundboard, at the bridge", -10.0, 40.0)})
"""Readings that a log may hold beside those of a set-up sheet (:mod:`.measured`): words, and what can be read at all [mm]."""
LASTS = ("raising", "lowering")
"""Senses in which the tilt screw's last turn may have moved the action."""
CHANGES = ("saddle", "nut", "relief", "frets", "strings", "other")
"""Bench work after which readings do not go on where they were."""
MOST_TURNS = 12.0
_WITHDRAWN = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d\S*)(?: (\S+))?")
_RANGES = (("tilt", -MOST_TURNS, MOST_TURNS, "turns", 9), ("bass", -MOST_TURNS, MOST_TURNS, "turns", 9),
           ("treble", -MOST_TURNS, MOST_TURNS, "turns", 9), ("humidity", 0.0, 1.0, "", 5),
           ("temperature", -30.0, 60.0, "degC", 3))


class LogError(ValueError):
    """An entry, or a file, that cannot be used. ``problems`` holds every one: field, value, unit, range."""

    def __init__(self, problems: list[str], source: str = "log entry") -> None:
        self.problems = tuple(problems)
        head = f"{source}: {len(problems)} problem{'s' if len(problems) != 1 else ''}"
        super().__init__("\n".join([head, *(f"  - {p}" for p in problems)]))


@dataclass(frozen=True)
class LogReading:
    """One reading [mm] and its standard deviation [mm]; kept to a millionth of a millimetre."""

    value: float
    sd: float

    def __post_init__(self) -> None:
        for name in ("value", "sd"):
            object.__setattr__(self, name, round(float(getattr(self, name)), 6) + 0.0)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One block of the log. ``when`` knows its time zone; ``who`` and ``words`` are free text; ``tilt``, ``bass``, ``treble``:
    where the screws stand [turn]; ``humidity`` (fraction) and ``temperature`` [degC] may be unknown; ``readings`` by key.
    ``last``: sense of the tilt screw's last turn, of :data:`LASTS`, None where it was not noted; ``changed``: what was worked on
    before these readings, of :data:`CHANGES`; ``withdraws``: readings of earlier entries that do not count any more, each as
    ``2024-01-01 12:30 action.12.bass`` (without a key: all of that entry), the reason in ``words``.

    Raises :class:`LogError` with everything that is wrong.
    """

    when: datetime
    who: str
    tilt: float = 0.0
    bass: float = 0.0
    treble: float = 0.0
    humidity: float | None = None
    temperature: float | None = None
    readings: Mapping[str, LogReading] = field(default_factory=dict)
    words: str = ""
    last: str | None = None
    changed: tuple[str, ...] = ()
    withdraws: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        wrong: list[str] = []
        if not isinstance(self.when, datetime) or self.when.utcoffset() is None:
            wrong.append(f"when: {self.when} has no time zone; write it as 2026-11-25 19:30:00+00:00")
        else:
            object.__setattr__(self, "when", self.when.replace(microsecond=0))
        for name, most in (("who", 80), ("words", 4000)):
            text = str(getattr(self, name)).replace("\r\n", "\n").strip()
            wrong += _text_problems(name, text, most)
            object.__setattr__(self, name, text)
        if not self.who:
            wrong.append("who: is empty; write who was at the bench")
        for name, low, high, unit, digits in _RANGES:
            value = getattr(self, name)
            if value is None and name in ("humidity", "temperature"):
                continue
            if not _number(value) or not low <= value <= high:
                said = f"{value} as a fraction; allowed is 0 to 1 (0 to 100 % RH)" if name == "humidity" else (
                    f"{value} {unit}; allowed is {low:g} to {high:g} {unit}")
                wrong.append(f"{name}: {said}")
            else:
                object.__setattr__(self, name, round(float(value), digits) + 0.0)
        for key, r in self.readings.items():
            wrong += _reading_problems(key, r)
        for name in ("changed", "withdraws"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        if self.last not in (None, *LASTS):
            wrong.append(f"last: {self.last!r}; allowed is {' or '.join(LASTS)}")
        wrong += [f"changed: {c!r}; allowed is {', '.join(CHANGES)}" for c in self.changed if c not in CHANGES]
        wrong += [f"withdraws: {w!r}; write date, time and reading, as 2024-01-01 12:30 action.12.bass" for w in self.withdraws
                  if not _WITHDRAWN.fullmatch(w)]
        if self.withdraws and not self.words:
            wrong.append("words: is empty; write why the reading is withdrawn")
        object.__setattr__(self, "readings", MappingProxyType(dict(self.readings)))
        if wrong:
            raise LogError(wrong)

    def __reduce__(self) -> tuple[object, ...]:  # a mapping proxy cannot be pickled
        return _entry, ({n: getattr(self, n) for n in self.__dataclass_fields__} | {"readings": dict(self.readings)},)

    def __str__(self) -> str:
        return entry_text(self).rstrip("\n")

    __repr__ = __str__


def _entry(values: dict[str, object]) -> Entry:
    return Entry(**values)  # type: ignore[arg-type]


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _text_problems(name: str, text: str, most: int) -> Iterator[str]:
    if len(text) > most:
        yield f"{name}: {len(text)} letters; allowed is up to {most}"
    odd = [c for c in text if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") and not (c == "\n" and name == "words")]
    if odd:
        yield f"{name}: holds the sign {odd[0]!r}, which has no place in a line of text"


def meant(entries: Iterable[Entry], withdrawn: str) -> list[tuple[int, str]]:
    """Readings that a withdrawal speaks of: (number of the entry, from 0; key)."""
    when, key = _WITHDRAWN.fullmatch(withdrawn).groups()  # type: ignore[union-attr]
    return [(i, k) for i, e in enumerate(entries) if e.when.isoformat(" ").startswith(when)
            for k in e.readings if key in (None, k)]


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """The entries, in the order in which they were written, without the readings that a later one withdraws."""
    out: list[Entry] = []
    for e in entries:
        for w in e.withdraws:
            gone = set(meant(out, w))
            out = [replace(o, readings={k: r for k, r in o.readings.items() if (i, k) not in gone}) for i, o in enumerate(out)]
        out.append(e)
    return out


def _reading_problems(key: str, r: object) -> Iterator[str]:
    if not isinstance(r, LogReading):
        yield f"{key}: {r!r} is not a reading with its error"
    elif key in OWN:
        _, low, high = OWN[key]
        if not low <= r.value <= high:
            yield f"{key}: {r.value:g} mm; allowed is {low:g} to {high:g} mm"
        if not 0 < r.sd <= 5:
            yield f"{key}: error (standard deviation) {r.sd:g} mm; it must be more than 0 and at most 5 mm"
    else:
        from lutherie_geom.shop.setup.measured import Measured, SheetError

        try:
            Measured({key: r.value}, {key: r.sd})
        except SheetError as e:
            yield from (f"{p} (or {', '.join(OWN)})" if "no such reading" in p else p for p in e.problems)


def turn_text(turn: float) -> str:
    """Turns as a hand sets them, ``+1/8``, ``-1 1/2``; other turns as a decimal [turn]."""
    nearest = Fraction(turn).limit_denominator(64)
    if nearest.denominator not in (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64) or abs(float(nearest) - turn) > 5e-10:
        return f"{'+' if turn > 0 else ''}{turn!r}"
    whole, part = divmod(abs(nearest), 1)
    said = " ".join(str(p) for p in (whole, part) if p) or "0"
    return said if not nearest else f"{'-' if nearest < 0 else '+'}{said}"


def _turn(text: str) -> float:
    sign, body = (-1 if text.startswith("-") else 1), text.lstrip("+-")
    return round(sign * float(sum(Fraction(p) for p in body.split())), 9)


def entry_text(e: Entry) -> str:
    """The entry as lines of plain text; reading it back gives the same entry."""
    lines = [f"== {e.when.isoformat(' ')}, {e.who}",
             f"turns: tilt {turn_text(e.tilt)}, bass {turn_text(e.bass)}, treble {turn_text(e.treble)}"]
    lines += [f"last turn: {e.last}"] if e.last else []
    lines += [f"changed: {', '.join(e.changed)}"] if e.changed else []
    lines += [f"withdrawn: {w}" for w in e.withdraws]
    air = ([] if e.humidity is None else [f"{100 * e.humidity:.8g} % RH"]) + (
        [] if e.temperature is None else [f"{e.temperature!r} degC"])
    lines += [f"air: {', '.join(air)}"] if air else []
    lines += [f"read: {k} {r.value!r} mm, sd {r.sd!r} mm" for k, r in e.readings.items()]
    lines += ["words: " + e.words.replace("\n", "\n  ")] if e.words else []
    return "\n".join(lines) + "\n"


def entry_from(body: str) -> Entry:
    """The entry in a text made by :func:`entry_text`; ValueError or KeyError for anything else."""
    when, who = body.split("\n", 1)[0].removeprefix("== ").split(", ", 1)
    values: dict[str, object] = {"when": datetime.fromisoformat(when), "who": who}
    withdraws: list[str] = []
    readings: dict[str, LogReading] = {}
    words: list[str] = []
    for line in body.rstrip("\n").split("\n")[1:]:
        kind, _, rest = line.partition(": ")
        if words or kind == "words":
            words.append(rest if not words else line[2:])
        elif kind == "turns":
            values |= {screw: _turn(t) for screw, _, t in (p.partition(" ") for p in rest.split(", "))}
        elif kind == "last turn":
            values["last"] = rest
        elif kind == "changed":
            values["changed"] = tuple(rest.split(", "))
        elif kind == "withdrawn":
            withdraws.append(rest)
        elif kind == "air":
            for said in rest.split(", "):
                number = float(said.split(" ")[0])
                values["temperature" if said.endswith("degC") else "humidity"] = number if said.endswith("degC") else number / 100
        elif kind == "read":
            key, value, _, _, sd, _ = rest.split(" ")
            readings[key] = LogReading(float(value), float(sd))
        else:
            raise ValueError(f"the line {line!r} is not known")
    return Entry(**values, withdraws=tuple(withdraws), readings=readings, words="\n".join(words))  # type: ignore[arg-type]
