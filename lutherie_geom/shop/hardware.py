"""Screws chosen from the lengths that are sold, so that each holds enough thread and bottoms nowhere over the travel."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, names, read_table, screw, thread
from lutherie_geom.design.units import INCH, System, format_length
from lutherie_geom.joint.inside import inside_readings
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import Travel, margins, travel
from lutherie_geom.theory.steer import cap_radius

__all__ = ["STACK", "BallHead", "Chosen", "Named", "ball_head", "chosen_screws", "clamp_hole", "hex_key", "lengths",
           "named_thread"]

ROOM = 1.0
"""What a screw's end keeps from the bottom of its hole over the whole travel [mm]: common practice, no source."""
STACK = 3.0
"""Washer and springs under the clamp's head [mm]: common practice, no source."""
QUARTER = 0.25
"""Turns of the pivot screws either way that lengths allow for."""


@dataclass(frozen=True)
class Named:
    """A thread by the name it is bought under; ``note`` when the table does not have it, or the design's diameter is another."""

    name: str
    diameter: float
    inch: bool
    known: bool
    note: str = ""


def named_thread(diameter: float, pitch: float) -> Named:
    """The name of a thread of a diameter [mm] and pitch [mm]: from the table of threads, else put together from its sizes."""
    tpi = INCH / pitch
    inch = abs(tpi - round(tpi)) < 1e-3 * tpi and abs(pitch * 20 - round(pitch * 20)) > 1e-3
    for name in names("threads"):
        t = thread(name)
        if math.isclose(t.pitch, pitch, rel_tol=1e-3) and abs(t.diameter - diameter) < (0.5 if t.tpi else 0.05):
            return Named(name, t.diameter, t.tpi is not None, True, _differs(t.diameter, diameter))
    if inch:
        sizes = {k: v * INCH for k, v in read_table("screw_lengths")["inch_sizes"].items() if k != "mark"}
        size = min(sizes, key=lambda k: abs(sizes[k] - diameter))
        if abs(sizes[size] - diameter) < 0.5:
            said = "not in the table of threads: ask for it by diameter and threads to the inch"
            return Named(f"{size}-{round(tpi)}", sizes[size], True, False, f"{said}{_differs(sizes[size], diameter, '; ')}")
    said = "a fine or uncommon pitch, not in the table of threads: ask for it by diameter and pitch"
    return Named(f"M{diameter:g} x {pitch:.3g}", diameter, False, False, said)


def _differs(bought: float, designed: float, before: str = "") -> str:
    return f"{before}its diameter is {bought:.2f} mm, the design says {designed:.2f} mm: mend the design" if abs(
        bought - designed) > 0.02 else ""


def lengths(kind: str, inch: bool) -> np.ndarray:
    """Lengths [mm] in which a ``cap screw`` or a ``set screw`` is sold."""
    row = read_table("screw_lengths")["lengths"][f"{kind}, {'inch' if inch else 'metric'}"]
    return np.asarray(row["values"], dtype=float) * (INCH if row["unit"] == "in" else 1.0)


def hex_key(standard: str, named: Named) -> str:
    """Size of the hex key, with its unit; a line to write on when no table knows it."""
    size, kind = named.name.split(" ")[0].split("-")[0], "cap" if standard == "ISO 4762" else "set"
    extra = read_table("screw_lengths")["keys"]
    if named.inch:
        found = extra[f"inch_{kind}"].get(size)
        return f"{found} in" if found else "______"
    try:
        return f"{screw(standard, size).key:g} mm"
    except CatalogueError:
        found = extra[f"metric_{kind}"].get(size)
        return f"{found:g} mm" if found else "______"


@dataclass(frozen=True)
class BallHead:
    """A ball head in the heel: the button head ``near``est to it, whose cap has the radius ``cap`` [mm]; ``fits``: near enough to
    serve, else a true ball on a stud. Its seat in the end face is ``wide`` across and ``deep`` [mm] (0 or less: none)."""

    near: str
    cap: float
    fits: bool
    wide: float
    deep: float


