"""What the gauges would show on an instrument of known dimensions at a pose, reading by reading, with exact slopes."""

from __future__ import annotations

from typing import Any

import numpy as np

from lutherie_geom.joint.body import gap, taper_of
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.strings import action, edge_margin
from lutherie_geom.shop.setup.measured import side_of
from lutherie_geom.studies.gradients import Exact, action_at, margin_at, through_pose
from lutherie_geom.theory.tongue import gap_under_tongue

__all__ = ["exact_of", "shown"]

_SIDE = {"bass": 0, "treble": -1}


def _string(name: str) -> int:
    return _SIDE[name] if name in _SIDE else int(name.removeprefix("string_")) - 1


def _gap_end(p: Pose) -> Array:
    return gap(p, np.asarray(p.of.tongue_length), 0.0)


def _gap_end_slopes(p: Pose) -> dict[str, Any]:
    """By the turns, by the gap itself and by the pivot's place; the tongue's own shape is taken as it is."""
    d = p.of
    taper = taper_of(d).slope
    s = dict(gap_under_tongue.slopes(x=d.tongue_length, y=0.0, gap_joint=d.gap_joint, hollowed=d.hollowed, taper=taper,
                                     curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across, **p.turned)["gap"])
    steps = ("cos_psi", "sin_psi", "cos_theta", "sin_theta", "advance", "x_p", "z_p", "gap_joint")
    return through_pose(p, {k: s[k] for k in steps})


def exact_of(key: str, handed: str = "right") -> Exact:
    """The reading [mm] of a key (see :mod:`lutherie_geom.shop.setup.measured`), its value and its slopes at a pose.

    The slopes of ``gap.end`` are those by the turns, the screws' places and ``gap_joint`` only.
    """
    kind, _, rest = key.partition(".")
    if kind == "action":
        fret, _, string = rest.partition(".")
        return action_at(_string(string), int(fret))
    if kind == "margin":
        return margin_at(_SIDE[side_of(rest, handed)])
    if kind == "gap":
        return Exact("gap.end", "gap under the tongue's end", "mm", _gap_end, _gap_end_slopes)
    if kind == "relief":
        return Exact("relief", "relief", "mm", lambda p: np.asarray(p.of.relief), lambda p: {"relief": 1.0})
    i, name = _SIDE[rest], {"nut": "h_nut", "saddle": "h_saddle"}[kind]

    def slopes(p: Pose) -> dict[str, Any]:
        return {name: np.eye(p.of.strings)[i]}

    return Exact(f"{kind}.{rest}", f"{kind}, {rest}", "mm", lambda p: np.asarray(getattr(p.of, name))[i], slopes)


def shown(p: Pose, keys: Any, handed: str = "right") -> dict[str, Array]:
    """What the gauges show [mm] at a pose, without their errors, by key; batches as the pose has them."""
    out: dict[str, Array] = {}
    margins = edge_margin(p, p.of.last_fret) if any(k.startswith("margin") for k in keys) else ()
    actions: dict[int, Array] = {}
    for key in keys:
        kind, _, rest = key.partition(".")
        if kind == "action":
            fret, _, string = rest.partition(".")
            if int(fret) not in actions:
                actions[int(fret)] = action(p, int(fret))[:, 0]
            out[key] = actions[int(fret)][_string(string)]
        elif kind == "margin":
            out[key] = margins[_SIDE[side_of(rest, handed)]][0]
        else:
            out[key] = exact_of(key, handed).value(p)
    return out
