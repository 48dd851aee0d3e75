"""Reading and writing design files. Everything that is wrong is said at once, each with field, value, unit and range."""

from __future__ import annotations

import difflib
import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lutherie_geom.design.files import data_folder

__all__ = ["DesignError", "Problem", "from_text", "load", "names", "save_values"]


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: the field as written in the file, and a sentence."""

    field: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.field}: {self.sentence}" if self.field else self.sentence


class DesignError(ValueError):
    """A design that cannot be read or built. ``problems`` holds every one of them."""

    def __init__(self, problems: list[Problem], source: str = "design") -> None:
        self.problems = tuple(problems)
        head = f"{source}: {len(problems)} problem{'s' if len(problems) != 1 else ''}"
        super().__init__("\n".join([head, *(f"  - {p}" for p in problems)]))


def names() -> list[str]:
    """Names of the demo designs that come with the library."""
    return sorted(p.stem for p in (data_folder() / "designs").glob("*.toml"))


def load(source: str | Path) -> Any:
    """The design in a file, or the demo design of that name. Raises :class:`DesignError`."""
    path = Path(source)
    demo = str(source).strip().lower().replace(" ", "_").replace("-", "_")
    if path.suffix != ".toml" and demo in names():
        path = data_folder() / "designs" / f"{demo}.toml"
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        raise DesignError([Problem("", "the file is not plain text in UTF-8")], str(source)) from None
    except (OSError, ValueError) as e:
        near = difflib.get_close_matches(demo, names(), 1)
        hint = f"; did you mean the demo design {near[0]!r}?" if near else f"; demo designs: {', '.join(names())}"
        reason = e.strerror.lower() if isinstance(e, OSError) and e.strerror else "not a usable file name"
        raise DesignError([Problem("", f"cannot be opened ({reason}){hint}")], str(source)) from None
    return from_text(text, source=path.name, folder=path.parent)


def from_text(text: str, source: str = "design", folder: Path | None = None) -> Any:
    """The design in a TOML text; files that it names lie in ``folder``. Raises :class:`DesignError`."""
    import tomllib

    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError) as e:  # ValueError: bad TOML, or a whole number of thousands of digits
        raise DesignError([Problem("", f"not a TOML file: {e}")], source) from None
    return from_values(values, source, folder)


def from_values(values: dict[str, Any], source: str = "design", folder: Path | None = None) -> Any:
    """The design in a dictionary shaped like the file. A number with a tolerance is taken at its nominal, limits at their
    middle; the tolerances are kept in ``design.tolerances``. Raises :class:`DesignError`."""
    from pydantic import ValidationError

    from lutherie_geom.design.model import Design
    from lutherie_geom.design.possible import problems_of
    from lutherie_geom.design.tolerance_files import of_values

    values, finish, wrong = of_values(values, folder)
    found = [Problem(f, s) for f, s in wrong]
    said = {p.field for p in found}
    try:
        design = Design.model_validate(values)
    except ValidationError as e:
        found += [p for p in _problems(e, Design) if p.field not in said]
        raise DesignError(found, source) from None
    tolerances, late = finish(design)
    found += [Problem(f, s) for f, s in (*late, *problems_of(design))]
    if found:
        raise DesignError(found, source)
    return design.model_copy(update={"tolerances": tolerances}) if tolerances else design


def _problems(error: Any, model: Any) -> Iterator[Problem]:
    for e in error.errors():
        where = [p for p in e["loc"] if not (isinstance(p, str) and ("[" in p or p in ("float", "none")))]
        field = ".".join(str(p) for p in where)
        kind, given = e["type"], e.get("input")
        if kind == "extra_forbidden":
            allowed = _fields(model, where[:-1])
            near = difflib.get_close_matches(str(where[-1]), allowed, 1)
            meant = f"did you mean {near[0]!r}?" if near else f"known here: {', '.join(allowed)}"
            yield Problem(field, f"unknown key; {meant}")
        elif kind == "missing":
            yield Problem(field, "is missing")
        elif kind == "value_error":
            yield Problem(field, str(e["ctx"]["error"]) if "ctx" in e else e["msg"])
        elif kind in ("greater_than_equal", "less_than_equal"):
            yield Problem(field, f"{_short(given)}; allowed is {_range(model, where)}")
        elif kind in ("too_short", "too_long"):
            yield Problem(field, f"holds {e['ctx']['actual_length']}; allowed is {_range(model, where)}, one for each string")
        elif kind == "list_type":
            yield Problem(field, f"{_short(given)} is not a list: write one value for each string, bass to treble, in [ ]")
        else:
            yield Problem(field, f"{_short(given)}: {e['msg'][0].lower()}{e['msg'][1:]}")


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) < 60 else text[:57] + "..."


def _range(model: Any, where: list[Any]) -> str:
    """The limits of a whole number or of a list's length, as the model has them."""
    limits: dict[str, Any] = {}
    for m in _at(model, where[:-1]).model_fields[where[-1]].metadata:
        limits |= {k: getattr(m, k) for k in ("ge", "le", "min_length", "max_length") if hasattr(m, k)}
    low, high = limits.get("ge", limits.get("min_length")), limits.get("le", limits.get("max_length"))
    return f"{low} to {high}"


