"""Templates for the body: the neck block from outside and from inside, and the pocket with guide bush and bit."""

from __future__ import annotations

import math

from lutherie_geom.joint.bores import COVER, block_bores, has_insert
from lutherie_geom.shop.order.access import outline_path, standing
from lutherie_geom.shop.paper.entities import Arc, Circle, Datum, Entity, Line, Path, Text
from lutherie_geom.shop.paper.title_block import View
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.theory.templates import heel_corner, template_offset

__all__ = ["CARD", "block_drilling", "block_inside", "pocket_routing", "pocket_shape"]

CARD = 14.0
"""Width of a template beside what it guides [mm]: common practice, no source."""
_SEEN = "seen from the neck, soundboard up"


def pocket_shape(g: Ground, beyond: float, *, corner: float, layer: str) -> list[Entity]:
    """Outline of the raw pocket set off outward by ``beyond`` [mm], its foot corners round by ``corner`` [mm]; open at the top.

    All offsets of it are arcs about the same two middles: where the bit's centre turns.
    """
    raw = g.design.pocket.side_gap
    off = beyond + g.job.finish.side
    bit = g.job.cutter.bit
    # The bit's own centre, from the heel's outline: side gap, finish, then half a bit inward.
    turn_z = g.design.heel.foot_z - raw - g.job.finish.side + bit / 2
    turn_y = g.half(turn_z, side_gap=raw, beyond=g.job.finish.side - bit / 2)
    low = turn_z - corner
    slope = math.degrees(math.atan(g.lean))
    top = g.half(0.0, side_gap=raw, beyond=off)
    foot_y, foot_z = turn_y + corner * math.cos(math.radians(slope)), turn_z - corner * math.sin(math.radians(slope))
    return [Line(layer, -turn_y, low, turn_y, low), Arc(layer, turn_y, turn_z, corner, 270.0, 360.0 - slope),
            Arc(layer, -turn_y, turn_z, corner, 180.0 + slope, 270.0),
            Line(layer, foot_y, foot_z, top, 0.0), Line(layer, -foot_y, foot_z, -top, 0.0)]


def _sides(g: Ground, wide: float, low: float) -> list[Entity]:
    """Bass and treble, the centre line and the two datum marks: the card's upper edge and its centre line."""
    return [Line("centre", 0, 8, 0, low - 6), Text("text", wide - 2, low + 2, "bass", 2.5, "end"),
            Text("text", -wide + 2, low + 2, "treble", 2.5, "start"), Datum(-wide + 9, 0, "A", 90), Datum(0, low - 6, "B", 270)]


def block_drilling(g: Ground) -> View:
    """Holes through the neck block, from the soundboard's outside (A) and the centre line (B)."""
    design, v, t, bores = g.design, g.design.pivot, g.design.tilt_screw, block_bores(g.design)
    wide, low = design.heel.half_width_top + CARD, float(design.block.foot_z)
    zc, tilt, insert = bores["clamp"].z, standing(design)[0].z, has_insert(design)
    steep = math.degrees(math.atan(bores["bed"].slope))
    found: list[Entity] = [Path("cut", ((-wide, low), (wide, low), (wide, 0), (-wide, 0)), closed=True), *_sides(g, wide, low),
                           *pocket_shape(g, 0.0, corner=g.job.cutter.bit / 2, layer="part")]
    for side, words in ((1, "bass"), (-1, "treble")):
        found += g.hole(side * v.spacing / 2, v.z, v.screw_diameter, f"{words} pivot")
        if insert:
            found.append(Circle("hidden", side * v.spacing / 2, v.z, v.insert_diameter / 2))
    found += g.hole(0.0, zc, bores["clamp"].wide, "clamp", under=True) + g.hole(0.0, tilt, t.hole_in_block, "tilt")
    left, right = -wide - 8, wide + 8
    found += [g.dim((-v.spacing / 2, v.z), (v.spacing / 2, v.z), "x", 14.0, "pivot.spacing"),
              g.dim((v.spacing / 2, v.z), (wide, 0.0), "y", right, "pivot.z"),
              g.dim((0.0, tilt), (wide, 0.0), "y", right + 9, "tilt_screw.head_z"),
              g.dim((wide, low), (wide, 0.0), "y", right + 18)]
    if abs(zc - v.z) > 1e-9:
        found.append(g.dim((0.0, zc), (-wide, 0.0), "y", left, "pivot.z"))
    stand = (f"the set screws stand {g.say(abs(v.proud))} {'out of' if v.proud >= 0 else 'back from'} the face, the ball heads' "
             f"middles {g.say(abs(v.x), 'pivot.x')} {'in front of' if v.x < 0 else 'behind'} it")
    square = "All holes go right through. Drill square to the block's outer face, which is the pocket's floor"
    if abs(steep) >= 0.005:
        square += f", but the tilt screw's hole {abs(steep):.2f}° {'up' if steep > 0 else 'down'} toward the soundhole"
    pivots = (f"{g.say(v.screw_diameter)} guides, opened from inside to {g.say(v.insert_diameter)} (dashed) for the inserts: see "
              "the next sheet. Later " if insert else f"drilled for the thread of {g.say(v.screw_diameter)}; ")
    notes = ("Upper edge A: the soundboard's outside, at a fence screwed to the card. Line B: the body's centre line.",
             f"{square}.", f"Pivot holes: {pivots}{stand}.")
    cautions = ("The drill breaks out inside: back the block up with scrap, clamp the body, wear eye protection.",
                "Strings will pull on these screws: a hole out of place is plugged and drilled anew, never filed over.")
    return View("block-drilling", "Neck block: drilling template", _SEEN, g.hand(found), notes, cautions)


