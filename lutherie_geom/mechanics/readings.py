"""Readings of what the joint carries, for the joint book: forces, margins of strength, tongue with its rods, neck, freed top.

Keys are stable: ``loads.*``, ``strength.*``, ``tongue.beam.*``, ``tongue.rods.*``, ``tongue.top.*``, ``neck.*``. A definition
says what is measured and what it leaves out; behind ``Source:`` stands where the numbers come from.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.joint.reading import Reading, Verdict, at_least
from lutherie_geom.mechanics.check import Margin
from lutherie_geom.mechanics.forces import LEFT_OUT, forces, over_travel, preload_verdict
from lutherie_geom.mechanics.freed_top import freed_top
from lutherie_geom.mechanics.letting_go import letting_go
from lutherie_geom.mechanics.margins import margins
from lutherie_geom.mechanics.neck_relief import relief
from lutherie_geom.mechanics.no_lift import clamp_torque
from lutherie_geom.mechanics.rods import MORE_WOOD, Rods, rods
from lutherie_geom.mechanics.stiffness import give
from lutherie_geom.mechanics.tongue import FINGER, tongue

__all__ = ["load_readings", "mechanics_readings", "strength_readings", "tongue_readings"]

ROUGH: dict[str, Any] = dict(samples=8, degree=4)
"""How coarsely the freed top is worked out for the book: a second instead of a quarter of a minute, within two in a hundred."""
NONE = "-"


def _finite(value: float) -> Any:
    """A number for a table's cell; a dash where nothing is there."""
    return float(value) if math.isfinite(value) else NONE


def _short(value: float) -> str:
    """Three digits, no powers of ten."""
    return f"{float(f'{value:.3g}'):.10g}"


def load_readings(design: Any) -> Iterator[Reading]:
    """Forces in the joint at pitch and under every load of handling [N], key torques [N m], what lets go."""
    f, o = forces(design), over_travel(design, steps=9)
    (worst, need), r = o.worst, f.rest
    left = f"{LEFT_OUT[0].upper()}{LEFT_OUT[1:]}."
    yield Reading("loads.tilt_screw", "force in the tilt screw, strings at pitch", float(r.tilt), "N",
                  f"By the balance of all contacts; tension is positive. String pull of {f.pull.total:.0f} N, "
                  f"{f.pull.line.height_over_pivot:.1f} mm over the pivot axis. {left}")
    low, high = f.band.band
    yield Reading("loads.friction", "friction may hold it off by, greased and dry", [float(low), float(high)], "N",
                  "Either way, while no key turns: at balls, dowels and heads, clamp at its preload. "
                  "Left out: friction shaken loose by playing.")
    yield Reading("loads.seats", "seats push along their axes, bass and treble", [float(n) for n in r.seat_push], "N",
                  f"Strings at pitch, clamp at its preload of {f.preload:.0f} N. A sideways force between them is not decided by "
                  "balance.")
    here = (f"; {f.worst.least_clamp:.0f} N at the nominal pose, where a seat lifts off at {f.worst.least_clamp_axial:.0f} N"
            if f.worst else "")
    yield Reading("loads.clamp", f"clamp preload against the worst load ({worst})", f.preload, "N",
                  f"Least clamp force with which no ball climbs in its seat, without friction: {_short(need)} N, worst over the "
                  f"travel{here}. Half as much again is wanted: a key's torque scatters, and wood settles. {left}",
                  preload_verdict(design, need) if o.loads else None)
    yield Reading("loads.strings_off", "strings off: push sideways with which a ball begins to climb", f.off.side, "N",
                  f"The worse way, clamp at its preload. Caution: {f.off}.")
    torque = clamp_torque(design, f.preload)
    yield Reading("loads.clamp_torque", "key torque for the preload, greased and dry", [float(t) / 1000 for t in torque], "N m",
                  "Thread and head rub; on a greased thread the dry torque gives nearly twice the force. Left out: springs that "
                  "rub, a key that leans.")
    for way, both in (("raise", f.band.raising), ("lower", f.band.lowering)):
        yield Reading(f"loads.key_{way}", f"key torque to {way} the action, greased and dry", [float(t) / 1000 for t in both],
                      "N m", "Tilt screw, strings at pitch, with the friction that holds the neck. Below nought the strings turn "
                      "the screw by themselves.")
    rows = [[x.load, x.tilt, *x.seats, _finite(x.least_clamp), x.cover] for x in f.rows]
    yield Reading("loads.table", "forces under every load of handling", rows, "N",
                  "Tilt screw: a minus is a push. Seats: a minus is a seat that lifts, clamp at its preload. Clamp: least "
                  "force with which no ball climbs. Cover: its spring's push, and what the tilt screw pushes beyond it. "
                  f"{left}", None,
                  (("load", ""), ("tilt screw", "N"), ("bass seat", "N"), ("treble seat", "N"), ("clamp at least", "N"),
                   ("cover", "N")))
    rows = np.column_stack([o.turns, o.tilt, o.band[1], *o.handled, o.least_clamp, o.cover]).tolist()
    yield Reading("loads.travel", "tilt screw over the travel", rows, "N",
                  "Strings tuned to pitch at each turn. Friction: either way, dry. Least and most: under all loads of handling. "
                  "Clamp: least force with which no ball climbs under the worst load. Cover: the most it carries.", None,
                  (("turns", "turn"), ("strings alone", "N"), ("friction", "N"), ("least", "N"), ("most", "N"),
                   ("clamp at least", "N"), ("cover", "N")))
    back, at, leaves = o.reversal
    here = "".join(f" ({x.at:.0f} N at the nominal pose)" for x in f.reversals if x.load == back)
    known = math.isfinite(at)
    said = f" The least on the travel{here}; the captive head leaves its face at {leaves:.0f} N." if known else ""
    yield Reading("loads.reversal", f"tilt screw's force reverses{f' when {back}' if known else ''}",
                  at if known else "under no load listed", "N" if known else "",
                  "Size of the load that takes the last tension out of the tilt screw; beyond it the thread's play is felt, and "
                  f"spring and cover carry.{said} Friction left out.")
    g = give(design)
    yield Reading("loads.give", "tilt under 100 N back at the headstock's end: stiff, likely, soft",
                  np.sort(np.abs(np.degrees(g.tilt))).tolist(), "deg",
                  "The joint alone: contacts, screws and the wood under them. Left out: bending of neck, headstock and sides, "
                  "which in use is more.")
    yield Reading("loads.step_over_give", "finest step of the tilt screw over the give under 10 N: soft, likely, stiff",
                  np.sort(g.step_over_give).tolist(), "times",
                  "Change of action at fret 12; well over 1, the joint's give does not blur the step.")
    yield from _letting_go(design)


