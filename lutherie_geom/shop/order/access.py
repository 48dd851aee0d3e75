"""What a cutter meets and where a key gets in: computed from the design, not listed.

The **cutter** follows the pocket's outline (and then clears its floor) in the plane of the joint face, y to the treble, z up. A
screw that stands out of the block is met where the path comes nearer than the sum of the radii.

A **key** reaches a screw from the soundhole straight, at an angle that a ball end allows, or bent: one arm in the socket along
the screw, the other swinging between top, brace and back. It must swing at least a sixth of a turn to take a new grip.

Lengths in mm, angles in rad, turns in turns. Arrays of bits, screws' places or arms broadcast.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.theory.access import cutter_margin, path_half_width, segment_distance

__all__ = ["Box", "Cutter", "Meeting", "Standing", "box_of", "floor_path", "meetings", "outline_path", "path_distance",
           "path_half", "standing"]


@dataclass(frozen=True)
class Cutter:
    """A router with its template (usual sizes: common practice, no source) [mm].

    ``bit`` and ``bush`` are diameters; ``base`` is the base plate's; ``template`` its thickness, lying on the sides' outside.
    ``whole_floor``: the router clears the floor as well; without it, it cuts along the outline only.
    """

    bit: float = 12.0
    bush: float = 17.0
    base: float = 90.0
    template: float = 12.0
    whole_floor: bool = True

    def __post_init__(self) -> None:
        for name, low, high in (("bit", 2.0, 30.0), ("bush", 4.0, 60.0), ("base", 30.0, 250.0), ("template", 2.0, 40.0)):
            if not low <= (value := getattr(self, name)) <= high:
                raise ValueError(f"cutter.{name}: {value:g} mm; allowed is {low:g} to {high:g} mm")
        if self.bush <= self.bit:
            raise ValueError(f"cutter.bush: {self.bush:g} mm is not wider than the bit, {self.bit:g} mm")


@dataclass(frozen=True)
class Standing:
    """A screw that stands out of the block by ``out`` [mm] at ``y``, ``z`` [mm] of the joint face."""

    screw: str
    y: float
    z: float
    diameter: float
    out: float


@dataclass(frozen=True)
class Meeting:
    """How a router passes a standing screw: ``part`` of it that comes nearest, with its ``margin`` [mm] (negative: they meet);
    ``distance`` of the path [mm] and the margin of the ``bit`` alone [mm]."""

    standing: Standing
    part: str
    distance: float
    margin: float
    bit: float

    @property
    def meets(self) -> bool:
        return self.margin < 0

    def __str__(self) -> str:
        s = self.standing
        if not self.meets:
            return f"{self.part} clears the {s.screw} by {self.margin:.1f} mm"
        return f"{self.part} meets the {s.screw} ({s.out:.1f} mm out of the block), {-self.margin:.1f} mm too near"


@dataclass(frozen=True)
class Box:
    """The closed body round the block [mm]: ``depth`` from the top's outside to the back's outside at the block, ``back`` its
    thickness; the brace between block and soundhole (``brace_x`` its middle, ``brace_width``, ``brace_height``)."""

    depth: float = 105.0
    back: float = 2.5
    top: float = 2.8
    near: float = 97.0
    far: float = 198.0
    brace_x: float = 82.0
    brace_width: float = 10.0
    brace_height: float = 13.0

    def __post_init__(self) -> None:
        for name, low, high in (("depth", 40.0, 200.0), ("back", 1.0, 8.0), ("brace_width", 0.0, 40.0),
                                ("brace_height", 0.0, 40.0)):
            if not low <= (value := getattr(self, name)) <= high:
                raise ValueError(f"box.{name}: {value:g} mm; allowed is {low:g} to {high:g} mm")
        if self.far <= self.near:
            raise ValueError(f"box.far: {self.far:g} mm is not past box.near, {self.near:g} mm")

    @property
    def middle(self) -> float:
        """Middle of the soundhole along the body [mm]."""
        return (self.near + self.far) / 2

    @property
    def radius(self) -> float:
        """Radius of the soundhole [mm]."""
        return (self.far - self.near) / 2

    def moved(self, middle: float) -> Box:
        """The same box with soundhole and brace moved along the body, the soundhole's middle at ``middle`` [mm]."""
        by = middle - self.middle
        return replace(self, near=self.near + by, far=self.far + by, brace_x=self.brace_x + by)


def box_of(design: Any, **given: float) -> Box:
    """The box of a design: the back lies under the block's foot, the brace 15 mm before the soundhole (both common practice, no
    source) unless they are ``given`` [mm]."""
    body = design.body
    usual = dict(back=2.5, top=body.top_thickness, near=body.soundhole_near, far=body.soundhole_far,
                 brace_x=body.soundhole_near - 15.0)
    usual["depth"] = max(-design.block.foot_z, -design.heel.foot_z) + usual["back"] + 2.5
    return Box(**(usual | given))


