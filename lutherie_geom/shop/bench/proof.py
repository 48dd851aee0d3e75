"""Before the box is closed: what the prototype should read at given turns, how far off is still fine, and what can only be seen
or mended now.

How far off is still fine: no further than 95 in 100 joints built within the design's own tolerances are (first order), and no
further than leaves the least travel that makes a new instrument playable (:data:`WANTED_DOWN`, :data:`WANTED_UP`); but never
nearer than the gauge can tell. That travel does not last for years: how long the drawing's own travel lasts is told beside it
(:mod:`.studies.budget`). A number without a tolerance of its own is taken at the usual one (:data:`USUAL`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.input_words import words_and_names
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import Travel, travel
from lutherie_geom.joint.turning import WANTED_LOWERING, WANTED_RAISING
from lutherie_geom.shop.bench.readings import BENCH_READINGS, BenchReading, reading_of
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.card_numbers import length
from lutherie_geom.shop.setup.measured import SheetError
from lutherie_geom.studies.first_order import COVER_95, propagate
from lutherie_geom.studies.measuring import gauge
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.studies.usual import USUAL, usual

__all__ = ["CAUTIONS", "FEEL", "NOW_OR_NEVER", "ProofSheet", "USUAL", "expected_at", "gauge_error", "gradient",
           "proof_sheet", "rooms_of", "suspects"]

SHARES = (1 / 2, 1 / 4, 1 / 8, 1 / 16)
LEAST_FINE = 0.05
"""No reading is asked to be nearer than this [mm]: wood and hand do not keep it (common practice, no source)."""
NOW_OR_NEVER: Mapping[str, tuple[str, str]] = MappingProxyType({
    "head_bears": ("The tilt screw's captive head bears flat on the block all round; its washer spring pushes it back.",
                   "behind the glued cover it can neither be seen nor reached again"),
    "cover": ("The cover fits, holds the head captive and lets the key in; it is not yet glued.",
              "once glued it comes off in pieces only"),
    "key_reaches": ("With the soundhole's edge in place, the key reaches every screw and has room to swing.",
                    "key holes cannot be moved through the soundhole"),
    "hole_clear": ("The tilt screw runs clear of its hole in the block from stop to stop.",
                   "the hole can be eased from inside only while a cutter gets in"),
    "seats_firm": ("The seats' inserts stand square and firm; their glue is hard.",
                   "an insert is bored and glued from a bench, not through the soundhole"),
    "block_glued": ("The block's glue lines at sides and soundboard are closed: no feeler goes in.",
                    "a gap behind the block cannot be glued once the back is on"),
})
"""Questions for the eye: what must be so, and why it is now or never."""
FEEL = {"free": "", "stiff": "turns, but not evenly: look for a rubbing screw, glue in a thread, a swivel that does not swing",
        "binds": "stops before its stop: the hole is too narrow, a receiver is out of line, or the clamp binds",
        "loose": "turns without moving the neck: the head is not captive, or a thread does not hold"}
"""What a screw may feel like from stop to stop, and what is behind it."""
SET_UP = "Neck bolted on without strings, clamp tight, pivot screws at 0; press the nut end up so that the screws bear."
PATTERN = ("Off by the same at every turn: a place or a thickness. Off by more with every turn: the thread's pitch, or the arm "
           "(heights of pivot and tilt screw).")
WANTED_DOWN, WANTED_UP = -WANTED_LOWERING, WANTED_RAISING
"""The least travel [turn] to set a new instrument up with: common practice, no source. Seasons and years ask for more."""
CAUTIONS = (
    "No strings are on, so nothing holds the neck but the clamp screw: support it by hand.",
    "Clamp the body before you turn hard; wear eye protection when you cut, drill or sand, and a dust mask near carbon rods.",
    "Electric cutters: follow the maker's instructions and the rules of your place.",
    "The proof is of shape. Whether glue and wood hold the strings must be proved by load, slowly, and behind a guard.",
)


@dataclass(frozen=True)
class ProofSheet:
    """The test sheet: ``turns`` (n,) of the tilt screw; for each reading its ``expected`` value and how far off is ``fine`` at
    every turn [mm] (nan: not read there); ``points``: what moves it most, in words, names of the design file in brackets once."""

    design: Any
    system: str
    turns: tuple[float, ...]
    travel: Travel
    readings: tuple[BenchReading, ...]
    expected: np.ndarray
    fine: np.ndarray
    points: tuple[str, ...]
    from_design: bool

    @property
    def judged_by(self) -> str:
        made = ("within the design's tolerances (hand tools' where a number has none)" if self.from_design else
                "with hand tools (the design has no tolerances: common practice, no source)")
        return (f"How far off is still fine: as 95 in 100 joints made {made}, and no further than leaves the least travel "
                f"to be playable when new ({-WANTED_DOWN:g} turns down, {WANTED_UP:g} up: common practice, no source).")

    @cached_property
    def lasts(self) -> str:
        """How long the drawing's travel lasts, by the travel budget."""
        from lutherie_geom.studies.budget import budget

        found = budget(self.design, spreads=suspects(self.design))
        return (f"With the travel of the drawing ({found.down:.2f} turns down, {found.up:.2f} up) "
                f"{100 * found.lasting.mean():.0f} of 100 joints so made meet no stop in {found.year:g} years (the travel "
                "budget; how far a top lifts is a guess, no source).")

    def rows(self) -> list[tuple[str, ...]]:
        """The table as text: reading, then for each turn what it should read, how far off is fine."""
        out = []
        for r, e, f in zip(self.readings, self.expected, self.fine, strict=True):
            out.append((r.words, *("" if math.isnan(a) else f"{length(a, self.system)} ± {length(b, self.system).split(' ')[0]}"
                                   for a, b in zip(e, f, strict=True))))
        return out

    @property
    def feel(self) -> str:
        """What to feel for, in one line."""
        return (f"Feel of each screw, the tilt screw from {self.travel.low:+.2f} to {self.travel.high:+.2f} turns: "
                f"{', '.join(FEEL)}.")

    @property
    def no_room(self) -> tuple[str, ...]:
        """Readings for which the design itself leaves no room."""
        rooms = rooms_of(self.design, self.travel)
        return tuple(r.words for r in self.readings if rooms.get(r.key.partition("_")[0], math.inf) <= 0)

    def __str__(self) -> str:
        rows = [("tilt screw at", *(f"{turn_text(t)} turn" for t in self.turns)), *self.rows()]
        wide = [max(len(r[k]) for r in rows) for k in range(len(rows[0]))]
        lines = [f"Before the box is closed: {self.design.name}", "", SET_UP, self.judged_by, self.lasts, "",
                 *("  ".join(v.ljust(w) for v, w in zip(r, wide, strict=True)).rstrip() for r in rows), "",
                 "How, what a wrong reading points to, and what is still possible later:"]
        for r, p in zip(self.readings, self.points, strict=True):
            lines += [f"  {r.words}: {r.how}.", f"    points to: {p}", f"    later: {r.later}"]
        if self.no_room:
            lines += ["", f"The design itself leaves no room, mend it first: {'; '.join(self.no_room)}."]
        lines += ["", PATTERN, "", self.feel, "", "Now or never:"]
        lines += [f"  [ ] {q} Why now: {why}." for q, why in NOW_OR_NEVER.values()]
        return "\n".join([*lines, "", *CAUTIONS])

    __repr__ = __str__


