"""What cannot be cut: parts that collide, wood that runs out. Nothing is drawn of such a joint."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from lutherie_geom.design.load import DesignError, Problem

__all__ = ["ShopError", "collisions", "refuse"]


class ShopError(DesignError):
    """A joint or a wish that the workshop refuses; ``problems`` holds every one of them, with its field, value and unit."""


_COLLIDES = {
    "inside.pivot_top": "a pivot screw's or insert's bore comes too near the soundboard, or through it",
    "inside.clamp_top": "the clamp screw's hole comes too near the soundboard, or through it",
    "inside.ball_side": "the ball heads come too near the heel's cheeks, or out of them",
    "inside.pocket_foot": "the pocket is routed past the block's foot",
    "inside.pivot_depth": "a pivot screw comes too near the block's inner face, or out of it",
    "inside.clamp_pivot": "clamp screw's hole and pivot bores come too near each other, or meet",
    "inside.clamp_tilt": "clamp screw's hole and tilt screw's come too near each other, or meet",
    "inside.clamp_ball": "the clamp screw meets a ball head",
    "inside.head_depth": "captive head, spring and cover come too near the block's inner face, or stand out of it",
    "inside.head_foot": "the captive head comes too near the block's foot, or out of it",
    "inside.bed_foot": "the captive head's bed or its cover's recess comes too near the block's foot, or out of it",
    "inside.bed_clamp": "the captive head's bed or its cover's recess comes too near the holes over it, or into them",
    "inside.receiver_side": "the receiver comes too near the heel's side, or out of it",
    "inside.receiver_foot": "the receiver comes too near the heel's foot, or out of it",
    "inside.receiver_end": "the receiver lies within the wood that must hold it, before the heel's end face",
    "inside.receiver_back": "the screw's hole comes too near the heel's far side, or out of it",
    "inside.receiver_slot": "the receiver comes too near the truss rod's slot or the board, or into it",
    "inside.receiver_clamp": "the two receivers, or rod and clamp screw, come too near each other, or meet",
    "inside.receiver_line": "the bores of the two rods, both from the heel's foot, overlap and are not in line",
    "inside.clamp_side": "the clamp screw's receiver comes too near the heel's side, or out of it",
    "inside.clamp_end": "the clamp screw's receiver lies within the wood that must hold it, before the heel's end face",
    "inside.clamp_back": "the clamp screw's receiver comes too near the heel's far side, or out of it",
    "inside.clamp_slot": "the clamp screw's receiver comes too near the truss rod's slot or the board, or into it",
    "inside.tongue_wood": "the tongue runs out of wood under the board",
    "inside.rod_cover": "the tongue rods come out of the tongue's underside",
    "inside.rod_board": "the tongue rods come out into the board's fret slots",
    "inside.rod_pivot": "the tongue rods meet the pivot screws",
    "inside.screw_end": "the tilt screw meets the bottom of its hole within the travel",
    "strength.heel.tilt_shear_out": "the receiver would shear out of the heel's end grain (wood before it too short for the "
                                    "pull)",
    "strength.heel.clamp_shear_out": "the clamp screw's receiver would shear out of the heel's end grain (wood before it too "
                                     "short for the preload)",
}
"""Readings whose failing makes a part impossible, in the words of who cuts it."""


def collisions(design: Any) -> Iterator[Problem]:
    """Everything that cannot be cut, each with the reading, what is there, what is needed [mm] and the cure."""
    from lutherie_geom.joint.inside import inside_readings
    from lutherie_geom.joint.travel import travel
    from lutherie_geom.mechanics.readings import strength_readings

    for r in (*inside_readings(design, travel(design)), *strength_readings(design)):
        if r.key in _COLLIDES and r.verdict and not r.verdict.ok:
            v = r.verdict
            asked = f"at {'least' if v.provided < v.required else 'most'} {v.required:.2f} {r.unit}"
            yield Problem(r.key, f"{_COLLIDES[r.key]}: {r.words} {v.provided:.2f} {r.unit}, {asked} needed. {v.cure}".rstrip())


def refuse(design: Any) -> None:
    """Raise :class:`ShopError` naming every collision; do nothing when the joint can be cut."""
    found = list(collisions(design))
    if found:
        raise ShopError(found, f"{design.name}: not drawn, it cannot be cut")
