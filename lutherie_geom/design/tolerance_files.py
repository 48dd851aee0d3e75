"""Tolerances as they stand in files: beside a number (``18.0 mm ± 0.2``), in a table, or as a measured sample.

    pivot.z = "-20 mm ± 0.2"                        # on the number itself
    [tolerances]
    "tongue.gap" = "± 0.3 mm"                       # or apart from it
    "strings.saddle_heights" = "± 0.1 mm"           # each string on its own, unless named in common
    "heel.ball_height" = "± 0.2 mm rectangular"     # an error at the bench that no field stands for
    "pivot.x" = { measured = ["-3.52 mm", "-3.61 mm", "-3.58 mm"] }
    "pocket.depth" = { measured = "pockets.csv" }   # one column beside the design file
    common = ["strings.saddle_heights"]
    [[tolerances.groups]]
    names = ["tilt_screw.receiver_z", "tongue.gap"]
    correlation = 0.7

A tolerance of zero is allowed; a sample needs three pieces or more. ``17.9 mm to 18.3 mm`` stands for the number in the middle.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from lutherie_geom.design.spread import DASHES, KINDS, Spread, SpreadError, read_spread, read_value
from lutherie_geom.design.tolerances import Group, Tolerances, is_count, is_list, misfits, number_fields, unit_of_field, unknown
from lutherie_geom.design.units import UnitsError

__all__ = ["deviations", "has_spread", "kept", "of_values", "read_entry", "read_tables", "taken_out"]

Wrong = list[tuple[str, str]]  # field, sentence
_PLAIN = {"mm", "rad", "N"}  # units that a builder writes out
_SPREAD = re.compile(r"±|\+\s*/\s*-|\+-|\bto\b|\bsd\b|[^\d\s][\d.]*\s+[+-]\s*[\d.]+[^+]*[+-]\s*[\d.]|"
                     rf"\bIT\s*\d+$|\b({'|'.join(KINDS)})$", re.I)


def has_spread(text: Any) -> bool:
    """True for a text that holds a tolerance beside, or instead of, a plain number."""
    return isinstance(text, str) and bool(_SPREAD.search(text.translate(DASHES).strip()))


def _read(text: Any, unit: str) -> Spread:
    """A spread in a field's unit; the unit of a plain number may be left out, as it is beside the number itself."""
    if unit in _PLAIN or not isinstance(text, str):
        return read_spread(text, unit)
    try:
        return replace(read_spread(text, ""), unit=unit)
    except SpreadError:
        return replace(read_spread(re.sub(rf"\s*{re.escape(unit)}(?!\w)", "", text) if unit else text, ""), unit=unit)


def _sample(given: Any, unit: str, folder: Path) -> Spread:
    if isinstance(given, str):
        given = _column(given, folder)
    if not isinstance(given, list):
        raise SpreadError(f"measured = {given!r}; it must be a list of values or the name of a file beside this one")
    values = []
    for k, v in enumerate(given, 1):
        try:
            if isinstance(v, str):
                values.append(read_value(v, unit) if unit in _PLAIN else float(v.replace(unit, "")))
            elif isinstance(v, bool) or unit in _PLAIN:
                raise UnitsError(f"{v!r} has no unit: write it as a text with its unit")
            else:
                values.append(float(v))
        except (TypeError, ValueError) as e:  # a UnitsError is a ValueError
            raise SpreadError(f"measured value {k}: {e}") from None
    return Spread.measured(values, unit=unit)


def _column(name: str, folder: Path) -> list[str]:
    """Values of a file with one column; a heading such as ``depth [mm]`` or ``mm`` lends its unit to bare numbers."""
    try:
        lines = (folder / name).read_text("utf-8-sig").splitlines()
    except (OSError, ValueError) as e:
        reason = (e.strerror or "unusable name").lower() if isinstance(e, OSError) else "not plain text in UTF-8"
        raise SpreadError(f"measured file {name!r} cannot be read ({reason})") from None
    rows = [line.strip().strip(",;").strip('"') for line in lines]
    rows = [r for r in rows if r and not r.startswith("#")]
    # A comma in every row is a column too many, unless it stands for the point.
    if more := next((r for r in rows if re.search(r"[;\t]|,.*[,.]|[^\d\s],", r)), ""):
        raise SpreadError(f"measured file {name!r} has more than one column ({more!r}): leave the one with the sizes")
    unit = ""
    if rows and not re.match(r"[+\-\u2212]?\s*[.\d]", rows[0]):
        found = re.search(r"[\[(](.+?)[\])]", rows[0])
        unit = found[1] if found else rows[0].split()[-1]
        rows = rows[1:]
    return [f"{r} {unit}".strip() if re.fullmatch(r"[+\-\u2212]?[\d.]+(?:[eE][+-]?\d+)?", r) else r for r in rows]


