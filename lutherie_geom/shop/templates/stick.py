"""The story stick: frets, joint and bridge on one strip, to hold to the board and to the body."""

from __future__ import annotations

import numpy as np

from lutherie_geom.shop.paper.entities import Datum, Entity, Line, Path, Text, measure
from lutherie_geom.shop.paper.title_block import View
from lutherie_geom.shop.templates.ground import Ground

__all__ = ["story_stick"]

HIGH = 46.0
"""Width of the strip [mm]."""


def story_stick(g: Ground) -> View:
    """Frets along the lower edge, what is on the body along the upper; x from the joint (the pocket's floor), toward the tail."""
    design, d = g.design, g.d
    b, body = design.board, design.body
    nut, frets = float(d.x_nut), np.arange(1, b.last_fret + 1)
    places = d.x_fret(frets)
    saddles = np.asarray(d.x_saddle, dtype=float)
    left, right = nut - 12, float(saddles.max()) + 32
    found: list[Entity] = [Path("cut", ((left, 0), (right, 0), (right, HIGH), (left, HIGH)), closed=True),
                           Line("cut", nut, 0, nut, 20), Text("text", nut - 1, 14, "nut", 2.5, "end"),
                           Line("hole", 0, -6, 0, HIGH + 6), Datum(0, HIGH + 6, "G", 90)]
    for n, x in zip(frets.tolist(), places.tolist(), strict=True):
        joint = n == b.joint_fret
        found += [Line("cut", x, 0, x, 16 if n % 12 == 0 or joint else 11),
                  Text("text", x, 17.5 if n % 12 == 0 or joint else 12.5, str(n), 2.5, "middle")]
    for x, words in ((0.0, "pocket's floor"), (-float(d.pocket), "body's outside"), (float(design.tongue.length), "tongue's end"),
                     (float(body.soundhole_near), "soundhole, near edge"), (float(body.soundhole_far), "soundhole, far edge")):
        up, low = words == "body's outside", 12.0 if words == "tongue's end" else 5.0
        if x:
            found.append(Line("cut", x, HIGH - low - 3, x, HIGH))
        found.append(Text("text", x + (-1.2 if up else 1.2), HIGH - low, words, 2.0, "end" if up else "start"))
    for k, words, low in ((0, "saddle, bass", HIGH - 16.0), (len(saddles) - 1, "saddle, treble", HIGH - 24.0)):
        x = float(saddles[k])
        found += [Line("cut", x, low + 1, x, HIGH), Text("text", x + (1.2 if k == 0 else 1.2 + float(saddles[0] - saddles[-1])),
                                                         low, words, 2.0)]
    ideal = nut - design.strings.nut_compensation + design.strings.scale
    found += [Line("part", ideal, 0, ideal, HIGH - 2), Text("text", ideal - 1.2, 3, "scale length, no compensation", 2.0, "end")]
    joint_x = float(d.x_fret(b.joint_fret))
    if b.joint_fret != 12:
        found.append(g.dim((nut, 0), (float(d.x_fret(12)), 0), "x", -10))
    found += [g.dim((nut, 0), (joint_x, 0), "x", -18),
              g.dim((joint_x, 0), (float(d.x_fret(b.last_fret)), 0), "x", -18), g.dim((nut, 0), (ideal, 0), "x", -26,
                                                                                      "strings.scale"),
              g.dim((0, 0), (float(saddles[0]), 0), "x", -34)]
    notes = ("Lower edge: frets, along the board, from the fret plane's own nut line. Upper edge: places on the body, along the "
             "top. Line G is the pocket's floor on both.",
             f"Saddle marks are for the outer strings with their compensation: {g.say(float(saddles[0]))} and "
             f"{g.say(float(saddles[-1]))} from G. Check on the strung instrument before you glue the bridge." ,
             f"The joint fret ({b.joint_fret}) stands {measure(joint_x, g.units)} from G. Glue the tiles to a strip, and "
             "measure nut to 12th fret before you trust it: paper creeps with the weather.")
    return View("story-stick", "Story stick: frets, joint, bridge", "board and top seen from above", g.hand(found), notes, ())