def gauge_error(r: BenchReading) -> float:
    """Standard deviation of one reading [mm] with the gauge that is usual for it."""
    return float(gauge(r.gauge).uncertainty(1))


def suspects(design: Any) -> Spreads:
    """All numbers that may be off, each with the design's own tolerance or, without one, the usual."""
    return usual(design)


def expected_at(design: Any, turns: Any) -> np.ndarray:
    """What every reading should be [mm], (readings, turns)."""
    p = pose(design.dimensions(), tilt=np.asarray(turns, dtype=float))
    return np.stack([np.broadcast_to(r.exact.value(p), np.shape(turns)) for r in BENCH_READINGS])


def rooms_of(design: Any, t: Travel) -> dict[str, float]:
    """By the first word of a reading's key: how far it may be off [mm] and still leave the travel wanted, and the builder's least
    gap, reveal and floor clearance within it. Nothing or less: the design itself leaves no room."""
    d, least = design.dimensions(), design.limits
    ends = expected_at(design, (WANTED_DOWN, WANTED_UP))
    at = {r.key: k for k, r in enumerate(BENCH_READINGS)}
    rate = abs(float(reading_of("straightedge.bridge").exact.slopes(pose(d))["tilt"]))
    spare = min(WANTED_DOWN - t.low, t.high - WANTED_UP)
    return {"straightedge.bridge": rate * spare, "floor.foot": float(ends[at["floor.foot_bass"], 0]) - float(least.least_floor),
            "gap.end": float(ends[at["gap.end_bass"], 1]) - float(least.least_gap),
            "gap.joint": float(ends[at["gap.joint_bass"], 1]) - float(least.least_gap),
            "reveal.foot": float(ends[at["reveal.foot"], 1]) - float(least.least_reveal)}