def standing(design: Any, screws: Sequence[str] = ("tilt_screw",)) -> tuple[Standing, ...]:
    """The screws that stand out of the block's face once they are in: ``tilt_screw``, ``pivot`` (both)."""
    t, v = design.tilt_screw, design.pivot
    unknown = sorted(set(screws) - {"tilt_screw", "pivot"})
    if unknown:
        raise ValueError(f"no screw named {unknown[0]!r} stands out of the block; there are 'tilt_screw' and 'pivot'")
    found = []
    if "tilt_screw" in screws:
        part = t.head_x / (t.head_x - t.receiver_x)
        z = t.head_z + part * (t.receiver_z - t.head_z)
        found.append(Standing("tilt screw", 0.0, z, t.diameter, t.past_receiver - t.receiver_x))
    if "pivot" in screws:
        found += [Standing(f"{side} pivot screw", sign * v.spacing / 2, v.z, v.screw_diameter, v.proud)
                  for side, sign in (("bass", -1), ("treble", 1)) if v.proud > 0]
    return tuple(found)


def path_half(design: Any, z: Any, bit: Any) -> Any:
    """Half width [mm] of the path of the centre of a ``bit`` [mm] at the height ``z`` [mm] of the pocket; arrays broadcast."""
    h, p = design.heel, design.pocket
    return path_half_width(half_width_top=h.half_width_top, half_width_foot=h.half_width_foot, foot_z=h.foot_z, at_z=z,
                           side_gap=p.side_gap, bit_diameter=bit)


def outline_path(design: Any, bit: Any) -> np.ndarray:
    """Path of the centre of a ``bit`` [mm] along the pocket's outline [mm], (points, 2, *batch): y, z; down the bass cheek, along
    the foot, up the treble cheek. It is open above, where the tongue leaves the pocket. Raises ValueError when the bit does not
    go into the foot."""
    bit = np.asarray(bit, dtype=float)
    low, high = design.heel.foot_z - design.pocket.side_gap + bit / 2, np.zeros(bit.shape)
    under = path_half(design, low, bit)
    if np.any(under <= 0):
        wide = 2 * (design.heel.half_width_foot + design.pocket.side_gap)
        raise ValueError(f"cutter.bit: {float(np.max(bit)):g} mm does not go into the pocket's foot; allowed is less than "
                         f"about {wide:.1f} mm")
    over = path_half(design, high, bit)
    return np.stack([np.stack([-over, high]), np.stack([-under, low]), np.stack([under, low]), np.stack([over, high])])


def floor_path(design: Any, bit: Any) -> np.ndarray:
    """Outline, then lanes from cheek to cheek, four fifths of the bit apart, that clear the floor [mm], (points, 2, *batch)."""
    path = outline_path(design, bit)
    bit = np.asarray(bit, dtype=float)
    low = path[1, 1]
    lanes = max(2, math.ceil(float(np.max(-low)) / (0.8 * float(np.min(bit)))) + 1)
    z = np.linspace(0.0, 1.0, lanes).reshape(-1, *[1] * bit.ndim) * low
    half = path_half(design, z, bit)
    rows = np.stack([np.stack([half, z], axis=1), np.stack([-half, z], axis=1)], axis=1)
    rows[1::2] = rows[1::2, ::-1]  # there and back
    return np.concatenate([path, rows.reshape(-1, *path.shape[1:])[1:]])  # the first lane begins where the outline ends


def path_distance(path: np.ndarray, y: Any, z: Any) -> Any:
    """Nearest distance [mm] from a path (points, 2, *batch) to screws at ``y``, ``z`` [mm] (any shape that broadcasts)."""
    shape = np.broadcast_shapes(np.shape(y), np.shape(z), path.shape[2:])
    start, end = path[:-1], path[1:]
    spread = (len(start), *[1] * (len(shape) - (path.ndim - 2)), *path.shape[2:])
    sides = [a.reshape(spread) for a in (start[:, 0], start[:, 1], end[:, 0], end[:, 1])]
    found = segment_distance(screw_y=y, screw_z=z, start_y=sides[0], start_z=sides[1], end_y=sides[2], end_z=sides[3])
    return np.min(found, axis=0)


def meetings(design: Any, cutter: Cutter | None = None,
             screws: Sequence[str] | Sequence[Standing] = ("tilt_screw",)) -> tuple[Meeting, ...]:
    """How the router passes each screw that stands, with the part of it that comes nearest.

    ``screws``: names (see :func:`standing`) or places. A screw lower than the floor's last cut is never met; one that reaches the
    template's underside is met by the bush as well, one that stands above the template by the base plate.
    """
    cutter = cutter or Cutter()
    path = (floor_path if cutter.whole_floor else outline_path)(design, cutter.bit)
    places = [s for name in screws for s in ((name,) if isinstance(name, Standing) else standing(design, (name,)))]
    found = []
    for s in places:
        parts = [("the bit", cutter.bit, 0.0), ("the guide bush", cutter.bush, design.pocket.depth),
                 ("the base plate", cutter.base, design.pocket.depth + cutter.template)]
        distance = float(path_distance(path, s.y, s.z))
        at = [(float(cutter_margin(distance=distance, tool_diameter=wide, screw_diameter=s.diameter)), name)
              for name, wide, above in parts if s.out > above]
        if not at:
            found.append(Meeting(s, "the router", distance, math.inf, math.inf))
            continue
        # The bit is named when it meets the screw: that is the break that throws splinters of steel.
        margin, name = at[0] if at[0][0] < 0 else min(at)
        found.append(Meeting(s, name, distance, margin, at[0][0]))
    return tuple(found)
