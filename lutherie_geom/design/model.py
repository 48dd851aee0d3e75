# mypy: disable-error-code="valid-type"
"""What the builder decides: the design of one neck joint, typed and validated, in millimetres and radians.

Every length in a design file carries its unit (``25.4 in``, ``6/64 in``, ``2.4 mm``); inside there are only millimetres
and radians. A field's range is what can be built, not what is usual. Frames and signs: see DEVELOPERS.md.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from lutherie_geom.design.units import parse_angle, parse_length

__all__ = ["Block", "Board", "Body", "ClampScrew", "Design", "FallAway", "Heel", "Neck", "Pivot", "Pocket", "StringSet", "Target",
           "TiltScrew", "Tongue"]


def _checked(parse: Any, unit: str, low: float, high: float, scale: float = 1.0) -> Any:
    def read(value: Any) -> float:
        number = float(parse(value))
        shown = number / scale
        if not low <= shown <= high:
            raise ValueError(f"{value} is {shown:.6g} {unit}; allowed is {low:g} to {high:g} {unit}")
        return number

    return BeforeValidator(read)


def _length(low: float, high: float) -> Any:
    return Annotated[float, _checked(parse_length, "mm", low, high), Field(json_schema_extra={"unit": "mm"})]


def _radius() -> Any:
    def parse(value: Any) -> float:
        return math.inf if value == "flat" else parse_length(value)

    def read(value: Any) -> float:
        number = float(parse(value))
        if not (200 <= number <= 1e6 or value == "flat"):  # a kilometre: past it the square of the radius tells nothing
            raise ValueError(f"{value} is {number:.6g} mm; allowed is 200 to 1000000 mm, or 'flat'")
        return number

    return Annotated[float, BeforeValidator(read), Field(json_schema_extra={"unit": "mm"})]


def _angle(low: float, high: float) -> Any:
    return Annotated[float, _checked(parse_angle, "deg", low, high, math.pi / 180), Field(json_schema_extra={"unit": "rad"})]


def _number(unit: str, low: float, high: float) -> Any:
    def parse(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"{value!r} is not a plain number ({unit})")
        return float(value)

    return Annotated[float, _checked(parse, unit, low, high), Field(json_schema_extra={"unit": unit})]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    def __str__(self) -> str:
        from lutherie_geom.design.sheet import part_sheet

        return part_sheet(self)

    __repr__ = __str__


class StringSet(_Part):
    """Strings, nut and saddle. Lists run from bass to treble; heights and compensation one for each string."""

    scale: _length(300, 900)
    nut_spread: _length(10, 90)
    saddle_spread: _length(10, 120)
    nut_height_bass: _length(0.05, 3)
    nut_height_treble: _length(0.05, 3)
    nut_compensation: _length(-3, 3) = 0.0
    compensation: list[_length(-5, 15)] = Field(min_length=4, max_length=8)
    saddle_heights: list[_length(3, 30)] | None = Field(default=None, min_length=4, max_length=8)
    bridge_height: _length(3, 20) = 9.0
    pin_distance: _length(2, 40) = 14.0
    pin_height: _length(-5, 15) = 7.0
    gauges: str = "evening class light"


class Target(_Part):
    """The action wanted at a fret; bass and treble (the strings between are taken evenly), or one for each string."""

    fret: int = Field(default=12, ge=1, le=30)
    bass: _length(0.3, 8) | None = None
    treble: _length(0.3, 8) | None = None
    each: list[_length(0.3, 8)] | None = None


class FallAway(_Part):
    """How the frets past the joint fall away from the fret plane: ``line`` (drop at the last fret) or ``radius``."""

    shape: Literal["line", "radius"] = "line"
    drop: _length(0, 3) = 0.0


class Board(_Part):
    """Fingerboard and frets."""

    joint_fret: int = Field(ge=8, le=20)
    last_fret: int = Field(ge=10, le=30)
    joint_fret_x: _length(-15, 15) = 0.0
    width_nut: _length(20, 110)
    width_last: _length(20, 130)
    radius_nut: _radius()
    radius_last: _radius()
    relief: _length(0, 1.5) = 0.0
    crown: _length(0.3, 2.5)
    thickness: _length(2, 12)
    fall_away: FallAway = FallAway()


class Neck(_Part):
    """Neck angle: leave it out and give a target, and it is computed."""

    angle: _angle(-3, 6) | None = None


class Body(_Part):
    """Soundboard and soundhole; edges of the soundhole along x from the joint."""

    dome: Literal["sphere", "along", "across", "flat"]
    dome_radius: _length(1500, 1e9) | None = None
    apex_x: _length(-300, 800) = 0.0
    soundhole_near: _length(20, 400)
    soundhole_far: _length(30, 500)
    top_thickness: _length(1, 6) = 2.8


class Tongue(_Part):
    """The fingerboard's extension over the soundboard."""

    length: _length(20, 200)
    width: _length(20, 130)
    wood: _length(0, 20)
    gap: _length(0.02, 8)
    underside: Literal["hollowed", "planed flat"] = "hollowed"
    rod_diameter: _length(0, 8) = 0.0
    rod_cover: _length(0, 5) = 0.5