def _letting_go(design: Any) -> Iterator[Reading]:
    found = letting_go(design)
    rows = [[x.part, x.caught_by if math.isfinite(x.nut_way) else "nothing moves at once", _finite(x.nut_way), _finite(x.action),
             _finite(x.catch_force), _finite(x.released / 1000)] for x in found.failures]
    yield Reading("loads.lets_go", "what lets go: one part fails, all others hold", rows, "",
                  "; ".join(f"{x.part}: {x.words.rstrip('.')}" for x in found.failures) + ". Left out: what breaks next, "
                  "friction that holds for a while, the give of the wood.", None,
                  (("part", ""), ("until", ""), ("nut moves", "mm"), ("action at fret 12", "mm"), ("caught with", "N"),
                   ("strings give up", "J")))
    yield Reading("loads.energy", "energy stored in the strings", float(found.pull.energy.sum()) / 1000, "J",
                  f"Give or take {100 * found.pull.spread:.0f} in 100 for the steel's modulus.")


def _margin(m: Margin) -> Reading:
    known = math.isfinite(m.ratio)
    value: Any = float(m.ratio) if known else "not known" if m.missing else "nothing is asked of it"
    judged = None
    if known and not m.settles:
        judged = at_least(m.ratio, 1.0, m.factor - 1.0, m.verdict.cure if m.verdict and m.ratio < m.factor else "")
    unit = f" {m.unit}" if m.unit else ""
    found = m.missing
    if known:
        found = f"{m.verbs[0]} {_short(m.provided)}{unit}, {m.verbs[1]} {_short(m.required)}{unit} under \"{m.case}\""
    low = f"; 95 in 100 reach {m.low:.2g}" if math.isfinite(m.low) else ""
    beds = " It beds in: falling short is no failure here." if m.state == "beds in" else ""
    guessed = ", its strength across the grain estimated" if known and "estimated from" in m.source else ""
    return Reading(f"strength.{m.key}", m.words + guessed, value, "times" if known else "",
                   f"{found} (wanted {m.factor:.3g} times{low}).{beds} Leaves out: {m.leaves_out} Formula: {m.formula}. "
                   f"Source: {m.source}", judged)


def strength_readings(design: Any) -> Iterator[Reading]:
    """Margins of strength [times what is asked], worst load case each; in the order of their keys, as every design has them."""
    found = margins(design, estimate=True)
    yield from sorted((_margin(m) for m in found), key=lambda r: r.key)


