"""Readings of the joint as built, before any screw is turned: neck set, saddle, dome, tongue, soundhole."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.joint.body import soundboard, taper_of
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.joint.neck_set import straightedge_at_bridge, targets
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.reading import Reading, Verdict, at_least
from lutherie_geom.joint.strings import action, edge_margin, open_length, string_lines
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.neck_set import break_angle

__all__ = ["build_readings"]

BREAK_ROOM = 5.0


def build_readings(design: Any) -> Iterator[Reading]:
    """Neck set, strings at nut and saddle, dome, tongue and soundhole at the nominal pose."""
    d = design.dimensions()
    p = pose(d)
    asked = "computed from the target" if design.neck.angle is None else "as given"
    yield Reading("set.neck_angle", f"neck angle ({asked})", float(np.degrees(d.alpha)), "deg",
                  "Rise of the fret plane toward the bridge against the body's length, all turns zero.")
    asked = "computed from the target" if design.strings.saddle_heights is None else "as given"
    yield Reading("set.saddle_heights", f"saddle over the soundboard ({asked}), bass to treble", np.asarray(d.h_saddle).tolist(),
                  "mm", "Top of the saddle at each string above the soundboard there.")
    if design.target is not None:
        wanted, got = targets(design), action(p, design.target.fret)[:, 0]
        miss = float(np.abs(wanted - got).max())
        yield Reading("set.target_miss", f"largest miss of the wanted action at fret {design.target.fret}", miss, "mm",
                      "One neck angle serves all strings: what it leaves, the saddle must take up.",
                      Verdict(miss, 0.25, 0.25 - miss, 0.2, "" if miss < 0.05 else
                              "give saddle heights string by string; change each by twice its miss"))
    yield Reading("set.straightedge", "straightedge on the frets, above the soundboard at the bridge",
                  float(straightedge_at_bridge(d)), "mm",
                  "A straightedge on the crowns of the centreline, fret 1 to joint fret, carried on to the saddle.")
    yield Reading("set.fret_plane", "fret plane above the soundboard at the joint", float(d.z_joint), "mm",
                  "Crown + board + tongue wood + gap.")
    yield from _strings(design, d, p)
    yield from _tongue(design, d)


def _strings(design: Any, d: Dimensions, p: Any) -> Iterator[Reading]:
    s = design.strings
    lines = string_lines(p)
    yield Reading("nut.heights", "string over the fret plane at the nut, bass to treble", lines.z_nut.tolist(), "mm",
                  "Underside of the string in its slot; the crowning of the board is taken off.")
    projection = np.asarray(d.h_saddle) - s.bridge_height
    low = int(np.argmin(projection))
    yield Reading("saddle.projection", "saddle above the bridge, bass to treble", projection.tolist(), "mm",
                  "Saddle height less strings.bridge_height.",
                  at_least(projection[low], 1.5, 1.0,
                           f"string {low + 1} from the bass: lower strings.bridge_height by "
                           f"{max(0.0, 2.5 - projection[low]):.1f} mm, or take the neck back and raise the saddle"))
    nut = p.to_body(lines.x_nut, lines.y_nut, lines.z_nut)
    saddle_z = soundboard(d, d.x_saddle, d.y_saddle) + np.asarray(d.h_saddle)
    pin_z = soundboard(d, np.asarray(d.x_saddle) + s.pin_distance, d.y_saddle) + s.pin_height
    bend = np.degrees(break_angle(x_nut_body=nut.x, z_nut_body=nut.z, x_saddle=d.x_saddle, z_saddle=saddle_z,
                                  pin_distance=s.pin_distance, z_pin=pin_z))
    low = int(np.argmin(bend))
    yield Reading("saddle.break_angle", "break angle over the saddle, bass to treble", bend.tolist(), "deg",
                  "Between the string before and behind the saddle, its pin at strings.pin_distance and pin_height.",
                  at_least(bend[low], 10.0, BREAK_ROOM,
                           f"string {low + 1} from the bass: lower strings.pin_height or cut a ramp"))
    yield Reading("strings.sounding_length", "sounding length of the open strings, bass to treble", open_length(p).tolist(), "mm",
                  "Straight distance from nut to saddle in space (not scale + compensation).")
    frets = np.arange(1, d.last_fret + 1)
    bass, treble = edge_margin(p, frets)
    least = float(min(bass.min(), treble.min()))
    yield Reading("strings.edge_margin", "least distance of an outer string from the board's edge", least, "mm",
                  "Over all frets, both sides.",
                  at_least(least, 1.5, 1.0, "make strings.nut_spread or saddle_spread "
                           f"{2 * max(0.0, 2.5 - least):.1f} mm narrower, or the board wider"))


def _tongue(design: Any, d: Dimensions) -> Iterator[Reading]:
    top = dict(curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    slope = dome_height.slopes(x=0.0, y=0.0, **top)["z_top"]["x"]
    yield Reading("dome.slope_at_joint", "slope of the dome at the joint", float(np.degrees(np.arctan(slope))), "deg",
                  "Rise of the soundboard toward the tail where the neck meets it.")
    t = taper_of(d)
    yield Reading("tongue.taper", "taper of the underside", float(np.degrees(np.arctan(t.slope))), "deg",
                  "Slope of the plane that fits the dome best under the tongue, against the body's length.")
    yield Reading("tongue.hollow", "hollow of the underside", float(t.hollow), "mm",
                  "Largest departure of the dome from that plane: what a flat planed underside leaves.")
    x_last = float(d.x_fret(d.last_fret))
    frets = np.arange(d.joint_fret, d.last_fret + 1)
    stations = np.unique(np.r_[np.asarray(d.x_fret(frets)).ravel(), 0.0, design.tongue.length])
    stations = stations[(stations >= 0) & (stations <= design.tongue.length)]
    wood = tongue_wood(design, stations, d)
    at = {round(float(x), 6): int(n) for n, x in zip(frets, np.asarray(d.x_fret(frets)).ravel(), strict=True)}
    rows = [[str(at.get(round(float(x), 6), "end" if x == design.tongue.length else "joint")), float(x), float(w),
             float(w + design.board.thickness)] for x, w in zip(stations, wood, strict=True)]
    yield Reading("tongue.thickness", "thickness of the tongue by fret", rows, "mm",
                  "Neck wood on the centreline, and wood with board, along the body's z.",
                  columns=(("fret", ""), ("from joint", "mm"), ("wood", "mm"), ("wood and board", "mm")))
    yield Reading("tongue.wood_at_end", "tongue wood at its end", float(tongue_wood(design, design.tongue.length, d)), "mm",
                  "Neck wood left under the board at the tongue's end, on the centreline.")
    reach = design.body.soundhole_near - design.tongue.length
    yield Reading("soundhole.tongue_end", "tongue's end to the soundhole's near edge", float(reach), "mm",
                  "Along the body, nominal pose.",
                  at_least(reach, 0.0, 3.0, f"make tongue.length {max(0.0, 3 - reach):.1f} mm shorter"))
    yield Reading("soundhole.last_fret", "last fret to the soundhole's near edge", float(design.body.soundhole_near - x_last),
                  "mm", "Along the body, nominal pose; negative: the fret stands over the hole.")