class Pivot(_Part):
    """Pivot screws in the block, ball heads in the heel; the axis through the centres of the balls."""

    x: _length(-20, 15)
    z: _length(-80, -3)
    spacing: _length(12, 80)
    pitch: _length(0.2, 4)
    hand: Literal["right", "left"] = "right"
    key_from: Literal["soundhole", "heel"] = "soundhole"
    seat: Literal["cup rim", "cone", "hex socket", "vee groove"] = "cup rim"
    ball_radius: _length(1, 12) = 4.0
    rim_radius: _length(0.5, 10) = 2.0
    screw_diameter: _length(3, 16) = 8.0
    screw_length: _length(6, 80) = 30.0
    proud: _length(-10, 10) = 0.5
    least_hold: _length(1, 60) = 12.0


class TiltScrew(_Part):
    """The lower screw: captive head in the block, receiver in the heel."""

    receiver: Literal["dowel across", "rod along"]
    pitch: _length(0.2, 4)
    hand: Literal["right", "left"] = "right"
    key_from: Literal["soundhole", "heel"] = "soundhole"
    head_x: _length(-5, 80)
    head_z: _length(-150, -15)
    receiver_x: _length(-80, -3)
    receiver_z: _length(-150, -15)
    diameter: _length(3, 12) = 6.0
    head: Literal["flat", "domed", "spherical washers"] = "domed"
    head_diameter: _length(4, 25) = 10.0
    hole_in_block: _length(3, 25) = 8.0
    receiver_diameter: _length(4, 25) = 12.0
    receiver_length: _length(4, 80) = 16.0
    past_receiver: _length(0, 40) = 9.0
    hole_past_receiver: _length(0, 60) = 14.0
    least_engagement: _length(1, 40) = 6.0
    spring_room: _length(0, 10) = 1.5


class ClampScrew(_Part):
    """The upper screw, level with the pivot axis unless ``below_axis`` says how far it lies under it."""

    diameter: _length(3, 12) = 6.0
    below_axis: _length(-15, 15) = 0.0
    hole_in_block: _length(3, 25) = 8.0
    receiver_x: _length(-80, -3) = -24.0


class Pocket(_Part):
    """The shallow mortise in which the heel stands; its floor is the block's outer face."""

    depth: _length(0.5, 20)
    side_gap: _length(0, 3) = 0.4


class Heel(_Part):
    """Heel of the neck: end face, outline and depth; half-widths run evenly from top to foot."""

    floor_clearance: _length(0.01, 10)
    foot_z: _length(-180, -20)
    half_width_top: _length(8, 60)
    half_width_foot: _length(3, 60)
    draught: _angle(-10, 20) = 0.0
    length: _length(10, 120) = 55.0
    truss_slot_depth: _length(0, 20) = 0.0
    truss_slot_width: _length(0, 15) = 6.0


class Block(_Part):
    """Neck block, and where its key holes are."""

    depth: _length(10, 120) = 60.0
    foot_z: _length(-180, -20) = -100.0


class Design(_Part):
    """One neck joint. ``load()`` makes it from a file; ``pose()`` sets the screws; ``read()`` reads it."""

    name: str = Field(min_length=1, max_length=80)
    about: str = ""
    handed: Literal["right", "left"] = "right"
    units: Literal["mm", "inch"] = "mm"
    strings: StringSet
    target: Target | None = None
    board: Board
    neck: Neck = Neck()
    body: Body
    tongue: Tongue
    pivot: Pivot
    tilt_screw: TiltScrew
    clamp: ClampScrew = ClampScrew()
    pocket: Pocket
    heel: Heel
    block: Block = Block()

    @property
    def count(self) -> int:
        """Number of strings."""
        return len(self.strings.compensation)

    @property
    def z_joint(self) -> float:
        """Fret plane above the soundboard at the joint [mm]: crown + board + tongue wood + gap."""
        return float(self.board.crown + self.board.thickness + self.tongue.wood + self.tongue.gap)

    def dimensions(self) -> Any:
        """The numbers that the kinematics needs, neck angle and saddle heights solved for when a target is given."""
        from lutherie_geom.joint.dimensions import from_design

        return from_design(self)

    def pose(self, tilt: Any = 0.0, bass: Any = 0.0, treble: Any = 0.0) -> Any:
        """The neck after turns [turn] of tilt, bass and treble pivot screws (arrays broadcast)."""
        from lutherie_geom.joint.pose import pose

        return pose(self.dimensions(), tilt=tilt, bass=bass, treble=treble)
