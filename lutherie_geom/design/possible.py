"""Geometry that cannot be built, named field by field. Ranges of single fields are checked in ``model``."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from lutherie_geom.theory.scale import fret_distance


def problems_of(design: Any) -> list[tuple[str, str]]:
    """Pairs (field, sentence) for everything impossible; all at once."""
    return list(_problems(design))


def _problems(d: Any) -> Iterator[tuple[str, str]]:
    s, b, p, t, h = d.strings, d.board, d.pivot, d.tilt_screw, d.heel
    n = d.count
    if s.saddle_heights is not None and len(s.saddle_heights) != n:
        yield "strings.saddle_heights", f"{len(s.saddle_heights)} heights for {n} strings (compensation has {n})"
    if b.last_fret < b.joint_fret:
        yield "board.last_fret", f"{b.last_fret} lies before the joint fret {b.joint_fret}"
    if s.saddle_heights is None and d.neck.angle is None:
        yield "neck.angle", ("neither neck angle nor saddle heights are given; one of them must be, "
                             "the other follows from the target")
    if s.saddle_heights is None or d.neck.angle is None:
        if d.target is None:
            yield "target", "is missing: neck angle or saddle heights are to be computed from a wanted action"
    if d.target is not None:
        if d.target.each is not None and len(d.target.each) != n:
            yield "target.each", f"{len(d.target.each)} actions for {n} strings"
        if d.target.each is None and (d.target.bass is None or d.target.treble is None):
            yield "target", "give both bass and treble, or each"
        if d.target.fret > b.last_fret:
            yield "target.fret", f"{d.target.fret} lies past the last fret {b.last_fret}"
    if d.body.dome != "flat" and d.body.dome_radius is None:
        yield "body.dome_radius", "is missing: a domed top needs its radius"
    if d.body.dome == "flat" and d.body.dome_radius is not None:
        yield "body.dome_radius", f"{d.body.dome_radius:g} mm is given for a flat top; leave it out"
    if d.body.dome_radius is not None and d.body.dome_radius < 3 * (abs(d.body.apex_x) + 250):
        yield "body.dome_radius", (f"{d.body.dome_radius:g} mm is too small for a top highest {d.body.apex_x:g} mm "
                                   f"from the joint; allowed is {3 * (abs(d.body.apex_x) + 250):g} mm and more")
    if d.body.soundhole_far <= d.body.soundhole_near:
        yield "body.soundhole_far", f"{d.body.soundhole_far:g} mm is not past soundhole_near {d.body.soundhole_near:g} mm"
    joint = float(fret_distance(scale=s.scale, fret=float(b.joint_fret)))
    saddle = s.scale - joint + b.joint_fret_x
    if saddle < d.tongue.length + 20:
        yield "tongue.length", f"{d.tongue.length:g} mm reaches to the saddle, {saddle:.1f} mm from the joint"
    if s.nut_spread >= b.width_nut:
        yield "strings.nut_spread", f"{s.nut_spread:g} mm does not fit on a board {b.width_nut:g} mm wide at the nut"
    if p.seat == "hex socket" and p.key_from != "heel":
        yield "pivot.key_from", f"'{p.key_from}': a hex socket as the seat faces the heel; allowed is 'heel' (with the neck off)"
    if t.key_from == "heel":
        yield "tilt_screw.key_from", "'heel': the captive head stands in the block; allowed is 'soundhole'"
    if p.rim_radius >= p.ball_radius:
        yield "pivot.rim_radius", f"{p.rim_radius:g} mm: a ball of radius {p.ball_radius:g} mm falls through a rim that wide"
    else:
        seat = math.sqrt(p.ball_radius**2 - p.rim_radius**2)  # the ball's centre stands this far in front of the rim
        low, high = -d.pocket.depth - seat, d.block.depth - seat
        if not low <= p.x < high:
            yield "pivot.x", (f"{p.x:g} mm puts the seat's rim at {p.x + seat:.2f} mm, outside the block and its pocket; "
                              f"allowed is {low:.2f} to {high:.2f} mm")
    if p.spacing / 2 + p.screw_diameter / 2 > _half_width(h, p.z):
        yield "pivot.spacing", (f"{p.spacing:g} mm puts the ball heads past the heel's side; at that height it is "
                                f"{2 * _half_width(h, p.z):.1f} mm wide")
    if p.spacing < p.screw_diameter + d.clamp.hole_in_block:
        yield "pivot.spacing", f"{p.spacing:g} mm leaves no room for the clamp screw between the pivot screws"
    for part, screw in (("tilt_screw", t), ("clamp", d.clamp)):
        if screw.hole_in_block < screw.diameter:
            yield f"{part}.hole_in_block", (f"{screw.hole_in_block:g} mm is smaller than its screw, {screw.diameter:g} mm; "
                                            f"allowed is {screw.diameter:g} to 25 mm")
    if t.receiver == "rod along" and abs(d.clamp.receiver_x - t.receiver_x) < 0.5 and (
            d.clamp.receiver_diameter > t.receiver_diameter):
        yield "clamp.receiver_diameter", (f"{d.clamp.receiver_diameter:g} mm is thicker than the tilt screw's rod, through whose "
                                          f"bore it goes up from the heel's foot; allowed is 4 to {t.receiver_diameter:g} mm")
    if t.head_x <= t.receiver_x + 3:
        yield "tilt_screw.head_x", f"{t.head_x:g} mm is not behind the receiver at {t.receiver_x:g} mm"
    if t.head_z > p.z - 15:
        yield "tilt_screw.head_z", (f"{t.head_z:g} mm is too near the pivot axis at {p.z:g} mm; "
                                    f"allowed is {p.z - 15:g} mm and less")
    if t.receiver_z > p.z - 15:
        yield "tilt_screw.receiver_z", (f"{t.receiver_z:g} mm is too near the pivot axis at {p.z:g} mm; "
                                        f"allowed is {p.z - 15:g} mm and less")
    if abs(t.head_z - t.receiver_z) > 0.5 * abs(t.head_x - t.receiver_x):
        yield "tilt_screw.receiver_z", "the tilt screw stands steeper than 1 in 2; receiver and head must lie nearly level"
    if h.foot_z >= min(t.receiver_z, t.head_z) - t.diameter / 2:
        yield "heel.foot_z", f"{h.foot_z:g} mm leaves no wood under the tilt screw at {t.receiver_z:g} mm"
    if h.half_width_foot > h.half_width_top:
        yield "heel.half_width_foot", f"{h.half_width_foot:g} mm is more than at the top, {h.half_width_top:g} mm"
    if d.pocket.depth >= h.length:
        yield "pocket.depth", f"{d.pocket.depth:g} mm is deeper than the heel is long, {h.length:g} mm"
    if h.floor_clearance >= d.pocket.depth:
        yield "heel.floor_clearance", f"{h.floor_clearance:g} mm leaves the heel outside a pocket {d.pocket.depth:g} mm deep"
    if d.block.foot_z > min(t.head_z, t.receiver_z) - t.head_diameter / 2:
        yield "block.foot_z", f"{d.block.foot_z:g} mm leaves no wood under the captive head at {t.head_z:g} mm"
    if t.head_x >= d.block.depth:
        yield "tilt_screw.head_x", f"{t.head_x:g} mm lies outside the block, {d.block.depth:g} mm deep"
    if d.tongue.length >= d.body.soundhole_near:
        yield "tongue.length", f"{d.tongue.length:g} mm reaches over the soundhole's edge at {d.body.soundhole_near:g} mm"
    if d.limits.fret > b.last_fret:
        yield "limits.fret", f"{d.limits.fret} lies past the last fret {b.last_fret}"
    yield from _names(d)


def _names(d: Any) -> Iterator[tuple[str, str]]:
    """Names that stand in the tables: woods, classes of strength, tunings."""
    from lutherie_geom.design.catalogue import CatalogueError, strength_class
    from lutherie_geom.design.tuning import string_problems
    from lutherie_geom.design.woods import wood

    parts = ("neck", "block", "board", "top")
    asked: list[tuple[str, str, Any]] = [(f"woods.{part}", getattr(d.woods, part), wood) for part in parts]
    asked += [(f"{part}.strength_class", getattr(d, part).strength_class, strength_class)
              for part in ("pivot", "tilt_screw", "clamp")]
    for field, name, look_up in asked:
        try:
            look_up(name)
        except CatalogueError as e:
            yield field, str(e)
    yield from string_problems(d)


def _half_width(heel: Any, z: float) -> float:
    part = min(max(z / heel.foot_z, 0.0), 1.0)
    return float(heel.half_width_top + (heel.half_width_foot - heel.half_width_top) * part)