def _fields(model: Any, where: list[Any]) -> list[str]:
    return list(getattr(_at(model, where), "model_fields", {}))


def _at(model: Any, where: list[Any]) -> Any:
    """The model of the table that stands at a place in the file."""
    for part in where:
        field = getattr(model, "model_fields", {}).get(part)
        if field is None:
            break
        inner = [a for a in (field.annotation, *getattr(field.annotation, "__args__", ())) if hasattr(a, "model_fields")]
        if inner:
            model = inner[0]
    return model


def save_values(path: str | Path, changes: dict[str, Any]) -> None:
    """Set values (``"tilt_screw.pitch": "0.8 mm"``) in a design file, comments and layout kept.

    A tolerance that stood beside the number is kept unless the new text brings its own; limits (``17.9 mm to 18.3 mm``) are
    kept as ± about the new number, and so is what stands with a nominal in the table ``[tolerances]``. A measured sample stays.
    The changed text is validated first and then put in place in one move: a bad value changes nothing, a crash leaves the
    old file whole. Raises :class:`DesignError`.
    """
    import tomlkit

    from lutherie_geom.design.tolerance_files import kept

    path = Path(path)
    document = tomlkit.parse(path.read_text("utf-8"))
    for key, value in changes.items():
        *tables, last = key.split(".")
        place: Any = document
        for t in tables:
            if t not in place:
                place[t] = tomlkit.table()
            place = place[t]
        place[last] = kept(key, _plain(place.get(last)), value)
        _follow(document.get("tolerances"), key)
    text = tomlkit.dumps(document)
    from_text(text, path.name, path.parent)
    handle, fresh = tempfile.mkstemp(dir=path.parent, prefix=path.name, suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as f:
            f.write(text)
            f.flush()
            os.fsync(f.fileno())
        os.replace(fresh, path)
    except BaseException:
        Path(fresh).unlink(missing_ok=True)
        raise


def _plain(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _follow(table: Any, key: str) -> None:
    """Take the nominal out of a tolerance that stands apart from its number, so that it goes with any new number."""
    from lutherie_geom.design.tolerance_files import deviations
    from lutherie_geom.design.tolerances import bare

    parts = key.split(".")
    for k in range(len(parts)):  # the dots may stand inside a key or between tables
        name = ".".join(parts[k:])
        if not isinstance(table, dict):
            return
        for own in [n for n in table if bare(n) == name and isinstance(table[n], str)]:
            table[own] = deviations(key, str(table[own]))
        table = table.get(parts[k])