def ball_head(design: Any) -> BallHead:
    """What makes the ball heads of a design, and the seat that lets each in as deep as the design has it."""
    v = design.pivot
    heads = {s: screw("ISO 7380-1", s) for s in read_table("screws")["standards"]["ISO 7380-1"]["sizes"]}
    caps = {s: float(cap_radius(head_diameter=b.head_diameter, head_height=b.head_height)) for s, b in heads.items()}
    near = min(caps, key=lambda s: abs(caps[s] - v.ball_radius))
    fits = abs(caps[near] - v.ball_radius) <= 0.1
    out = v.x + v.ball_radius + design.heel.floor_clearance  # of the ball in front of the end face
    own = 2 * float(v.ball_radius)
    wide, high = (float(heads[near].head_diameter or own), float(heads[near].head_height or own)) if fits else (own, own)
    return BallHead(near, caps[near], fits, wide, high - out)


@dataclass(frozen=True)
class Chosen:
    """One kind of screw to buy. ``length`` [mm] as sold, ``cut_to`` [mm] if none sold fits; ``held``: least thread engaged over
    the travel, ``needed``: what it must be,
    ``room``: least distance to the bottom of its hole; all in mm (nan: does not apply)."""

    where: str
    count: int
    named: Named
    what: str
    length: float
    cut_to: float | None
    strength: str
    key: str
    held: float
    needed: float
    room: float
    note: str

    @property
    def ok(self) -> bool:
        """Whether it holds enough and bottoms nowhere."""
        return not self.held < self.needed - 1e-9 and not self.room < 0


def _ends(found: Travel) -> tuple[float, float]:
    """Travel [turn] as wood and strings end it: what the screw itself would end is what is being chosen."""
    ends = {k: [s.turn for s in found.stops if s.direction == k and s.kind == "stop" and s.turn is not None
                and s.name not in ("screw bottoms", "thread")] for k in (-1, 1)}
    return max(ends[-1], default=found.low), min(ends[1], default=found.high)


def _tilt(design: Any, found: Travel) -> Chosen:
    t, d = design.tilt_screw, design.dimensions()
    named = named_thread(t.diameter, t.pitch)
    between = math.hypot(t.head_x - t.receiver_x, t.head_z - t.receiver_z)
    low, high = _ends(found)
    p = pose(d, tilt=np.array([low, 0.0, high]))

    def over_travel(long: float) -> tuple[float, float]:
        """Least thread held past what must be, least room at the bottom [mm]."""
        as_if = design.model_copy(update={"tilt_screw": t.model_copy(update={"past_receiver": long - between})})
        by = {name: float(np.min(m(p))) for name, _, _, m in margins(as_if, d) if name in ("thread", "screw bottoms")}
        return by["thread"], by["screw bottoms"]

    def best(candidates: np.ndarray) -> float | None:
        """The length nearest to the design's own that holds enough and keeps clear of the bottom [mm]."""
        fitting = [v for v in candidates.tolist() if (m := over_travel(v))[0] >= 0 and m[1] >= ROOM]
        return float(min(fitting, key=lambda v: abs(v - wish))) if fitting else None

    wish, sold = between + t.past_receiver, lengths("cap screw", named.inch)
    cut: float | None = None
    note = ""
    long = best(sold)
    if long is None:
        cut = best(np.arange(between, min(wish + 10, sold[-1]), 0.5))
        longer = sold[sold >= (cut or wish)]
        long = float(longer[0] if longer.size else sold[-1])
        note = "no length sold fits the travel: cut it, chamfer the end, run a nut over it" if cut else (
            "no length holds enough and keeps clear of the bottom: make tilt_screw.hole_past_receiver more")
    spare, room = over_travel(cut or long)
    return Chosen("tilt screw, captive", 1, named, "socket head cap screw", long, cut, t.strength_class, hex_key("ISO 4762",
                                                                                                                 named),
                  spare + t.least_engagement, t.least_engagement, room, "; ".join(v for v in (named.note, note) if v))


