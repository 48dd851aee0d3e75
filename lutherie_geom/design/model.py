# mypy: disable-error-code="valid-type"
"""What the builder decides: the design of one neck joint, typed and validated, in millimetres and radians.

Every length in a design file carries its unit (``25.4 in``, ``6/64 in``, ``2.4 mm``); inside there are only millimetres
and radians. A field's range is what can be built, not what is usual. Frames and signs: see DEVELOPERS.md.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, InstanceOf

from lutherie_geom.design.carried import Headstock, Load, Woods, default_loads
from lutherie_geom.design.fields import Part, a_force, a_length, a_number, a_radius, an_angle
from lutherie_geom.design.limits import Limits
from lutherie_geom.design.own_strings import A_TUNING, OwnString
from lutherie_geom.design.tolerances import Tolerances

__all__ = ["Block", "Board", "Body", "ClampScrew", "Design", "FallAway", "Heel", "Neck", "Pivot", "Pocket", "StringSet", "Target",
           "TiltScrew", "Tongue"]


class StringSet(Part):
    """Strings, nut and saddle. Lists run from bass to treble; heights and compensation one for each string.

    ``gauges`` and ``tuning`` name a set and a tuning of ``data/tables/strings.toml``; ``set`` lists strings of one's own in the
    set's place, and ``tuning`` may list notes or half tones, one for each course: see :mod:`lutherie_geom.design.own_strings`.
    """

    scale: a_length(300, 900)
    nut_spread: a_length(10, 90)
    saddle_spread: a_length(10, 120)
    nut_height_bass: a_length(0.05, 3)
    nut_height_treble: a_length(0.05, 3)
    nut_compensation: a_length(-3, 3) = 0.0
    compensation: list[a_length(-5, 15)] = Field(min_length=4, max_length=8)
    saddle_heights: list[a_length(3, 30)] | None = Field(default=None, min_length=4, max_length=8)
    bridge_height: a_length(3, 20) = 9.0
    pin_distance: a_length(2, 40) = 14.0
    pin_height: a_length(-5, 15) = 7.0
    gauges: str = "evening class light"
    tuning: A_TUNING = "standard"
    set: list[OwnString] = Field(default_factory=list, max_length=16)

    @property
    def called(self) -> str:
        """Name of the strings: of a set of the table, or what the builder calls strings of his own."""
        return self.gauges if not self.set or "gauges" in self.model_fields_set else "own strings"

    @property
    def tuned(self) -> str:
        """The tuning in words: its name, or note or half tones of each course, bass to treble."""
        if isinstance(self.tuning, str):
            return self.tuning
        return " ".join(v if isinstance(v, str) else f"{v:+g}" for v in self.tuning)


class Target(Part):
    """The action wanted at a fret; bass and treble (the strings between are taken evenly), or one for each string."""

    fret: int = Field(default=12, ge=1, le=30)
    bass: a_length(0.3, 8) | None = None
    treble: a_length(0.3, 8) | None = None
    each: list[a_length(0.3, 8)] | None = None


class FallAway(Part):
    """How the frets past the joint fall away from the fret plane: ``line`` (drop at the last fret) or ``radius``."""

    shape: Literal["line", "radius"] = "line"
    drop: a_length(0, 3) = 0.0


class Board(Part):
    """Fingerboard and frets."""

    joint_fret: int = Field(ge=8, le=20)
    last_fret: int = Field(ge=10, le=30)
    joint_fret_x: a_length(-15, 15) = 0.0
    width_nut: a_length(20, 110)
    width_last: a_length(20, 130)
    radius_nut: a_radius()
    radius_last: a_radius()
    relief: a_length(0, 1.5) = 0.0
    crown: a_length(0.3, 2.5)
    thickness: a_length(2, 12)
    fall_away: FallAway = FallAway()


class Neck(Part):
    """Neck angle: leave it out and give a target, and it is computed. Depths of neck with board; the truss rod's slot."""

    angle: an_angle(-3, 6) | None = None
    depth_nut: a_length(8, 40) = 20.5
    depth_joint: a_length(8, 45) = 23.5
    slot_width: a_length(0, 15) = 6.0
    slot_depth: a_length(0, 20) = 10.0


class Body(Part):
    """Soundboard and soundhole; edges of the soundhole along x from the joint."""

    dome: Literal["sphere", "along", "across", "flat"]
    dome_radius: a_length(1500, 1e9) | None = None
    apex_x: a_length(-300, 800) = 0.0
    soundhole_near: a_length(20, 400)
    soundhole_far: a_length(30, 500)
    top_thickness: a_length(1, 6) = 2.8


