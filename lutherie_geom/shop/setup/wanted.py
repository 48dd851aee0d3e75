"""What the builder wants: action at a fret, each with how far off is still fine, centring, relief, and slots at the nut.

Written as a dictionary or a TOML text in the builder's own numbers::

    bass = "2.2 mm"           # or each = [...], one for every string, bass to treble
    treble = "1.7 mm"
    within = "0.15 mm"        # either way; 0.15 mm unless said otherwise
    relief = "0.15 mm"        # the design's, unless said otherwise

``low``, ``medium`` and ``high`` are names in a dictionary of such targets: nobody else can say what they mean.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.limits import Limits, Window
from lutherie_geom.design.units import UnitsError, parse_length
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.words import length

__all__ = ["Wanted", "WantedError", "read_target", "wanted"]

WITHIN = 0.15
"""Half of the action's window [mm] unless said otherwise: half of what the trade calls a low and a medium action apart
(common practice, no source)."""
CENTRING, RELIEF, NUT = 0.5, 0.05, 0.1  # how far off is still fine [mm]: common practice, no source
_RANGES = {"bass": (0.3, 8.0), "treble": (0.3, 8.0), "each": (0.3, 8.0), "within": (0.02, 1.0), "centring": (0.05, 5.0),
           "relief": (0.0, 1.5), "relief_within": (0.01, 0.5), "nut_bass": (0.05, 3.0), "nut_treble": (0.05, 3.0),
           "nut_within": (0.01, 0.5)}


class WantedError(ValueError):
    """A target that makes no sense; the message names field, value, unit and range."""


@dataclass(frozen=True)
class Wanted:
    """Targets [mm]. ``each``: action of every string at ``fret``, (strings,); ``within`` and its like: half-windows.

    A nut height of None leaves the slots as they are. ``wishes``: what the builder wrote, by key.
    """

    fret: int
    each: tuple[float, ...]
    within: float = WITHIN
    centring: float = CENTRING
    relief: float = 0.0
    relief_within: float = RELIEF
    nut: tuple[float, float] | None = None
    nut_within: float = NUT
    name: str = ""
    per_string: bool = False
    wishes: frozenset[str] = frozenset()

    @property
    def ends(self) -> tuple[float, float]:
        """Action wanted of the outer strings [mm]: bass, treble."""
        return self.each[0], self.each[-1]

    def limits(self, design: Any) -> Limits:
        """The same as limits for the search: action and centring of this target, all else as the design has it."""
        bass, treble = (Window(low=a - self.within, high=a + self.within) for a in self.ends)
        changes = {"fret": self.fret, "action_bass": bass, "action_treble": treble,
                   "centring": Window(low=-self.centring, high=self.centring)}
        return design.limits.model_copy(update=changes)

    def said(self, system: Any = "mm") -> str:
        """The target in one line."""
        bass, treble = (length(v, system) for v in self.ends)
        return (f"{self.name + ': ' if self.name else ''}action at fret {self.fret} {bass} bass, {treble} treble, within "
                f"{length(self.within, system)} either way")

    def __str__(self) -> str:
        return self.said()


def wanted(design: Any, target: Any = None, levels: Mapping[str, Any] | None = None) -> Wanted:
    """The target of a set-up. ``target``: a :class:`Wanted`, a dictionary or TOML text, a name out of ``levels``, or None for
    the design's own action. Raises :class:`WantedError`."""
    if isinstance(target, Wanted):
        return target
    name = ""
    if isinstance(target, str) and "=" not in target:
        known = list(levels or ())
        if target not in known:
            near = difflib.get_close_matches(target, known, 1)
            raise WantedError(f"target: {target!r} is not among the builder's own levels; "
                              + (f"did you mean {near[0]!r}?" if near else f"known: {', '.join(known) or 'none given'}"))
        name, target = target, (levels or {})[target]
    if isinstance(target, str):
        import tomllib

        try:
            target = tomllib.loads(target)
        except ValueError as e:
            raise WantedError(f"target: not a TOML text: {e}") from None
    if target is not None and not isinstance(target, Mapping):
        raise WantedError(f"target: {target!r}; give a dictionary with bass and treble, a name, or nothing")
    return _of_table(design, dict(target or {}), name)


def read_target(place: str | Path, name: str = "", *more: str) -> tuple[Any, dict[str, Any]]:
    """Target and levels, as :func:`wanted` takes them, from a TOML file: one target, or a table for each of several, of which
    ``name`` picks one. Raises :class:`WantedError`."""
    import tomllib

    try:
        table = tomllib.loads(Path(place).read_text("utf-8"))
    except OSError as e:
        raise WantedError(f"target: {Path(place).name} cannot be read ({(e.strerror or 'no file').lower()})") from None
    except ValueError as e:
        raise WantedError(f"target: {Path(place).name} is not a TOML text: {e}") from None
    levels = {k: v for k, v in table.items() if isinstance(v, Mapping)}
    if more:
        raise WantedError(f"target: {', '.join((name, *more))}: give one name; known: {', '.join(levels) or 'none'}")
    if not name and levels:
        raise WantedError(f"target: {Path(place).name} holds several targets; give the name of one: {', '.join(levels)}")
    return name or table, levels


def _of_table(design: Any, table: dict[str, Any], name: str) -> Wanted:
    own = design.target
    fret = table.pop("fret", own.fret if own is not None else design.limits.fret)
    if isinstance(fret, bool) or not isinstance(fret, int) or not 2 <= fret <= design.board.last_fret:
        raise WantedError(f"target.fret: {fret!r}; allowed is a whole number from 2 to {design.board.last_fret}")
    unknown = sorted(set(table) - set(_RANGES))
    if unknown:
        near = difflib.get_close_matches(unknown[0], _RANGES, 1)
        raise WantedError(f"target.{unknown[0]}: unknown key; "
                          + (f"did you mean {near[0]!r}?" if near else f"known: fret, {', '.join(_RANGES)}"))
    given: dict[str, Any] = {k: [_length(k, x) for x in v] if k == "each" and isinstance(v, list | tuple) else _length(k, v)
                             for k, v in table.items()}
    each = given.pop("each", None)
    ends = given.pop("bass", None), given.pop("treble", None)
    if each is not None and (not isinstance(each, list) or len(each) != design.count or ends != (None, None)):
        raise WantedError(f"target.each: give one length for each of the {design.count} strings, bass to treble, and then no "
                          "bass and treble")
    nut = given.pop("nut_bass", None), given.pop("nut_treble", None)
    if (nut[0] is None) != (nut[1] is None):
        raise WantedError("target.nut_bass: give nut_bass and nut_treble together, or neither")
    per_string = each is not None
    if each is None:
        if (ends[0] is None) != (ends[1] is None):
            raise WantedError("target.bass: give bass and treble together, or each")
        each = np.linspace(*ends, design.count).tolist() if ends[0] is not None else _own(design, fret)
    return Wanted(fret, tuple(each), relief=given.pop("relief", design.board.relief), nut=nut if nut[0] is not None else None,
                  name=name, per_string=per_string, wishes=frozenset(table), **given)


def _own(design: Any, fret: int) -> list[float]:
    """The design's own action at the fret, all turns zero [mm]."""
    return [float(a) for a in action(pose(design.dimensions()), fret)[:, 0]]


def _length(key: str, text: Any) -> float:
    low, high = _RANGES[key]
    try:
        value = parse_length(text)
    except UnitsError as e:
        raise WantedError(f"target.{key}: {e}") from None
    if not low <= value <= high:
        raise WantedError(f"target.{key}: {text} is {value:g} mm; allowed is {low:g} to {high:g} mm")
    return value
