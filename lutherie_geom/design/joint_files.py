"""Reading the description of a joint (``data/joints``). Everything that is wrong is said at once, field by field."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.fields import Part
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.joints import CHANGES, KINDS, Adjuster, AnyContact, JointFile, Spring
from lutherie_geom.design.load import DesignError, Problem, _problems

__all__ = ["joint_from_text", "joint_from_values", "joint_names", "joint_text", "load_joint"]


def joint_names() -> list[str]:
    """Names of the joints that come with the library."""
    return sorted(p.stem for p in (data_folder() / "joints").glob("*.toml"))


def load_joint(source: str | Path) -> JointFile:
    """The joint in a file, or the one of that name in the library. Raises :class:`DesignError`."""
    path, name = Path(source), str(source).strip().lower().replace(" ", "_").replace("-", "_")
    if path.suffix != ".toml" and name in joint_names():
        path = data_folder() / "joints" / f"{name}.toml"
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        raise DesignError([Problem("", "the file is not plain text in UTF-8")], str(source)) from None
    except (OSError, ValueError):
        near = difflib.get_close_matches(name, joint_names(), 1)
        hint = f"did you mean {near[0]!r}?" if near else f"known joints: {', '.join(joint_names())}"
        raise DesignError([Problem("", f"there is no such file and no joint of that name; {hint}")], str(source)) from None
    return joint_from_text(text, path.name)


def joint_from_text(text: str, source: str = "joint") -> JointFile:
    """The joint in a TOML text. Raises :class:`DesignError`, which holds every problem."""
    import tomllib

    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError) as e:
        raise DesignError([Problem("", f"not a TOML file: {e}")], source) from None
    return joint_from_values(values, source)


def joint_from_values(values: dict[str, Any], source: str = "joint") -> JointFile:
    """The joint in a dictionary shaped like the file. Raises :class:`DesignError`."""
    found: list[Problem] = []
    contacts = [c for c in (_contact(t, at, found) for at, t in _tables(values, "contacts", found)) if c is not None]
    adjusters = [a for a in (_valid(Adjuster, t, at, found) for at, t in _tables(values, "adjusters", found)) if a is not None]
    if isinstance(values.get("bodies"), list):
        found.append(Problem("bodies", "there are always two, the neck and the body that holds it: write one table [bodies] with "
                                       'neck = "..." and body = "..." for what you call them'))
        values = {k: v for k, v in values.items() if k != "bodies"}
    whole = _valid(JointFile, {k: v for k, v in values.items() if k not in ("contacts", "adjusters")}, "", found)
    found += [p for c in contacts for p in _possible(c)]
    broken = len(contacts) < len(values.get("contacts", ())) if isinstance(values.get("contacts"), list) else False
    found += _together(contacts, adjusters, broken)
    if found or whole is None:
        raise DesignError(found, source)
    found_joint: JointFile = whole.model_copy(update={"contacts": tuple(contacts), "adjusters": tuple(adjusters)})
    return found_joint


def joint_text(joint: JointFile) -> str:
    """A joint as the text of a file that :func:`joint_from_text` reads back: what was left as it comes is left out."""
    import tomlkit

    return tomlkit.dumps(_plain(joint))


def _plain(part: Any) -> dict[str, Any]:
    """The fields of a part that differ from what they are when left out, as a file writes them, units and all."""
    found: dict[str, Any] = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if value is None or (value == field.default and name != "kind"):
            continue
        unit = _unit(field)
        if isinstance(value, tuple) and value and isinstance(value[0], Part):
            found[name] = [_plain(v) for v in value]
        elif isinstance(value, Part):
            found[name] = _plain(value)
        elif isinstance(value, tuple):
            found[name] = [f"{v!r} mm" for v in value] if name in ("at", "head") else list(value)
        elif unit in ("mm", "N"):
            found[name] = f"{value!r} {unit}"
        else:
            found[name] = f"{value!r} rad" if unit == "rad" else value
    return found


def _unit(field: Any) -> str:
    """Unit of a field, one that may be left out too; empty for words, places and counts."""
    extras = [field.json_schema_extra, *(getattr(m, "json_schema_extra", None) for a in getattr(field.annotation, "__args__", ())
                                         for m in getattr(a, "__metadata__", ()))]
    return next((str(e["unit"]) for e in extras if isinstance(e, dict) and "unit" in e), "")


def _tables(values: dict[str, Any], key: str, found: list[Problem]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table of a list, with the words by which a problem names it."""
    tables = values.get(key, [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        found.append(Problem(key, f"is not a list of tables: begin each one with [[{key}]]"))
        return
    for k, t in enumerate(tables):
        name = t.get("name")
        yield (f"{key}.{name}" if isinstance(name, str) and name else f"{key}.{k + 1}"), t


def _valid(model: Any, table: dict[str, Any], at: str, found: list[Problem]) -> Any:
    from pydantic import ValidationError

    try:
        return model.model_validate(table)
    except ValidationError as e:
        found += [Problem(f"{at}.{p.field}" if at else p.field, p.sentence) for p in _problems(e, model)]
        return None


def _contact(table: dict[str, Any], at: str, found: list[Problem]) -> Any:
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        near = difflib.get_close_matches(str(kind), list(KINDS), 1)
        hint = f"did you mean {near[0]!r}?" if near else f"known kinds: {', '.join(KINDS)}"
        said = "is missing" if kind is None else f"{kind!r} is not a kind of contact"
        found.append(Problem(f"{at}.kind", f"{said}; {hint}"))
        return None
    return _valid(KINDS[kind], table, at, found)


def _possible(c: Any) -> Iterator[Problem]:
    """Geometry between the fields of one contact."""
    at = f"contacts.{c.name}"
    if hasattr(c, "rim_radius") and c.rim_radius >= c.ball_radius:
        yield Problem(f"{at}.rim_radius", f"{c.rim_radius:g} mm is not less than the ball's radius, {c.ball_radius:g} mm: "
                                          "the ball falls through")
    faces, along = getattr(c, "faces", None), getattr(c, "along", None)
    if faces is not None and along is not None:
        turned = float(np.degrees(np.arccos(min(1.0, abs(float(np.dot(faces, along)))))))
        if turned < 80:
            yield Problem(f"{at}.along", f"lies {turned:.1f} deg from faces; allowed is 80 to 90 deg: a groove or face runs "
                                         "square to the way in which it pushes")
    if getattr(c, "face", None) is not None and np.dot(c.face, c.along) > -0.2:
        yield Problem(f"{at}.face", "does not face the screw: it must point against along, within 78 deg")
    if hasattr(c, "head"):
        gap = float(np.linalg.norm(np.subtract(c.head, c.at)))
        if gap < 0.5:
            yield Problem(f"{at}.head", f"lies {gap:.3g} mm from at; allowed is 0.5 mm and more")
        elif faces is not None and abs(float(np.dot(np.subtract(c.head, c.at), faces))) / gap < 0.2:
            yield Problem(f"{at}.faces", "lies almost square to the screw, which would slide along its plane without holding")


def _together(contacts: list[Any], adjusters: list[Adjuster], broken: bool) -> Iterator[Problem]:
    """What must fit between contacts and adjusters."""
    by_name: dict[str, AnyContact] = {c.name: c for c in contacts}
    for key, parts in (("contacts", contacts), ("adjusters", adjusters)):
        for name, count in Counter(p.name for p in parts).items():
            if count > 1:
                yield Problem(f"{key}.{name}", f"{count} {key} have this name; each needs its own")
    if not broken and all(isinstance(c, Spring) or getattr(c, "preload", None) is not None for c in contacts):
        yield Problem("contacts", "is missing: a joint needs at least one contact that holds (springs and clamps only press)")
    for a in adjusters:
        at, c = f"adjusters.{a.name}", by_name.get(a.contact)
        if c is None:
            if not broken:
                near = difflib.get_close_matches(a.contact, list(by_name), 1)
                hint = f"did you mean {near[0]!r}?" if near else f"contacts: {', '.join(by_name)}"
                yield Problem(f"{at}.contact", f"no contact is named {a.contact!r}; {hint}")
            continue
        if not isinstance(c, CHANGES[a.changes]) or getattr(c, "preload", None) is not None:
            fits = [k for k, kinds in CHANGES.items() if isinstance(c, kinds) and getattr(c, "preload", None) is None]
            yield Problem(f"{at}.changes", f"{a.changes!r} does not fit {c.name!r}, a {getattr(c, 'kind', '')}; "
                                           + (f"allowed is {' or '.join(map(repr, fits))}" if fits else "it can't be adjusted"))
        if a.changes in ("seat", "ball") and a.along is None:
            yield Problem(f"{at}.along", f"is missing: a turn moves the {a.changes}, say in which direction")
