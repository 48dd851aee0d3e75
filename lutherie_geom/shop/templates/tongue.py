"""Templates for the tongue: rails that plane its taper, slots for rods, an arc gauge for the dome."""

from __future__ import annotations

import math

import numpy as np

from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.shop.paper.entities import Arc, Datum, Entity, Line, Path, Text, measure, polar
from lutherie_geom.shop.paper.title_block import View
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.theory.dome import sagitta

__all__ = ["CHORD", "dome_gauge", "frets_on_tongue", "rod_places", "rod_slots", "tongue_rails"]

CHORD = 200.0
"""Chord of the dome gauge [mm]."""
RUN_OFF = 20.0
"""How far the rails go on past the tongue, so that plane or sled leaves it level [mm]: common practice, no source."""
STOP = 5.0
"""Rod slots stop this far before the tongue's end, so that no rod shows [mm]: common practice, no source."""


def frets_on_tongue(g: Ground) -> list[tuple[int, float, float]]:
    """(fret, x along the body, neck wood under the board there), from the joint fret to the tongue's end; mm."""
    frets = np.arange(g.design.board.joint_fret, g.design.board.last_fret + 1)
    glue = -g.design.board.crown - g.design.board.thickness
    x = np.asarray(g.nominal.to_body(g.d.x_fret(frets), np.zeros(frets.shape), np.full(frets.shape, glue)).x, dtype=float)
    wood = tongue_wood(g.design, x, g.d)
    return [(int(n), float(a), float(w)) for n, a, w in zip(frets, x, wood, strict=True) if -1e-6 <= a <= g.design.tongue.length]


def tongue_rails(g: Ground) -> View:
    """Side of a rail: the neck lies glue face down on a packing, a rail on each side; plane or sled runs on the rails."""
    design, long, lift = g.design, float(g.design.tongue.length), g.job.sled
    x = np.linspace(0.0, long + RUN_OFF, math.ceil((long + RUN_OFF) / 2) + 1)
    top = lift + np.maximum(tongue_wood(design, x, g.d), 0.0)
    ends = lift + tongue_wood(design, np.array([0.0, long]), g.d)
    rail = tuple(zip(x.tolist(), top.tolist(), strict=True))
    frets = frets_on_tongue(g)
    first, mark, _ = frets[0]
    found: list[Entity] = [Path("cut", ((0.0, 0.0), (long + RUN_OFF, 0.0), *rail[::-1]), closed=True),
                           Line("hidden", 0, lift, long + RUN_OFF, lift), Datum(12, 0, "E", 270), Datum(mark, 4, "F", 180),
                           Line("part", mark, -4, mark, lift),
                           Text("text", long + 2, lift - 3.4, "glue face", 2.0),
                           Line("centre", long, -8, long, lift + 8), Text("text", long + 1.2, -6, "tongue's end", 2.0)]
    for n, at, wood in frets:
        found += [Line("centre", at, -2, at, lift + wood + 4),
                  Text("text", at + 0.8, lift + wood + 5, f"fret {n}: {measure(wood, g.units)}", 2.0, "start", 60)]
    found += [g.dim((0, 0), (0, float(ends[0])), "y", -26, "tongue.wood"), g.dim((0, 0), (0, lift), "y", -17),
              g.dim((long, 0), (long, float(ends[1])), "y", long + RUN_OFF + 22), g.dim((0, 0), (long, 0), "x", -15,
                                                                                        "tongue.length"),
              g.dim((0, 0), (long + RUN_OFF, 0), "x", -23)]
    if abs(mark) > 0.05:
        found.append(g.dim((0, 0), (mark, 0), "x", -31))
    hollow = design.tongue.underside == "hollowed"
    notes = [f"Make two. The neck lies upside down, its glue face {g.say(lift)} over the bench: on a packing that thick, or "
             "with the board on, "
             f"on one thinner by the board's {g.say(design.board.thickness)}. E stands on the bench. Square the line of fret "
             f"{first} round to both sides of the tongue, and set mark F of each rail to it: the rails stand beside the heel and "
             "touch it nowhere. Plane, or run the router's sled, until it rides on both rails.",
             "At each fret: the neck wood left there on the centre line, square to the body's length. Check with a caliper "
             "before the last cut.",
             "Then hollow the underside to the dome gauge." if hollow and design.body.dome != "flat" else
             "The underside stays flat."]
    if hollow and design.body.dome in ("sphere", "across"):
        deep = float(sagitta(radius=design.body.dome_radius, chord=design.tongue.width))
        notes.append(f"Across its {g.say(design.tongue.width)} the underside is hollow by {g.say(deep)}: lay as much under both "
                     "rails, plane flat, then scrape the middle down to the depths written here.")
    cautions = ("Router sled: clamp neck and packing, cut against the bit's turning, a sheet's thickness at a time; eye, ear "
                "and dust protection. The end of the tongue is thin: it breaks under a clamp.",)
    return View("tongue-rails", "Tongue: rails for its taper", "seen from the treble side, neck upside down", g.hand(found),
                tuple(notes), cautions)


