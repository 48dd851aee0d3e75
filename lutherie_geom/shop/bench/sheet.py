"""Readings of the bench proof as a builder writes them: a TOML file with units, blank to fill in, and read back.

Only what was measured is written. A reading may bring its own error (``11.9 mm ± 0.2``, two standard deviations)::

    [[turned]]
    tilt = "-1/2 turn"
    "straightedge.bridge" = "11.0 mm"
    "floor.foot_bass" = "0.80 mm"
    [feel]
    tilt = "free"             # free, stiff, binds, loose
    [seen]
    head_bears = true
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lutherie_geom.design.spread import SpreadError, read_value
from lutherie_geom.design.units import UnitsError
from lutherie_geom.shop.bench.proof import FEEL, NOW_OR_NEVER, ProofSheet, gauge_error
from lutherie_geom.shop.bench.readings import BENCH_READINGS
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.measured import SheetError, one_reading

__all__ = ["BenchReadings", "SCREWS", "Taken", "bench_readings", "blank"]

SCREWS = ("tilt", "bass", "treble", "clamp")
LOW, HIGH = -20.0, 60.0  # what can be read at all [mm]
_KEYS = tuple(r.key for r in BENCH_READINGS)


@dataclass(frozen=True)
class Taken:
    """One reading: its key, the turn of the tilt screw [turn], its value and standard deviation [mm]."""

    key: str
    tilt: float
    value: float
    sd: float


@dataclass(frozen=True)
class BenchReadings:
    """All that was read, felt and seen."""

    taken: tuple[Taken, ...]
    feel: Mapping[str, str]
    seen: Mapping[str, bool]


def blank(sheet: ProofSheet) -> str:
    """A file to fill in, with what each reading should be beside it."""
    from lutherie_geom.shop.setup.card_numbers import length

    lines = [f"# Bench proof of {sheet.design.name}, before the box is closed. Leave out what was not measured.",
             "# Lengths with their unit; a reading may bring its own error: \"11.9 mm ± 0.2\".", ""]
    for k, turn in enumerate(sheet.turns):
        lines += ["[[turned]]", f'tilt = "{turn_text(turn)} turn"']
        for r, e, f in zip(sheet.readings, sheet.expected[:, k], sheet.fine[:, k], strict=True):
            if e == e:  # read at this turn
                should = f"{r.words}: {length(e, sheet.system)}, fine within {length(f, sheet.system)}"
                lines.append(f'# "{r.key}" = ""   # {should}')
        lines.append("")
    lines += [f"[feel]   # from stop to stop: {', '.join(FEEL)}", *(f'# {s} = ""' for s in SCREWS), "",
              "[seen]   # true or false"]
    lines += [f"# {k} = true   # {q}" for k, (q, _) in NOW_OR_NEVER.items()]
    return "\n".join(lines) + "\n"


def bench_readings(source: str | Path, design: Any) -> BenchReadings:
    """Readings out of a file, or out of a TOML text (which has more than one line).

    Raises :class:`SheetError` with everything that is wrong.
    """
    name, text = "readings", str(source)
    if isinstance(source, Path) or "\n" not in source:
        name = Path(source).name
        try:
            text = Path(source).read_bytes().decode("utf-8")
        except (OSError, ValueError) as e:
            reason = e.strerror.lower() if isinstance(e, OSError) and e.strerror else "not plain text in UTF-8"
            raise SheetError([f"cannot be read ({reason})"], name) from None
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as e:
        raise SheetError([f"not a TOML text: {e}"], name) from None
    wrong = [_unknown(k, k, ("turned", "feel", "seen")) for k in table if k not in ("turned", "feel", "seen")]
    taken = _taken(table.get("turned", []), design, wrong)
    feel, seen = (_words(table, n, wrong) for n in ("feel", "seen"))
    for k, v in feel.items():
        if k not in SCREWS:
            wrong.append(_unknown(f"feel.{k}", k, SCREWS))
        elif v not in FEEL:
            wrong.append(f"feel.{k}: {v!r}; allowed is {', '.join(FEEL)}")
    for k, v in seen.items():
        if k not in NOW_OR_NEVER:
            wrong.append(_unknown(f"seen.{k}", k, NOW_OR_NEVER))
        elif not isinstance(v, bool):
            wrong.append(f"seen.{k}: {v!r}; allowed is true or false")
    if wrong:
        raise SheetError(wrong, name)
    if not (taken or feel or seen):
        raise SheetError(["holds nothing that was read, felt or seen"], name)
    return BenchReadings(tuple(taken), feel, seen)


def _unknown(field: str, key: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(key, list(known), 1, 0.5)
    return f"{field}: unknown; " + (f"did you mean {near[0]!r}?" if near else f"known: {', '.join(known)}")


def _words(table: Mapping[str, Any], name: str, wrong: list[str]) -> dict[str, Any]:
    found = table.get(name, {})
    if not isinstance(found, dict):
        wrong.append(f"{name}: {found!r} is no table; write [{name}] and below it one line for each")
        return {}
    return found


def _taken(groups: Any, design: Any, wrong: list[str]) -> list[Taken]:
    from lutherie_geom.joint.travel import REACH

    found: list[Taken] = []
    if not isinstance(groups, list) or not all(isinstance(g, dict) for g in groups):
        wrong.append("turned: write [[turned]] with two brackets for each turn at which something was read")
        return found
    for k, g in enumerate(groups, 1):
        try:
            tilt = read_value(str(g.get("tilt", "")), "turn", "turn")
        except UnitsError:
            wrong.append(f"turned[{k}].tilt: {g.get('tilt', 'missing')!r} must be a turn of the tilt screw, as \"-1/2 turn\"")
            continue
        if not -REACH <= tilt <= REACH:
            wrong.append(f"turned[{k}].tilt: {tilt:g} turns; allowed is {-REACH:g} to {REACH:g} turns")
            continue
        for key, text in _flat(g):
            field = f"turned[{k}].{key}"
            if key not in _KEYS:
                wrong.append(_unknown(field, key, _KEYS))
                continue
            try:
                value, sd = one_reading(text)
            except (UnitsError, SpreadError) as e:
                wrong.append(f"{field}: {e}")
                continue
            if not LOW <= value <= HIGH:
                wrong.append(f"{field}: {value:g} mm; allowed is {LOW:g} to {HIGH:g} mm")
            elif any(t.key == key and t.tilt == tilt for t in found):
                wrong.append(f"{field}: read twice at {tilt:g} turns; write the mean")
            else:
                found.append(Taken(key, tilt, value, gauge_error(BENCH_READINGS[_KEYS.index(key)]) if sd is None else sd))
    return found


def _flat(g: Mapping[str, Any], before: str = "") -> Iterable[tuple[str, Any]]:
    for key, value in g.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        elif before or key != "tilt":
            yield f"{before}{key}", value
