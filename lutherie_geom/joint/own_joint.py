"""A design's own joint, as the description that every joint of any kind has: it takes its place among them.

    j = joint_of(load("spring_tide"))
    lay_out(j, load("spring_tide"))
    Path("ours.toml").write_text(joint_text(j), "utf-8")        # to change a line of it and read it back with load_joint
"""

from __future__ import annotations

from typing import Any

import numpy as np

from lutherie_geom.design.joints import Adjuster, BallInCone, BallInVee, BallOnRim, JointFile, Link, ScrewInNeck
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.holes import clamp_height
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import REACH, _search, margins

__all__ = ["joint_of"]

SCREW_STOPS = ("screw bottoms", "thread", "washer spring")
"""Stops of the tilt screw itself, which a description of contacts can only tell as the turns where it ends."""


def _ends(design: Any) -> tuple[float, float]:
    """Least and most turns of the tilt screw [turn] by its own stops, pivot screws as drawn."""
    d = design.dimensions()
    own = [m for name, _, _, m in margins(design, d) if name in SCREW_STOPS]

    def left(turns: Array) -> Array:
        p = pose(d, tilt=turns)
        found = np.min([np.broadcast_to(m(p), turns.shape) for m in own], axis=0)
        return np.where(np.isnan(found), np.inf, found)

    low, high = (_search(left, 0.0, way) for way in (-1, 1))
    return -REACH if low is None else min(round(low, 6), 0.0), REACH if high is None else max(round(high, 6), 0.0)


def joint_of(design: Any) -> JointFile:
    """The joint of a design (seats, tilt screw, clamp, pitches, places [mm], all as drawn), under the design's name.

    Neck set, board and strings stay the design's: lay it out on that design. Cone and vee flanks stand at 45 degrees, as
    everywhere; places that can be off have 0.1 mm unless changed. Raises :class:`lutherie_geom.design.DesignError` when the
    design's neck angle or saddle can't be solved for.
    """
    v, t, c = design.pivot, design.tilt_screw, design.clamp
    faces = (-1.0, 0.0, 0.0)
    contacts: list[Any] = []
    for side, sign in (("bass", -1), ("treble", 1)):
        drawn: dict[str, Any] = dict(name=f"{side} ball", at=_mm(v.x, sign * v.spacing / 2, v.z), faces=faces)
        if v.seat in ("cone", "vee groove"):
            groove = v.seat == "vee groove" and side == "treble"
            contacts.append(BallInVee(kind="ball in vee", along=(0.0, 1.0, 0.0), **drawn) if groove else
                            BallInCone(kind="ball in cone", **drawn))
        else:
            contacts.append(BallOnRim(kind="ball on rim", ball_radius=f"{v.ball_radius!r} mm", rim_radius=f"{v.rim_radius!r} mm",
                                      touches=6 if v.seat == "hex socket" else 0, **drawn))
    ends: dict[str, Any] = dict(name="tilt screw", at=_mm(t.receiver_x, 0.0, t.receiver_z), head=_mm(t.head_x, 0.0, t.head_z),
                                carries="tension")  # pushed back, its captive head comes off the block
    zc = clamp_height(design)
    clamp: dict[str, Any] = dict(name="clamp screw", at=_mm(c.receiver_x, 0.0, zc), head=_mm(design.block.depth, 0.0, zc),
                                 carries="tension", preload=f"{c.preload!r} N")
    contacts += [Link(kind="link", **each) if t.receiver == "dowel across" else
                 ScrewInNeck(kind="screw fixed in neck", faces=(1.0, 0.0, 0.0), **each) for each in (ends, clamp)]
    low, high = _ends(design)
    adjusters = [Adjuster(name="tilt screw", contact="tilt screw", changes="length", pitch=f"{t.pitch!r} mm", hand=t.hand,
                          key_from=t.key_from, least=low, most=high)]
    adjusters += [Adjuster(name=f"{side} pivot screw", contact=f"{side} ball", changes="seat", along=faces,
                           pitch=f"{v.pitch!r} mm", hand=v.hand, key_from=v.key_from) for side in ("bass", "treble")]
    return JointFile(name=design.name, about=f"the joint of {design.name} as drawn: {v.seat}, {t.receiver}",
                     guitar=design.name.lower().replace(",", "").replace(" ", "_"), contacts=tuple(contacts),
                     adjusters=tuple(adjusters))


def _mm(*place: float) -> Any:
    return [f"{v!r} mm" for v in place]