def block_inside(g: Ground) -> View:
    """What is worked from inside: inserts, bed of the captive head, its cover's recess; set by pins through the holes."""
    design, v, t, bores = g.design, g.design.pivot, g.design.tilt_screw, block_bores(g.design)
    zc, deep, bed, insert = bores["clamp"].z, float(design.block.depth), bores["bed"], has_insert(design)
    wide, low, high = design.heel.half_width_top + CARD, float(design.block.foot_z), zc + CARD
    found: list[Entity] = [Path("cut", ((-wide, low), (wide, low), (wide, high), (-wide, high)), closed=True),
                           Line("centre", 0, high + 6, 0, low - 6), Datum(0, low - 6, "B", 270),
                           Text("text", wide - 2, low + 2, "treble", 2.5, "end"), Text("text", -wide + 2, low + 2, "bass", 2.5)]
    found += g.hole(0.0, zc, bores["clamp"].wide, "pin H, clamp", under=True)
    for side in (-1, 1):
        y = side * v.spacing / 2
        found += g.hole(y, v.z, bores["pivot_bass"].wide, "insert" if insert else "thread", aside=6.0 * side)
        if insert:
            found.append(Circle("hidden", y, v.z, v.screw_diameter / 2))
    found += [Circle("hole", 0, bed.z, bed.wide / 2), *g.hole(0.0, bed.z, t.hole_in_block, layer="hidden"),
              Text("text", 0, bed.z + 6.5, "pin H, tilt", 2.0, "middle")]
    right, notes = wide + 8, []
    found += [g.dim((0.0, bed.z), (0.0, zc), "y", right, "tilt_screw.head_z"),
              g.dim((-v.spacing / 2, v.z), (v.spacing / 2, v.z), "x", high + 8, "pivot.spacing")]
    if (cover := bores.get("cover")) is not None:
        y, z = cover.wide / 2, cover.high / 2
        found += [Path("hole", ((-y, bed.z - z), (y, bed.z - z), (y, bed.z + z), (-y, bed.z + z)), closed=True),
                  g.dim((-y, bed.z - z), (y, bed.z - z), "x", low - 20), g.dim((-y, bed.z - z), (-y, bed.z + z), "y", -wide - 8)]
        notes.append(f"Recess {g.say(cover.wide)} wide, {g.say(cover.high)} high: {g.say(deep - cover.start)} deep. On its "
                     f"floor, round the bed, the cover is glued, {g.say(COVER)} thick, with a key hole Ø {g.say(t.cover_hole)}.")
    notes.append(f"Bed for the captive head, Ø {g.say(bed.wide)}: {g.say(deep - bed.start, 'tilt_screw.head_x')} deep, flat and "
                 "square to the tilt screw's hole; the bit's pilot follows that hole.")
    if insert:
        notes.append(f"Inserts: open the guide holes to Ø {g.say(v.insert_diameter)} down to the pocket's floor. Glue each "
                     f"insert, {g.say(v.insert_length)} long, in from here, its end level with that floor; screw and key "
                     "come this way.")
    lay = (f"Lay the card on the block's inner face, pins through the holes H; depths count from there, for a block "
           f"{g.say(deep)} thick behind the pocket's floor: measure yours.")
    cautions = ("The captive head carries the strings' pull on this bed: a bed too deep is glued up and bored anew.",
                "Clamp the body, scrap before the pocket's side: the bit breaks out there. Eye protection.")
    return View("block-inside", "Neck block: bed and inserts", "seen from the soundhole, soundboard up", g.hand(found),
                (lay, *notes), cautions)