def rod_places(g: Ground) -> list[float]:
    """Middles of the tongue rods across the board [mm], to treble: spread evenly over the pivot screws' spacing."""
    n = g.design.tongue.rods
    return [] if n == 0 else [0.0] if n == 1 else np.linspace(-0.5, 0.5, n).dot(g.design.pivot.spacing).tolist()


def rod_slots(g: Ground) -> View:
    """Slots for the tongue rods, in the neck's glue face and in the board's underside."""
    t = g.design.tongue
    wide = t.rod_width if t.rod_shape == "flat" and t.rod_width > 0 else t.rod_diameter
    start, end = -g.job.into_neck, t.length - STOP
    half = t.width / 2
    found: list[Entity] = [Path("cut", ((start - 8, -half), (t.length, -half), (t.length, half), (start - 8, half)), closed=True),
                           Line("part", 0, -half - 6, 0, half + 6), Text("text", 1, half + 3, "joint: pocket's floor", 2.0),
                           Line("centre", start - 14, 0, t.length + 6, 0), Datum(start - 14, 0, "B", 180), Datum(0, -half, "G",
                                                                                                                 270),
                           Text("text", start - 4, half - 5, "treble", 2.5), Text("text", start - 4, -half + 2.5, "bass", 2.5)]
    for y in rod_places(g):
        found += [Path("hole", ((start, y - wide / 2), (end, y - wide / 2), (end, y + wide / 2), (start, y + wide / 2)),
                       closed=True),
                  Line("centre", start - 4, y, end + 4, y)]
    places = rod_places(g)
    if len(places) > 1:
        found.append(g.dim((end, places[0]), (end, places[-1]), "y", t.length + 10))
    found += [g.dim((0, -half), (end, places[0]), "x", -half - 17), g.dim((start, places[0]), (0, -half), "x", -half - 17),
              g.dim((start, places[-1] - wide / 2), (start, places[-1] + wide / 2), "y", start - 20)]
    neck, board = t.rod_diameter / 2 - t.rod_above_glue_line, t.rod_diameter / 2 + t.rod_above_glue_line
    size = g.say(t.rod_diameter)
    shape = f"flat, {g.say(wide)} wide and {size} high" if t.rod_shape == "flat" else f"round, Ø {size}"
    notes = (f"Rods {shape}. Slot {g.say(max(neck, 0.0))} deep in the neck's glue face and {g.say(max(board, 0.0))} in the "
             "board's underside.",
             f"The slots stop {g.say(STOP)} before the tongue's end. G: where the pocket's floor comes to lie.",
             "A rod must drop in of its own weight: a rod that is pressed in bows the board.")
    cautions = ("Carbon dust: mask, gloves and wet cutting; it conducts, keep it out of machines. A cut rod splinters. Wash, "
                "don't wipe.",
                "Epoxy: gloves and fresh air; keep to its maker's sheet.")
    return View("rod-slots", "Tongue: slots for rods", "seen from above, board off", g.hand(found), notes, cautions)


def dome_gauge(g: Ground) -> View:
    """A card with one hollow edge for the top and one round edge, for the hollow under the tongue or to try the first by."""
    radius = float(g.design.body.dome_radius)
    rise = float(sagitta(radius=radius, chord=CHORD))
    half = math.degrees(math.asin(CHORD / 2 / radius))
    high = 34.0
    other = "under the tongue" if g.design.tongue.underside == "hollowed" else "to try the other by"
    low, up = Arc("cut", 0, -radius, radius, 90 - half, 90 + half), Arc("cut", 0, high - radius, radius, 90 - half, 90 + half)
    left, right = polar(0, -radius, radius, 90 + half), polar(0, -radius, radius, 90 - half)
    found: list[Entity] = [low, up, Line("cut", *left, left[0], left[1] + high), Line("cut", *right, right[0], right[1] + high),
                           Line("centre", 0, -6, 0, high + 6), Line("dimension", *left, *right),
                           g.dim(left, right, "x", -16), g.dim(left, (0.0, 0.0), "y", left[0] - 8),
                           Text("text", 0, 7, "this edge on the top", 2.5, "middle"),
                           Text("text", 0, high - 8, f"radius {g.say(radius)}: this edge {other}", 2.5, "middle")]
    way = {"sphere": "in every direction", "along": "along the body only", "across": "across the body only"}[g.design.body.dome]
    notes = (f"The top is domed {way}, highest {g.say(g.design.body.apex_x)} from the joint toward the tail.",
             f"Hold it to a lamp: light under an edge of {g.say(CHORD)} that is {g.say(0.1)} off is plain to see. The rise over "
             f"the whole chord is {g.say(rise)}.", "Cut both edges, then rub them together: they must touch all along.")
    return View("dome-gauge", "Soundboard: arc gauge for the dome", "edge on", g.hand(found), notes, ())