class Tongue(Part):
    """The fingerboard's extension over the soundboard."""

    length: a_length(20, 200)
    width: a_length(20, 130)
    wood: a_length(0, 20)
    gap: a_length(0.02, 8)
    underside: Literal["hollowed", "planed flat"] = "hollowed"
    rod_diameter: a_length(0, 8) = 0.0
    rod_cover: a_length(0, 5) = 0.5
    rods: int = Field(default=2, ge=0, le=6)
    rod_shape: Literal["round", "flat"] = "round"
    rod_width: a_length(0, 15) = 0.0
    rod_above_glue_line: a_length(-10, 10) = 0.0
    rod_modulus: a_number("GPa", 1, 400) = 120.0
    slot_depth: a_length(0, 8) = 2.2
    slot_width: a_length(0, 2) = 0.6


class Pivot(Part):
    """Pivot screws in the block, ball heads in the heel; the axis through the centres of the balls."""

    x: a_length(-20, 15)
    z: a_length(-80, -3)
    spacing: a_length(12, 80)
    pitch: a_length(0.2, 4)
    hand: Literal["right", "left"] = "right"
    key_from: Literal["soundhole", "heel"] = "soundhole"
    seat: Literal["cup rim", "cone", "hex socket", "vee groove"] = "cup rim"
    ball_radius: a_length(1, 12) = 4.0
    rim_radius: a_length(0.5, 10) = 2.0
    screw_diameter: a_length(3, 16) = 8.0
    screw_length: a_length(6, 80) = 30.0
    proud: a_length(-10, 10) = 0.5
    least_hold: a_length(1, 60) = 12.0
    strength_class: str = "8.8"
    insert_diameter: a_length(0, 25) = 12.0
    insert_length: a_length(0, 60) = 25.0


class TiltScrew(Part):
    """The lower screw: captive head in the block, receiver in the heel."""

    receiver: Literal["dowel across", "rod along"]
    pitch: a_length(0.2, 4)
    hand: Literal["right", "left"] = "right"
    key_from: Literal["soundhole", "heel"] = "soundhole"
    head_x: a_length(-5, 80)
    head_z: a_length(-150, -15)
    receiver_x: a_length(-80, -3)
    receiver_z: a_length(-150, -15)
    diameter: a_length(3, 12) = 6.0
    head: Literal["flat", "domed", "spherical washers"] = "domed"
    head_diameter: a_length(4, 25) = 10.0
    hole_in_block: a_length(3, 25) = 8.0
    receiver_diameter: a_length(4, 25) = 12.0
    receiver_length: a_length(4, 80) = 16.0
    past_receiver: a_length(0, 40) = 9.0
    hole_past_receiver: a_length(0, 60) = 14.0
    least_engagement: a_length(1, 40) = 6.0
    spring_room: a_length(0, 10) = 1.5
    strength_class: str = "8.8"
    receiver_metal: Literal["brass", "steel", "stainless steel"] = "brass"
    washer_diameter: a_length(4, 40) = 25.0
    spring_rate: a_number("N/mm", 0, 5000) = 60.0
    spring_push: a_force(0, 500) = 40.0
    cover_width: a_length(5, 80) = 30.0
    cover_height: a_length(5, 80) = 30.0
    cover_hole: a_length(0, 25) = 7.0


class ClampScrew(Part):
    """The upper screw, level with the pivot axis unless ``below_axis`` says how far it lies under it.

    ``spring_rate``: of the disc springs under its head, together; 0 for a plain washer. They keep the preload when wood shrinks.
    """

    diameter: a_length(3, 12) = 6.0
    pitch: a_length(0.2, 4) = 1.0
    strength_class: str = "8.8"
    preload: a_force(0, 20000) = 900.0
    washer_diameter: a_length(4, 40) = 25.0
    spring_rate: a_number("N/mm", 0, 20000) = 300.0
    receiver_diameter: a_length(4, 25) = 12.0
    receiver_length: a_length(4, 80) = 16.0
    below_axis: a_length(-15, 15) = 0.0
    hole_in_block: a_length(3, 25) = 8.0
    receiver_x: a_length(-80, -3) = -24.0


class Pocket(Part):
    """The shallow mortise in which the heel stands; its floor is the block's outer face."""

    depth: a_length(0.5, 20)
    side_gap: a_length(0, 3) = 0.4


class Heel(Part):
    """Heel of the neck: end face, outline and depth; half-widths run evenly from top to foot."""

    floor_clearance: a_length(0.01, 10)
    foot_z: a_length(-180, -20)
    half_width_top: a_length(8, 60)
    half_width_foot: a_length(3, 60)
    draught: an_angle(-10, 20) = 0.0
    length: a_length(10, 120) = 55.0
    truss_slot_depth: a_length(0, 20) = 0.0
    truss_slot_width: a_length(0, 15) = 6.0


class Block(Part):
    """Neck block, and where its key holes are."""

    depth: a_length(10, 120) = 60.0
    foot_z: a_length(-180, -20) = -100.0


class Design(Part):
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
    woods: Woods = Woods()
    headstock: Headstock = Headstock()
    loads: list[Load] = Field(default_factory=default_loads, max_length=40)
    limits: Limits = Limits()
    tolerances: InstanceOf[Tolerances] = Tolerances()

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
