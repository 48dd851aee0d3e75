"""Sources of error: what an error in a design field, or at the bench, does to the joint as it is built.

This is not the arithmetic of the design, where one number moves all that hangs on it, but what a wrong cut moves. It rests on
how the class measures:

- On the neck all is measured from the glue face (where the board lies) and from the joint's plane. A thicker board lifts the
  fret plane and nothing else; ball heads set too high in the heel let the whole neck sink in its seats.
- On the body all is measured from the soundboard and from the block's outer face. Seats bored too high carry the neck up;
  seats too deep do what turning both pivot screws in would do.
- No turn of the tilt screw means its *designed length* from captive head to receiver, no turn of a pivot screw its designed
  stand. So a head that bears too deep draws the heel in as a wrong turn would. (A spread of the dimension ``x_head`` itself
  keeps the meaning it has in the pose: no turn is where the neck stands at its nominal tilt.)
- The tongue's underside is fitted to the soundboard as it is, with the neck in its place.

Every source moves a few targets evenly; a target is a field of :class:`Dimensions`, a turn, or one of :data:`STEPS`, from which
fields and turns follow exactly. Units are those of the library: mm, rad, turn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.tolerances import BENCH, number_fields
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.theory.action import crown_dip
from lutherie_geom.theory.dome import radius_from_sagitta
from lutherie_geom.theory.tilt import screw_length

__all__ = ["SOURCES", "STEPS", "TURNS", "Source", "built", "pushed", "table", "weights"]

TURNS = ("tilt", "bass", "treble")
STEPS = MappingProxyType({
    "seats_deep": "mm that the seats stand too deep in the block: both pivot screws turned in by that",
    "line_yaw": "rad that the line of the ball heads is off square: the pivot screws turned against each other by that",
    "radius": "mm on the dome's radius: the curvature is 1 over it",
    "draught_angle": "rad on the cheek's draught: its slope is the tangent",
    "drop": "mm on the fall-away at the last fret: a slope, or the curvature of an arc",
})
"""Steps between a source and the dimensions and turns."""
Moves = Mapping[str, Array]  # by target
_SCREW = ("x_head", "z_head", "x_receiver", "z_receiver")
_EACH, _EVEN, _BASS, _TREBLE = "each", "even", "bass", "treble"  # weights over the strings


@dataclass(frozen=True)
class Source:
    """One source of error: what 1 unit of it moves (by target: a number, or how it spreads over the strings), and why.

    same: the field of :class:`Dimensions` that holds its nominal value, if one does.
    """

    name: str
    moves: Mapping[str, float | str]
    why: str
    same: str = ""

    def __str__(self) -> str:
        parts = (f"{t} {w:+g}" if isinstance(w, float | int) else f"{t} ({w})" for t, w in self.moves.items())
        return f"{self.name:<28} {', '.join(parts):<58} {self.why}"


_UP = {"z_joint": 1.0, "gap_joint": 1.0, "foot_z": 1.0}


def _plain(name: str, field: str, why: str, weight: float | str = 1.0) -> Source:
    return Source(name, {field: weight}, why, field if weight in (1.0, _EACH) else "")


_TABLE = (
    _plain("strings.scale", "scale", "frets are sawn to it; the saddle stands where the design puts it"),
    _plain("strings.nut_spread", "y_nut", "slots spread evenly from the middle", _EVEN),
    _plain("strings.saddle_spread", "y_saddle", "strings spread evenly from the middle", _EVEN),
    _plain("strings.nut_height_bass", "h_nut", "slots between are cut evenly from bass to treble", _BASS),
    _plain("strings.nut_height_treble", "h_nut", "slots between are cut evenly from bass to treble", _TREBLE),
    _plain("strings.nut_compensation", "nut_compensation", "moves the nut's edge along the board"),
    Source("strings.compensation", {"x_saddle": _EACH}, "moves the saddle's edge under one string"),
    _plain("strings.saddle_heights", "h_saddle", "the saddle is filed string by string", _EACH),
    Source("strings.nut_place", {"y_nut": 1.0}, "all slots of the nut shift together"),
    Source("strings.bridge_place", {"x_saddle": 1.0}, "the saddle goes with the bridge, along the dome"),
    Source("strings.bridge_shift", {"y_saddle": 1.0}, "the saddle goes with the bridge, across"),
    _plain("board.joint_fret_x", "joint_fret_x", "the board is glued on further along the neck"),
    _plain("board.width_nut", "width_nut", "the board's edges"),
    _plain("board.width_last", "width_last", "the board's edges"),
    _plain("board.radius_nut", "radius_nut", "crowning of the board"),
    _plain("board.radius_last", "radius_last", "crowning of the board"),
    _plain("board.relief", "relief", "hollow along the board"),
    Source("board.crown", {"z_joint": 1.0}, "frets stand on the board; underside and holes stay"),
    Source("board.thickness", {"z_joint": 1.0}, "the board lies on the glue face; underside and holes stay"),
    Source("board.fall_away.drop", {"drop": 1.0}, "frets past the joint alone"),
    _plain("neck.angle", "alpha", "the glue face is planed to it, from the joint; the underside is fitted afterwards"),
    Source("body.dome_radius", {"radius": 1.0}, "1 over it is the curvature; bridge and underside follow the top as it is"),
    _plain("body.apex_x", "x_apex", "bridge and underside follow the top as it is"),
    _plain("tongue.length", "tongue_length", "the tongue's footprint"),
    _plain("tongue.width", "tongue_width", "the tongue's footprint"),
    Source("tongue.wood", {"gap_joint": -1.0}, "measured down from the glue face: more wood is less gap"),
    Source("tongue.gap", _UP, "balls and receiver laid out too low under the glue face: neck up, its holes stay", "gap_joint"),
    Source("pivot.x", {"seats_deep": 1.0}, "seats too deep let the neck in: the pivot screws' turn, exactly", "x_p"),
    Source("pivot.z", {"z_p": 1.0, "z_receiver": 1.0, **_UP}, "seats bored too high carry the whole neck up, not the head in the "
           "block", "z_p"),
    _plain("pivot.spacing", "spacing", "lever of the steering"),
    _plain("pivot.pitch", "pitch_pivot", "what a turn moves"),
    _plain("tilt_screw.pitch", "pitch_tilt", "what a turn moves"),
    _plain("tilt_screw.head_x", "x_head", "the head bears too deep in the block; the screw keeps its designed length"),
    _plain("tilt_screw.head_z", "z_head", "hole in the block; the screw keeps its designed length"),
    _plain("tilt_screw.receiver_x", "x_receiver", "hole in the heel; the screw keeps its designed length"),
    _plain("tilt_screw.receiver_z", "z_receiver", "hole in the heel; the screw keeps its designed length"),
    _plain("pocket.depth", "pocket", "the rim; the floor is the block's own face"),
    _plain("pocket.side_gap", "side_gap", "the pocket's cheeks"),
    _plain("heel.floor_clearance", "floor_clearance", "the heel's end face, measured from the joint's plane"),
    _plain("heel.foot_z", "foot_z", "end of the heel"),
    _plain("heel.half_width_top", "half_width_top", "outline of the heel"),
    _plain("heel.half_width_foot", "half_width_foot", "outline of the heel"),
    Source("heel.draught", {"draught_angle": 1.0}, "its slope is the tangent"),
    Source("heel.ball_height", {"z_receiver": -1.0, **dict.fromkeys(_UP, -1.0)}, "balls too near the board: the neck sinks, its "
           "receiver with it; the seats stay"),
    Source("heel.ball_depth", {"x_p": -1.0, "seats_deep": 1.0}, "the neck stands nearer to the body, its axis further from its "
           "own joint plane"),
    Source("heel.yaw", {"line_yaw": 1.0}, "as if the pivot screws were turned against each other; a roll of yaw times tilt is "
           "left out"),
    Source("tilt_screw.set", {"tilt": 1.0}, "a wrong turn"),
    Source("pivot.set_bass", {"bass": 1.0}, "a wrong turn"),
    Source("pivot.set_treble", {"treble": 1.0}, "a wrong turn"),
)
SOURCES: Mapping[str, Source] = MappingProxyType({s.name: s for s in _TABLE})
"""Every source that moves a reading, by its name in the design file or at the bench."""


def table() -> str:
    """All sources as a table: name, what 1 unit of it moves, why; then the numbers that move no reading studied here."""
    idle = [n for n in (*number_fields(), *BENCH) if n not in SOURCES]
    return "\n".join([*map(str, _TABLE), f"moves no reading: {', '.join(idle)}"])


def weights(name: str, strings: int, string: int | None = None) -> dict[str, Any]:
    """What 1 unit of a source moves: by target a number, or for a field per string numbers (strings,). ``string``, counted
    from 0, picks one string of a source that errs string by string."""
    part = np.linspace(0.0, 1.0, strings)
    spread = {_EVEN: part - 0.5, _BASS: 1 - part, _TREBLE: part,
              _EACH: np.ones(strings) if string is None else np.eye(strings)[string]}
    found = {}
    for target, w in SOURCES[name].moves.items() if name in SOURCES else ():
        found[target] = spread[w] if isinstance(w, str) else np.full(strings, w) if target in PER_STRING else w
    return found


def _screw(d: Dimensions, fields: Mapping[str, Array]) -> dict[str, Array]:
    return {n: fields.get(n, getattr(d, n)) for n in _SCREW}


def _past(d: Dimensions) -> float:
    return float(d.x_fret(d.last_fret) - d.x_fret(d.joint_fret))


def _drop(d: Dimensions) -> float:
    """Fall-away at the last fret as designed [mm]."""
    return float(crown_dip(relief=0.0, part=0.0, fall_slope=0.0, fall_curvature=d.fall_away_curvature, past_joint=_past(d)))


def _added(d: Dimensions, *moves: Moves) -> dict[str, Array]:
    """Fields of the joint with the moves added to them."""
    fields: dict[str, Array] = {}
    for target, by in ((t, b) for m in moves for t, b in m.items() if t not in STEPS and t not in TURNS):
        value = fields.get(target, np.asarray(getattr(d, target), dtype=float))
        room = np.ndim(by) - np.ndim(value) if target in PER_STRING else 0
        fields[target] = (value.reshape(value.shape + (1,) * room) if room > 0 else value) + by
    return fields


def built(d: Dimensions, moves: Moves, plain: Moves = MappingProxyType({})) -> tuple[Dimensions, dict[str, Array]]:
    """The joint as built, and the turns [turn] by which its screws are off, by ``tilt``, ``bass`` and ``treble``.

    ``moves``: what the sources add to each target, (*batch) or for a field per string (strings, *batch). ``plain``: what is
    added to fields as dimensions, not by a source: for these no turn of the tilt screw stays the nominal tilt.
    """
    fields, turns = _fields(d, moves, plain)
    return d.replaced(**fields), turns


def _fields(d: Dimensions, moves: Moves, plain: Moves) -> tuple[dict[str, Array], dict[str, Array]]:
    fields = _added(d, plain, moves)
    if "radius" in moves:
        k = np.asarray(fields.get("curvature", d.curvature))
        fields["curvature"] = k / (1 + k * moves["radius"])
    if "draught_angle" in moves:
        fields["draught"] = np.tan(np.arctan(fields["draught"] if "draught" in fields else d.draught) + moves["draught_angle"])
    if "drop" in moves and _past(d) > 0:
        if d.fall_away_curvature:
            rise = _drop(d) + moves["drop"]
            fields["fall_away_curvature"] = 1 / radius_from_sagitta(rise=rise, chord=2 * _past(d))
        else:
            fields["fall_away_line"] = fields.get("fall_away_line", d.fall_away_line) + moves["drop"] / _past(d)
    pitch, spacing = (np.asarray(fields.get(n, getattr(d, n))) for n in ("pitch_pivot", "spacing"))
    deep = moves.get("seats_deep", 0.0) / pitch
    apart = spacing * np.tan(moves.get("line_yaw", 0.0)) / (2 * pitch)
    turns = {"tilt": moves.get("tilt", 0.0), "bass": moves.get("bass", 0.0) - deep - apart,
             "treble": moves.get("treble", 0.0) - deep + apart}
    if any(n in moves for n in _SCREW):
        asked, real = _screws(d, fields, plain)
        turns["tilt"] = turns["tilt"] + (_length(asked) - _length(real)) / fields.get("pitch_tilt", d.pitch_tilt)
        fields["z_head"] = real["z_head"]
    return fields, turns


def _length(screw: Mapping[str, Array]) -> Array:
    return screw_length(tilt=0.0, pitch_tilt=1.0, **screw)


def _steep(screw: Mapping[str, Array]) -> Array:
    return (screw["z_head"] - screw["z_receiver"]) / (screw["x_head"] - screw["x_receiver"])


def _screws(d: Dimensions, fields: Mapping[str, Array], plain: Moves) -> tuple[dict[str, Array], dict[str, Array]]:
    """Head and receiver of the tilt screw, as designed and as built. A rod along the heel fixes the screw's direction in the
    heel: what counts is the height at which the screw then comes to lie on its bearing face, and not that of the hole."""
    asked = _screw(d, _added(d, {n: v for n, v in plain.items() if n in _SCREW}))
    real = _screw(d, fields)
    if d.receiver == "rod along":
        real["z_head"] = real["z_receiver"] + (real["x_head"] - real["x_receiver"]) * _steep(asked)
    return asked, real


def pushed(d: Dimensions, moves: Moves, plain: Moves, way: Moves, plain_way: Moves) -> tuple[dict[str, Array], dict[str, Array]]:
    """Exact slopes of :func:`built` at ``moves`` and ``plain`` along ``way`` and ``plain_way`` (by target, as :func:`weights`
    gives them): slopes of fields and of turns [unit of target per unit of the source].

    A field per string has shape (strings,) or (strings, *batch).
    """
    fields, _ = _fields(d, moves, plain)
    now = d.replaced(**fields)
    go: dict[str, Array] = {t: way.get(t, 0.0) + plain_way.get(t, 0.0) for t in (*way, *plain_way)
                            if t not in STEPS and t not in TURNS}
    if "radius" in way or ("radius" in moves and "curvature" in go):
        stretch = np.asarray(now.curvature) / _added(d, plain).get("curvature", d.curvature) if d.curvature else 1.0
        go["curvature"] = go.get("curvature", 0.0) * stretch**2 - now.curvature**2 * way.get("radius", 0.0)
    if "draught_angle" in way:
        go["draught"] = (1 + np.asarray(now.draught) ** 2) * way["draught_angle"]
    if "drop" in way and _past(d) > 0:
        if d.fall_away_curvature:
            by = radius_from_sagitta.slopes(rise=_drop(d) + moves.get("drop", 0.0), chord=2 * _past(d))["radius"]["rise"]
            go["fall_away_curvature"] = -(now.fall_away_curvature**2) * by * way["drop"]
        else:
            go["fall_away_line"] = way["drop"] / _past(d)
    pitch, yaw = now.pitch_pivot, moves.get("line_yaw", 0.0)
    by_pitch = go.get("pitch_pivot", 0.0) / pitch
    deep = (way.get("seats_deep", 0.0) - moves.get("seats_deep", 0.0) * by_pitch) / pitch
    apart = (go.get("spacing", 0.0) * np.tan(yaw) + now.spacing * (1 + np.tan(yaw) ** 2) * way.get("line_yaw", 0.0)
             - now.spacing * np.tan(yaw) * by_pitch) / (2 * pitch)
    turn = {"tilt": way.get("tilt", 0.0), "bass": way.get("bass", 0.0) - deep - apart,
            "treble": way.get("treble", 0.0) - deep + apart}
    if any(n in m for n in _SCREW for m in (moves, way)):
        turn["tilt"] = turn["tilt"] + _tilt_slope(d, fields, plain, plain_way, go)
    return go, turn


def _tilt_slope(d: Dimensions, fields: dict[str, Array], plain: Moves, plain_way: Moves, go: dict[str, Array]) -> Array:
    """Slope of the tilt screw's wrong turns [turn per unit] along ``go``, which for a rod gets the height of the bearing."""
    asked, real = _screws(d, fields, plain)
    ask = {n: plain_way.get(n, 0.0) for n in _SCREW}
    if d.receiver == "rod along":
        steep = _steep(asked)
        steeper = (ask["z_head"] - ask["z_receiver"] - steep * (ask["x_head"] - ask["x_receiver"])
                   ) / (asked["x_head"] - asked["x_receiver"])
        go["z_head"] = (go.get("z_receiver", 0.0) + (go.get("x_head", 0.0) - go.get("x_receiver", 0.0)) * steep
                        + (real["x_head"] - real["x_receiver"]) * steeper)
    by_asked, by_real = (screw_length.slopes(tilt=0.0, pitch_tilt=1.0, **s)["screw_length"] for s in (asked, real))
    pitch = fields.get("pitch_tilt", d.pitch_tilt)
    off = sum(by_asked[n] * ask[n] - by_real[n] * go.get(n, 0.0) for n in _SCREW)
    return (off - (_length(asked) - _length(real)) * go.get("pitch_tilt", 0.0) / pitch) / pitch