def _clamp_length(design: Any, named: Named, needed: float, stack: float) -> tuple[float, float, float]:
    """Shortest clamp screw that holds, thread it holds at the least, depth of its hole from the heel's end face; mm."""
    c = design.clamp
    step = design.pivot.pitch * QUARTER  # the heel goes in and out with the pivot screws; the clamp's head does not
    face, head = c.receiver_x + c.receiver_diameter / 2, design.block.depth + stack
    sold = lengths("cap screw", named.inch)
    held = np.minimum(face - step - (head - sold), c.receiver_diameter)
    fits = np.flatnonzero(held >= needed)
    k = int(fits[0]) if fits.size else len(sold) - 1
    end = -design.heel.floor_clearance - (head - float(sold[k])) + step  # of the screw, from the end face, at its deepest
    through = -design.heel.floor_clearance - c.receiver_x + c.receiver_diameter / 2
    return float(sold[k]), float(held[k]), max(end + ROOM, through)


def clamp_hole(design: Any, *, stack: float = STACK) -> float:
    """Depth of the clamp screw's hole in the heel, from the end face [mm]."""
    c = design.clamp
    needed = max(design.tilt_screw.least_engagement, c.diameter)
    return _clamp_length(design, named_thread(c.diameter, c.pitch), needed, stack)[2]


def said(mm: float, units: System) -> str:
    """A length as a cut list writes it."""
    return format_length(mm, units, 1 if units == "mm" else 2)


def _clamp(design: Any, stack: float, units: System) -> Chosen:
    c = design.clamp
    named, needed = named_thread(c.diameter, c.pitch), max(design.tilt_screw.least_engagement, c.diameter)
    long, held, deep = _clamp_length(design, named, needed, stack)
    clear = deep - (-design.heel.floor_clearance - (design.block.depth + stack - long) + design.pivot.pitch * QUARTER)
    room = design.heel.length - design.heel.floor_clearance - deep
    note = (f"drill its hole in the heel {said(deep, units)} deep from the end face; {said(stack, units)} of washer and springs "
            "under its head")
    if room < 3.0:
        note += "; the hole comes too near the heel's far side: make heel.length more, or the block thinner"
    return Chosen("clamp screw", 1, named, "socket head cap screw", long, None, c.strength_class, hex_key("ISO 4762",
                                                                                                                    named),
                  held, needed, clear if room >= 3.0 else room - 3.0, "; ".join(s for s in (named.note, note) if s))


def _pivot(design: Any, found: Travel) -> Chosen:
    v = design.pivot
    named = named_thread(v.screw_diameter, v.pitch)

    def readings(long: float) -> dict[str, float]:
        as_if = design.model_copy(update={"pivot": v.model_copy(update={"screw_length": long})})
        return {r.key: float(r.value) for r in inside_readings(as_if, found) if r.key in ("inside.pivot_hold",
                                                                                          "inside.pivot_depth")}

    sold = sorted(lengths("set screw", named.inch).tolist(), key=lambda long: abs(long - v.screw_length))
    for long in sold:
        r = readings(long)
        if r["inside.pivot_hold"] >= v.least_hold and r["inside.pivot_depth"] >= 0:
            break
    else:
        long = sold[0]
        r = readings(long)
    note = "both seats alike; each screw turned in before the box is closed and tried"
    return Chosen("pivot screws", 2, named, f"set screw, seat: {v.seat}", long, None, v.strength_class,
                  hex_key("ISO 4026-4029", named), r["inside.pivot_hold"], v.least_hold, r["inside.pivot_depth"],
                  "; ".join(s for s in (named.note, note) if s))


def chosen_screws(design: Any, *, stack: float = STACK, units: System | None = None) -> Iterator[Chosen]:
    """Tilt, clamp and pivot screws; ``stack``: washer and springs under the clamp's head [mm]; ``units`` of the notes (default:
    the design's). Raises ValueError for a ``stack`` outside 0 to 20 mm."""
    if not 0 <= stack <= 20:
        raise ValueError(f"stack: {stack:g} mm; allowed is 0 to 20 mm")
    found = travel(design)
    yield _tilt(design, found)
    yield _clamp(design, stack, units or design.units)
    yield _pivot(design, found)