def read_entry(value: Any, unit: str, folder: Path | None = None) -> Spread:
    """A spread in ``unit`` from a text, or from ``{ measured = [...] }``; files lie in ``folder``. Raises SpreadError."""
    if isinstance(value, dict):
        if set(value) != {"measured"}:
            raise SpreadError(f"{sorted(map(str, value))} is not known here; write a text, or {{ measured = [...] }}")
        return _sample(value["measured"], unit, folder or Path())
    return _read(value, unit)


def read_tables(table: Mapping[str, Any], groups: Any, common: Any, unit: Callable[[str], str], folder: Path | None = None
                ) -> tuple[dict[str, Spread], tuple[Group, ...], frozenset[str], Wrong]:
    """Spreads by name, groups and common names from a file's tables, and all that is wrong; ``unit(name)`` gives the unit of
    a name or raises SpreadError."""
    found: dict[str, Spread] = {}
    wrong: Wrong = []
    for name, value in table.items():
        try:
            of = unit(name)
        except SpreadError as e:
            wrong.append(("", str(e)))
            continue
        try:
            found[name] = read_entry(value, of, folder)
        except SpreadError as e:
            wrong.append((name, str(e)))
    made = []
    for g in groups if isinstance(groups, list) else [groups]:
        try:
            if not isinstance(g, dict) or set(g) != {"names", "correlation"} or not isinstance(g["names"], list):
                raise SpreadError("groups: each needs names (a list) and correlation, nothing else")
            made.append(Group(tuple(map(str, g["names"])), g["correlation"]))
        except SpreadError as e:
            wrong.append(("", str(e)))
    if not isinstance(common, list):
        wrong.append(("", "common: must be a list of names"))
        common = []
    return found, tuple(made), frozenset(map(str, common)), wrong


_DEEP = 6  # tables in tables: no design has more, and a file of thousands must not end the program


def _copied(values: Any, deep: int = _DEEP) -> Any:
    if deep and isinstance(values, dict):
        return {k: _copied(v, deep - 1) for k, v in values.items()}
    return [_copied(v, deep - 1) for v in values] if deep and isinstance(values, list) else values


def _places(values: Any, before: str = "", deep: int = _DEEP) -> Iterator[tuple[Any, Any, str]]:
    """Every (holder, key, dotted name) of a dictionary shaped like the file; lists count from 1."""
    pairs = values.items() if isinstance(values, dict) else enumerate(values, 1)
    for key, value in pairs:
        name = f"{before}[{key}]" if isinstance(values, list) else f"{before}.{key}" if before else str(key)
        if isinstance(value, dict | list):
            if deep > 1:
                yield from _places(value, name, deep - 1)
        else:
            yield values, key - 1 if isinstance(values, list) else key, name


def taken_out(values: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Spread], Wrong]:
    """The values with plain numbers where tolerances stood, the tolerances as deviations, and what is wrong with them."""
    values = _copied(values)
    found: dict[str, Spread] = {}
    wrong: Wrong = []
    for holder, key, name in list(_places({k: v for k, v in values.items() if k != "tolerances"})):
        text = holder[key]
        if not has_spread(text):
            continue
        unit = unit_of_field(name)
        if unit is None and not is_count(name):
            continue
        try:
            if unit is None:
                raise SpreadError(str(unknown(name)).removeprefix(f"{name}: "))
            s = _read(text, unit)
            if not s.absolute and s.nominal is None:
                raise SpreadError(f"{text!r} is a tolerance without its number; write the number before it")
        except SpreadError as e:
            wrong.append((name, str(e)))
            continue
        middle = (s.low + s.high) / 2 if s.absolute else s.nominal
        assert middle is not None
        holder[key] = f"{middle!r} {unit}" if unit in _PLAIN else middle
        found[name] = replace(s.about(middle), nominal=None)
    return values, found, wrong