def gradient(built: AsBuilt, r: BenchReading, p: Any, spreads: Spreads, sds: np.ndarray) -> np.ndarray:
    """Slopes of a reading by every number that may be off; where it has none, changes of the exact reading over ± 1 sd."""
    if r.sloped:
        return built.gradient(r.exact)
    dims, off = spreads.built(p.of, np.concatenate([np.diag(sds), -np.diag(sds)], axis=1))
    n = len(sds)
    many = np.broadcast_to(r.exact.value(pose(dims, **{t: getattr(p, t) + by for t, by in off.items()})), (2 * n,))
    change = np.divide(many[:n] - many[n:], 2 * sds, out=np.zeros(n), where=sds > 0)
    return change if built.shape == () else np.broadcast_to(change[:, None], (n, *built.shape))


def proof_sheet(design: Any, *, turns: Any = None, units: str | None = None) -> ProofSheet:
    """The test sheet of a design. ``turns``: of the tilt screw at which it is read; by default as far either way as the travel
    lets one go in 1/2, 1/4, 1/8 or 1/16 turn, and 0. Raises SheetError for turns outside the travel."""
    t = travel(design)
    if turns is None:
        step = next((s for s in SHARES if t.low <= -s and s <= t.high), 0.0)
        turns = (-step, 0.0, step) if step else (0.0,)
    turns = tuple(float(v) for v in turns)
    if wrong := [v for v in turns if not t.low <= v <= t.high]:
        allowed = f"allowed is the travel, {t.low:+.3f} to {t.high:+.3f} turns"
        raise SheetError([f"tilt: {v:+g} turns; {allowed}" for v in wrong], "turns")
    d, expected = design.dimensions(), expected_at(design, turns)
    spreads = suspects(design)
    variables, r = spreads.variables(d), spreads.correlation(d)
    sds = np.array([v.spread.standard_deviation for v in variables])
    fine, rooms = np.full_like(expected, np.nan), rooms_of(design, t)
    points: list[str] = [""] * len(BENCH_READINGS)
    told: set[str] = set()
    for k, turn in enumerate(turns):
        p = pose(d, tilt=turn)
        built = AsBuilt.of(p, spreads, np.zeros(len(variables)))
        for i, reading in enumerate(BENCH_READINGS):
            if not (reading.every_turn or turn == 0):
                continue
            g = gradient(built, reading, p, spreads, sds)
            gauged = COVER_95 * gauge_error(reading)
            room = rooms.get(reading.key.partition("_")[0], math.inf)
            band = math.hypot(COVER_95 * propagate(g, sds, r).standard, gauged)
            fine[i, k] = max(LEAST_FINE, gauged, min(band, room))
            most = [m for m in np.argsort(-np.abs(g * sds))[:3] if abs(g[m] * sds[m]) > 1e-6]
            points[i] = points[i] or "reads high with " + "; ".join(
                f"{words_and_names(variables[m].name, told)} too {'large' if g[m] > 0 else 'small'}" for m in most)
    expected = np.where(np.isnan(fine), np.nan, expected)
    return ProofSheet(design, units or design.units, turns, t, BENCH_READINGS, expected, fine, tuple(points),
                      bool(design.tolerances))