def pocket_routing(g: Ground) -> View:
    """The opening that the guide bush runs in, and the raw pocket that the bit leaves."""
    design, cut, f = g.design, g.job.cutter, g.job.finish
    offset = float(template_offset(bush_diameter=cut.bush, bit_diameter=cut.bit))
    outline_path(design, cut.bit)  # refuses a bit that does not go into the foot
    h, gap = design.heel, design.pocket.side_gap
    top = g.half(0.0, side_gap=gap, beyond=f.side + offset)
    low = h.foot_z - gap - f.side - offset
    wide, foot = top + 2 * CARD, low - 1.5 * CARD
    deep = design.pocket.depth + f.floor
    found: list[Entity] = [
        Path("cut", ((-top, 0), (-wide, 0), (-wide, foot), (wide, foot), (wide, 0), (top, 0))),
        *pocket_shape(g, offset, corner=cut.bush / 2, layer="cut"), *pocket_shape(g, 0.0, corner=cut.bit / 2, layer="part"),
        *_sides(g, wide, foot),
        g.dim((-top, 0.0), (top, 0.0), "x", 14.0), g.dim((wide, foot), (wide, 0.0), "y", wide + 17),
        g.dim((0.0, low), (wide, 0.0), "y", wide + 8, "heel.foot_z"),
    ]
    turn = low + cut.bush / 2
    ends = g.half(turn, side_gap=gap, beyond=f.side - cut.bit / 2)
    found += [g.dim((-ends, turn), (ends, turn), "x", foot - 20, before="middles "),
              Text("text", 0, -18, f"raw depth {g.say(deep, 'pocket.depth')}", 2.4, "middle"),
              Text("text", 0, -24, f"bush {g.say(cut.bush)}, bit {g.say(cut.bit)}", 2.0, "middle"),
              Text("text", 0, -28.5, f"corners round by {g.say(cut.bush / 2)}", 2.0, "middle")]
    least = float(heel_corner(half_width_top=h.half_width_top, half_width_foot=h.half_width_foot, foot_z=h.foot_z, side_gap=gap,
                              bit_diameter=cut.bit))
    corner = (f"The bit leaves the pocket's foot corners round by {g.say(cut.bit / 2)}. Round the heel's foot corners to "
              f"{g.say(least)} or more, or square the pocket's with a chisel.") if least > 0 else (
              f"The bit leaves the foot corners round by {g.say(cut.bit / 2)}; the side gap lets a sharp heel corner in.")
    notes = (f"For a guide bush of {g.say(cut.bush)} outside and a bit of {g.say(cut.bit)}, no others: the opening stands "
             f"{g.say(offset)} off the pocket's edge (chain line), all round. Open above.",
             corner,
             f"Raw, before finish: depth {g.say(deep)} = {g.say(design.pocket.depth)} and {g.say(f.floor)} of film on the "
             f"floor; the cheeks {g.say(f.side)} wider each for the film on pocket and heel. From the sides' outside.")
    cautions = ("Router: eye, ear and dust protection; both hands, body clamped; small depths at a time, against the bit's "
                "turning; pull the plug before you change the bit. Follow your machine's and your local rules.",
                "No screw may stand out of the block while you rout: see the order of work.")
    return View("pocket-routing", "Pocket: routing template", _SEEN, g.hand(found), notes, cautions)