def of_values(values: dict[str, Any], folder: Path | None = None) -> tuple[dict[str, Any], Any, Wrong]:
    """The values of a design file without its tolerances, what makes the :class:`Tolerances` once the design stands, and what
    is wrong so far. ``finish(design)`` gives the tolerances and what else is wrong."""
    values, beside, wrong = taken_out(values)
    table = values.pop("tolerances", {})
    if not isinstance(table, dict):
        wrong.append(("tolerances", f"{table!r} is not a table"))
        table = {}
    flat = _flat(table)
    found, groups, common, more = read_tables(flat, table.get("groups", []), table.get("common", []), _unit, folder)
    wrong += [(f"tolerances.{name}" if name else "tolerances", s) for name, s in more]
    for name in sorted(set(found) & set(beside)):
        wrong.append((f"tolerances.{name}", "has a tolerance beside its number too; keep one of the two"))
    wrong += [("tolerances", s) for s in misfits(found | beside, groups, common, is_list)]

    def finish(design: Any) -> tuple[Tolerances, Wrong]:
        late: Wrong = []
        done = dict(beside)
        for name, s in found.items():
            try:
                done[name] = replace(_about(design, name, s), nominal=None)
            except SpreadError as e:
                late.append((f"tolerances.{name}", str(e)))
        return (Tolerances() if late or wrong else Tolerances(done, groups, common)), late

    return values, finish, wrong


def _flat(table: dict[str, Any]) -> dict[str, Any]:
    """Entries by dotted name, however the dots were written (``"pivot.z" =`` or ``pivot.z =``)."""
    found: dict[str, Any] = {}

    def walk(inner: dict[str, Any], before: str, deep: int = _DEEP) -> None:
        for key, value in inner.items():
            name = f"{before}.{key}" if before else key
            if deep and isinstance(value, dict) and unit_of_field(name) is None:
                walk(value, name, deep - 1)
            else:
                found[name] = value

    walk({k: v for k, v in table.items() if k not in ("groups", "common")}, "")
    return found


def _unit(name: str) -> str:
    unit = unit_of_field(name)
    if unit is None:
        raise unknown(name)
    return unit


def _about(design: Any, name: str, s: Spread) -> Spread:
    """The spread as deviations from the design's own value."""
    value: Any = design
    if name not in number_fields() and "[" not in name:
        return s.about(0.0, name)  # an error at the bench
    for part in re.findall(r"[^.\[\]]+", name):
        try:
            value = value[int(part) - 1] if isinstance(value, list) else getattr(value, part)
        except IndexError:
            raise SpreadError(f"there is no {part}; allowed is 1 to {len(value)}") from None
        if value is None:
            if s.absolute:
                raise SpreadError("the design leaves the number to be computed; write ± and the tolerance alone")
            return s
    if isinstance(value, list):
        if s.absolute or s.nominal is not None:
            raise SpreadError("holds one number a string; write ± and the tolerance alone, or one string's as "
                              f'"{name}[1]"')
        return s
    if s.kind == "measured" or s.absolute or s.nominal is not None:
        try:
            return s.about(float(value), "it")
        except SpreadError as e:
            raise SpreadError(str(e).removeprefix("it: ")) from None
    return s


def kept(name: str, old: Any, new: Any) -> Any:
    """The new text for a number, with the tolerance that stood beside the old one; a tolerance in the new text goes before."""
    if isinstance(old, list) and isinstance(new, list):
        pairs = zip(old, new, strict=False)
        return [kept(f"{name}[{i}]", a, b) for i, (a, b) in enumerate(pairs, 1)] + new[len(old) :]
    unit = unit_of_field(name)
    if unit is None or not has_spread(old) or has_spread(new) or isinstance(new, list):
        return new
    return f"{new} {deviations(name, str(old))}"


def deviations(name: str, text: str) -> str:
    """A tolerance written without its nominal, ``17.9 mm to 18.3 mm`` as ``± 0.2 mm rectangular``."""
    unit = unit_of_field(name)
    try:
        s = _read(text, unit or "")
    except SpreadError:
        return text  # what is wrong is said when the whole file is read
    middle = (s.low + s.high) / 2 if s.absolute else s.nominal or 0.0
    return str(replace(s.about(middle), nominal=None, unit=s.unit if unit in _PLAIN else ""))
