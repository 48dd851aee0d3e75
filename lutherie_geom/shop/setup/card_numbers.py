"""What stands on the turn card: steps, turns for a wanted change, travel, keys and what to take care of. Numbers; no drawing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.units import INCH
from lutherie_geom.design.units import format_short as length
from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.coupling import turns_for
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, edge_margin, string_places
from lutherie_geom.joint.travel import Travel, travel
from lutherie_geom.joint.turning import way
from lutherie_geom.shop.hardware import hex_key, named_thread
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.fitting import AsMeasured
from lutherie_geom.shop.setup.hands import LAST, Hands, clamp_rule

__all__ = ["CAUTIONS", "Card", "CardError", "card", "keys_of", "length", "right_is"]

STEPS = (Fraction(1, 8), Fraction(1, 16))
STEER = (Fraction(1, 16), Fraction(1, 48))
WANTED: Mapping[str, tuple[float, ...]] = MappingProxyType({
    "mm": (-0.5, -0.3, -0.2, -0.1, 0.1, 0.2, 0.3, 0.5),
    "inch": tuple(INCH * v for v in (-0.020, -0.012, -0.008, -0.004, 0.004, 0.008, 0.012, 0.020))})
"""Changes of the mean action at fret 12 for which the card gives the turns [mm]."""
CAUTIONS = (
    "Wear eye protection: a string under tension that breaks, whips.",
    "Small steps, and tune after each: the pitch moves with the neck.",
    "Before a pivot screw is turned: slacken the strings, then the clamp screw. Tighten the clamp before you tune up.",
    "Never force a screw: find what touches. Strings off before the neck comes off.",
    "If anything creaks, slips or stays loose, slacken the strings and have it looked at by someone who repairs for a living.",
)

class CardError(ValueError):
    """A card that cannot be made; the message says which word or value and what is allowed."""


def right_is(handed: str, seen_from: str) -> str:
    """The side, bass or treble, on the right of one who looks along the body from ``soundhole`` or ``heel``, soundboard up."""
    return "treble" if (handed == "right") == (seen_from == "soundhole") else "bass"


def keys_of(design: Any) -> tuple[tuple[str, str], ...]:
    """Screw and the hex key that fits it, as the cut list has them; where no table knows, a line to write on."""
    def key(standard: str, diameter: float, pitch: float) -> str:
        named = named_thread(diameter, pitch)
        found = hex_key(standard, named)
        return f"{found} ({named.name}{', measure it and write it here' if found.startswith('_') else ''})"

    t, c, p = design.tilt_screw, design.clamp, design.pivot
    return (("tilt screw", key("ISO 4762", t.diameter, t.pitch)), ("clamp screw", key("ISO 4762", c.diameter, c.pitch)),
            ("pivot screws", key("ISO 4026-4029", p.screw_diameter, p.pitch)))


@dataclass(frozen=True)
class Card:
    """One turn card, texts in the reader's units. ``tilt_steps``, ``steer_steps``, ``changes``, ``places``: rows of text under
    their heads; ``ways``: by screw and sense, what to turn which way; ``stops``: (turn, words) within and at the ends of travel.
    """

    name: str
    about: str
    handed: str
    system: str
    seen_from: str
    right: str
    ways: tuple[tuple[str, str, str], ...]
    tilt_steps: tuple[tuple[str, ...], ...]
    steer_steps: tuple[tuple[str, ...], ...]
    changes: tuple[tuple[str, ...], ...]
    places: tuple[tuple[str, ...], ...]
    low: float
    high: float
    stops: tuple[tuple[float, str], ...]
    last_turn: str
    clamp: str
    keys: tuple[tuple[str, str], ...]
    learned: bool
    design: Any = field(repr=False)

    def __str__(self) -> str:
        lines = [f"Turn card: {self.name} ({self.handed}-handed)", *(f"{a}: {b} {c}" for a, b, c in self.ways), self.last_turn,
                 self.clamp]
        for rows in (self.tilt_steps, self.steer_steps, self.changes, self.places):
            wide = [max(len(r[k]) for r in rows) for k in range(len(rows[0]))]
            lines += ["", *("  ".join(v.ljust(w) for v, w in zip(r, wide, strict=True)).rstrip() for r in rows)]
        lines += ["", f"travel of the tilt screw: {self.low:+.2f} to {self.high:+.2f} turns",
                  *(f"  {t:+.2f}  {w}" for t, w in self.stops), *(f"key of the {s}: {k}" for s, k in self.keys), "", *CAUTIONS]
        return "\n".join(lines)

    __repr__ = __str__


def card(design: Any, *, units: str | None = None, learned: Any = None, hands: Hands | None = None) -> Card:
    """The turn card of a design, or of one instrument: ``learned`` is what :func:`.learn.learn` found. Lengths in ``units``
    (``mm`` or ``inch``; by default as the design says). Raises :class:`CardError`, also where the learned contradicts itself."""
    system = units or design.units
    if system not in WANTED:
        raise CardError(f"units: {system!r}; allowed is mm or inch")
    known, hands = design, hands or Hands()
    if learned is not None:
        if not learned.trusted:
            raise CardError(f"learned: readings contradict each other, no card can rest on them; {'; '.join(learned.suspects)}")
        known, hands = AsMeasured(design, learned.applied(design.dimensions())), learned.hands(hands)
    d = known.dimensions()
    t = travel(known)
    screw, piv = design.tilt_screw, design.pivot
    up, down = (way(screw.hand, screw.key_from, positive, "tilt") for positive in (True, False))
    out, inward = (way(piv.hand, piv.key_from, positive, "pivot") for positive in (True, False))
    front = "right" if design.handed == "right" else "left"  # where the treble side lies, seen from the front, nut up
    back = "left" if front == "right" else "right"
    ways = (("Raise the action", "tilt screw", up), ("Lower the action", "tilt screw", down),
            (f"Neck's nut end to the treble ({front}, seen from the front, nut up)", "bass screw",
             f"{out}; treble screw as much, {inward.split(',')[0]}"),
            (f"Neck's nut end to the bass ({back})", "bass screw", f"{inward}; treble screw as much, {out.split(',')[0]}"))
    over = turn_text(float(hands.over(float(d.pitch_tilt)))).lstrip("+")
    over_pivot = turn_text(float(hands.over(float(d.pitch_pivot)))).lstrip("+")
    lowers, goes_out = LAST[0] < 0, LAST[1] > 0
    ends_down, ends_out = (down if lowers else up).split(",")[0], (out if goes_out else inward).split(",")[0]
    last = (f"Always end in the same sense: the tilt screw by {'lowering' if lowers else 'raising'} ({ends_down}). To "
            f"{'raise' if lowers else 'lower'}, go {over} turn past the mark and come back. A pivot screw ends by going "
            f"{'out' if goes_out else 'in'} ({ends_out}): to drive it {'in' if goes_out else 'out'}, go {over_pivot} turn past "
            "and come back.")
    said = clamp_rule(design)[1]
    clamp = f"{said[0].upper()}{said[1:]}."
    ends = [s for s in t.stops if s.turn is not None and t.low - 1e-6 <= s.turn <= t.high + 1e-6]
    stops = tuple((float(s.turn or 0.0), s.words + (" (warning, no stop)" if s.kind == "warning" else ""))
                  for s in sorted(ends, key=lambda s: s.turn or 0.0))
    return Card(name=design.name, about=design.about, handed=design.handed, system=system, seen_from=screw.key_from,
                right=right_is(design.handed, screw.key_from), ways=ways, tilt_steps=_tilt_steps(d, system),
                steer_steps=_steer_steps(d, system), changes=_changes(d, t, system), places=_places(d, t, system),
                low=t.low, high=t.high, stops=stops, last_turn=last, clamp=clamp, keys=keys_of(design),
                learned=learned is not None, design=known)


def _tilt_steps(d: Dimensions, system: str) -> tuple[tuple[str, ...], ...]:
    head = ("tilt screw, up", "action 12 bass", "action 12 treble", "least gap")
    base, steps = pose(d), np.array([float(s) for s in STEPS])
    up = pose(d, tilt=steps)
    a, g = action(up, 12)[:, 0] - action(base, 12), least_gap(up).gap - least_gap(base).gap
    return (head, *((f"{s} turn", length(float(a[0, k]), system, True),
                     length(float(a[-1, k]), system, True), length(float(g[k]), system, True)) for k, s in enumerate(STEPS)))


def _steer_steps(d: Dimensions, system: str) -> tuple[tuple[str, ...], ...]:
    base, steps = pose(d), np.array([float(s) for s in STEER])
    p = pose(d, bass=steps, treble=-steps)
    side = p.to_body(d.x_nut, 0.0, 0.0).y - base.to_body(d.x_nut, 0.0, 0.0).y
    shift = (string_places(p, d.last_fret)[:, 0] - string_places(base, d.last_fret)).mean(axis=0)
    a = (action(p, 12)[:, 0] - action(base, 12)).mean(axis=0)

    def to(v: float) -> str:
        return f"{length(abs(v), system)} to {'treble' if v > 0 else 'bass'}"

    head = ("bass out, treble in", "nut end", "strings at the last fret", "mean action 12")
    return (head, *((f"{s} turn each", to(float(side[k])), to(float(shift[k])), length(float(a[k]), system, True))
                    for k, s in enumerate(STEER)))


def _changes(d: Dimensions, t: Travel, system: str) -> tuple[tuple[str, ...], ...]:
    wanted = np.array(WANTED[system])
    turns = np.asarray(turns_for(d, action_change=wanted, sideways=0.0).tilt)
    after = pose(d, tilt=turns)
    gap = least_gap(after).gap
    rows = []
    for w, n, g in zip(wanted, turns, gap, strict=True):
        fits = t.low <= n <= t.high
        rows.append((length(float(w), system, True), f"{n:+.3f}", turn_text(round(32 * float(n)) / 32), f"{abs(12 * n):.1f}",
                     "raise" if n > 0 else "lower", length(float(g), system) if fits else "past the stop"))
    return (("action 12, mean", "turns", "to the nearest 1/32", "hours on a clock face", "way", "least gap then"), *rows)


def _places(d: Dimensions, t: Travel, system: str) -> tuple[tuple[str, ...], ...]:
    p = pose(d, tilt=np.array([t.low, 0.0, t.high]))
    a, fit, g = action(p, 12)[:, 0], heel_fit(p), least_gap(p).gap
    bass, treble = edge_margin(p, d.last_fret)
    margin = np.minimum(bass, treble)[0]
    floor, reveal = fit.floor.min(axis=(0, 1)), fit.reveal.min(axis=(0, 1))
    names = (f"lowest ({t.low:+.2f})", "as designed (0)", f"highest ({t.high:+.2f})")
    head = ("tilt screw at", "action 12 bass", "treble", "gap", "floor clearance", "reveal", "string to edge")
    return (head, *((n, *(length(float(v), system) for v in (a[0, k], a[-1, k], g[k], floor[k], reveal[k], margin[k])))
                    for k, n in enumerate(names)))
