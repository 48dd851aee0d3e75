"""A neck whose relief changes: truss rod, string pull or moisture bow it, and the joint holds its end.

Relief is told from the chord between fret 1 and the joint fret, and the neck angle is that chord's. A neck that is drawn with
another relief is another drawing. A neck that *bends* to another relief is held at the joint fret: heel, joint fret and tongue
stay, the chord turns, and the nut goes up or down.
"""

from __future__ import annotations

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.theory.action import bent_neck

__all__ = ["by_relief", "with_relief"]


def _places(d: Dimensions) -> dict[str, Array]:
    first = d.x_fret(1)
    return dict(span=d.x_fret(d.joint_fret) - first, nut_to_first=first - d.x_nut, alpha=d.alpha, z_joint=d.z_joint,
                joint_fret_x=d.joint_fret_x)


def with_relief(d: Dimensions, relief: Array) -> Dimensions:
    """The same neck, bent to a ``relief`` [mm] (a number, or an array: the batch); a neck that has it already is unchanged.

    Neck angle, height at the joint, nut and the slope of the frets past the joint follow from the change of the relief.
    """
    bent = bent_neck(relief_change=relief - np.asarray(d.relief), **_places(d))
    nut, lift = np.asarray(d.h_nut, dtype=float), np.asarray(bent.nut_lift)
    nut = nut.reshape(nut.shape + (1,) * (lift.ndim + 1 - nut.ndim))
    return d.replaced(relief=relief, alpha=bent.alpha_bent, z_joint=bent.z_bent, h_nut=nut + lift,
                      fall_away_line=d.fall_away_line + bent.fall_change)


def by_relief(d: Dimensions) -> dict[str, Array]:
    """What a millimetre of relief does to each dimension that follows it, by field: [1], ``alpha`` [rad/mm], fall [1/mm]."""
    s = bent_neck.slopes(relief_change=0.0, **_places(d))
    at = {field: s[out]["relief_change"] for field, out in (("alpha", "alpha_bent"), ("z_joint", "z_bent"),
                                                            ("fall_away_line", "fall_change"))}
    return {"relief": 1.0, "h_nut": np.full(d.strings, s["nut_lift"]["relief_change"]), **at}