def tongue_readings(design: Any) -> Iterator[Reading]:
    """The tongue under a finger, its note, its rods; the neck's relief; the freed top."""
    t, r = tongue(design), rods(design)
    left = ("Left out: what gives in joint and neck, glue lines that slip, one board against its species; so the true give is "
            "more and the note lower.")
    yield Reading("tongue.beam.give", f"tongue gives under {t.force:.0f} N at fret {t.fret}", list(t.give), "mm",
                  f"Fret slots not counted, as is likely, cut all along. {left}")
    yield Reading("tongue.beam.touch", "finger that presses the tongue on the top", t.touch[1], "N",
                  f"Where it meets first: {t.touch_x:.0f} mm past the joint. A hard finger presses {FINGER:.0f} N (common "
                  f"practice, no source). {left}",
                  at_least(t.touch[1], FINGER, FINGER, "" if t.touch[1] >= 2 * FINGER else "tongue.gap or tongue.wood: more"))
    yield Reading("tongue.beam.note", "the tongue's own note: slots counted most, likely, not at all",
                  [t.note.low, t.note.likely, t.note.high], "Hz",
                  f"First natural frequency, {str(t.note).split(' (')[0]}; the highest fretted note is "
                  f"{t.highest_fretted:.0f} Hz. {left}")
    yield Reading("tongue.beam.sag", "tip sags under its own weight, now and after years", [t.sag, t.sag * t.creep], "mm",
                  f"Creep by a factor of {t.creep:g}. A clip left on the tongue adds its own give as many times over. "
                  f"Source: {t.creep_source}")
    yield from _rods(r, bool(design.tongue.rods and design.tongue.rod_diameter))
    n = relief(design)
    yield Reading("neck.relief", "the strings bow a straight neck by: stiff, likely, soft wood", [n.low, n.relief, n.high], "mm",
                  f"At the middle from fret 1 to the joint, truss rod slack; {n.wanted:.2f} mm is wanted, the truss rod takes "
                  f"back the rest. After years up to {n.relief * n.creep:.2f} mm. Left out: shear, the rod's own stiffness, "
                  f"frets wedged in their slots, moisture. Source: {n.creep_source}")
    top = freed_top(design, **ROUGH)
    yield Reading("tongue.top.mass", "wood that a floating tongue leaves off the top", top.mass, "g",
                  "Neck wood and board over the tongue's footprint, as against a tongue glued down.")
    yield Reading("tongue.top.shift", "upper bout's lowest mode, freed against glued: least and greatest", list(top.percent), "%",
                  f"Over edges held and free to turn, with and without block and brace, and over the woods; area "
                  f"{top.area.length:.0f} mm by {top.area.width:.0f} mm. A range, since edges and braces decide more than the "
                  "tongue; worked out coarsely for the book. Left out: air, braces as they really lie, the arch, the strings' "
                  "pull, damping.")


def _rods(r: Rods, fitted: bool) -> Iterator[Reading]:
    bring = "bring" if fitted else "would bring (none in this design)"
    yield Reading("tongue.rods.gain", f"{r.what} {bring}", "not told" if r.in_air else [100 * g for g in r.gain],
                  "" if r.in_air else "%",
                  "Of the stiffness at the tip, against the same tongue with wood in their place: fret slots not counted, "
                  f"likely, cut all along.{f' Not told: {r.in_air}.' if r.in_air else ''} Left out: glue that slips. "
                  f"Caution: {r.caution}")
    yield Reading("tongue.rods.wood", f"{MORE_WOOD:g} mm more tongue wood brings", [100 * g for g in r.wood], "%",
                  "The same, for wood." if r.in_air else f"The same, for wood; the rods are worth {r.worth:.2f} mm of it.")
    least = min(min(s.under, s.over) for s in r.stations)
    yield Reading("tongue.rods.room", f"room for {r.what}, least over all stations", least, "mm",
                  "Wood under or board over a rod, to spare beyond the cover; slots and crowning taken off.",
                  at_least(least, 0.0, 0.2, "" if least >= 0.2 else f"tongue.rod_diameter: {2 * (0.2 - least):.2f} mm less, or "
                           "tongue.wood: more") if fitted else None)
    yield Reading("tongue.rods.stations", "rods station by station",
                  [[s.x, s.wood, s.neutral, "in air" if math.isnan(s.gain) else 100 * s.gain, s.under, s.over]
                   for s in r.stations], "mm",
                  "Axis: height of the neutral axis over the glue line, up is plus. The nearer the rods lie to it, the less "
                  "they bring.", None,
                  (("from joint", "mm"), ("neck wood", "mm"), ("axis", "mm"), ("gain", "%"), ("room under", "mm"),
                   ("room over", "mm")))


def mechanics_readings(design: Any) -> Iterator[Reading]:
    """All of them, in the order of the book. Where a group can't be worked out, one failing reading says why."""
    for group, words, of in (("loads", "forces", load_readings), ("strength", "margins of strength", strength_readings),
                             ("tongue.beam", "tongue, neck and top under load", tongue_readings)):
        try:
            yield from list(of(design))
        except (ValueError, LookupError) as why:
            yield Reading(f"{group}.not_told", f"{words}: not worked out", "not known", "", "What is missing is said beside.",
                          Verdict(0.0, 1.0, -1.0, 0.0, str(why)))
