"""What a toleranced number of a design is called on a picture and in a report: a few words, as short as an axis needs."""

from __future__ import annotations

from collections.abc import Iterable

from lutherie_geom.design.lines import folded
from lutherie_geom.design.tolerances import bare

__all__ = ["WORDS", "in_the_file", "words_and_names", "words_of"]

WORDS: dict[str, str] = {
    "heel.floor_clearance": "floor clearance of the heel", "heel.ball_height": "ball heads, height in the heel",
    "heel.ball_depth": "ball heads, depth in the heel", "heel.yaw": "line of the ball heads, square",
    "pivot.x": "seats, depth in the block", "pivot.z": "seats, height in the block",
    "pivot.set_bass": "bass pivot screw, as set", "pivot.set_treble": "treble pivot screw, as set",
    "tilt_screw.head_x": "tilt screw's head, depth", "tilt_screw.head_z": "tilt screw's head, height",
    "tilt_screw.receiver_x": "receiver, depth in the heel", "tilt_screw.receiver_z": "receiver, height in the heel",
    "tilt_screw.set": "tilt screw, as set", "neck.angle": "neck angle", "board.thickness": "board, thickness",
    "board.relief": "relief", "board.radius_nut": "board's radius at the nut", "board.radius_last": "board's radius, last fret",
    "tongue.wood": "tongue wood", "tongue.gap": "gap, as laid out", "strings.saddle_heights": "saddle, each string",
    "strings.nut_height_bass": "nut slot, bass", "strings.nut_height_treble": "nut slot, treble",
    "strings.bridge_place": "bridge, along", "strings.bridge_shift": "bridge, across", "strings.scale": "fret places",
    "strings.compensation": "saddle's edge, each string", "pocket.depth": "pocket, depth", "body.dome_radius": "dome's radius",
    "tilt_screw.pitch": "tilt screw's pitch", "board.crown": "fret crowns, height", "pocket.side_gap": "pocket, side gap",
    "heel.foot_z": "heel's foot, height", "heel.half_width_foot": "heel's foot, half its width",
    "pivot.spacing": "seats, spacing", "pivot.pitch": "pivot screws' pitch",
    "heel.half_width_top": "heel's top, half its width", "heel.draught": "heel's cheeks, draught",
    "strings.nut_place": "nut slots, across", "strings.nut_spread": "strings' spread at the nut",
    "strings.saddle_spread": "strings' spread at the saddle", "strings.nut_compensation": "nut's edge, along",
    "board.joint_fret_x": "joint fret, along", "board.width_nut": "board's width at the nut",
    "board.width_last": "board's width, last fret", "board.fall_away.drop": "fall-away of the last frets",
    "body.apex_x": "dome's apex, along", "tongue.length": "tongue, length", "tongue.width": "tongue, width",
}


def words_of(name: str) -> str:
    """Words for a number of the design file or an error at the bench; one string of a list by its place, the bass being 1; a
    name without words of its own stands as it is."""
    words = WORDS.get(bare(name))
    if words is None:
        return name
    if name == bare(name):
        return words
    return f"{words.removesuffix(', each string')}, string {name[len(bare(name)) + 1:-1]}"


def words_and_names(name: str, told: set[str] | None = None) -> str:
    """The words of a number with its name in the design file in brackets; without it if it is in ``told``, where it is put."""
    words, known = words_of(name), told is not None and name in told
    if told is not None:
        told.add(name)
    return words if known or words == name else f"{words} ({name})"


def in_the_file(names: Iterable[str]) -> list[str]:
    """What to write below a table in words: each number once, with its name in the design file. Nothing where all are names."""
    said = [words_and_names(n) for n in dict.fromkeys(names) if words_of(n) != n]
    return [folded(f"in the design file: {'; '.join(said)}")] if said else []
