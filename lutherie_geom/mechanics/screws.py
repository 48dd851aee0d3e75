"""Screws: pull, bending where a head or a shank is held, thread in thread, and whether a thread stays where it is put."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, read_table, thread
from lutherie_geom.joint.holes import poses, swivel, tilt_need
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.check import Check
from lutherie_geom.mechanics.givens import CLAMP_MOST, Numbers
from lutherie_geom.theory.fasteners import lead_slope, metric_thread, screw_load, torque_against
from lutherie_geom.theory.joint_strength import (
    bent_stress,
    held_moment,
    pushed_moment,
    rim_moment,
    strip_areas,
    thread_grip,
    twist_stress,
    whole_stress,
)
from lutherie_geom.theory.statics import dowel_friction
from lutherie_geom.theory.strength import joint_constant, joint_forces
from lutherie_geom.theory.swivel import clamp_stretch

__all__ = ["Turned", "screw_checks", "turned"]

Array = Any
METAL, STRIP, LOCK = 1.5, 2.0, 2.0
"""How many times the required is wanted: metal at proof stress, a thread that strips, friction over lead (chosen here)."""
FLANK = math.pi / 6


@dataclass(frozen=True)
class Turned:
    """What the tilt screw's travel does to it: swings [rad] at head and receiver, push aside by the hole's wall [mm], least
    thread held in the receiver [mm], largest tilt either way [rad]."""

    swing: float
    swing_receiver: float
    aside: float
    held: float
    tilt: float


def turned(design: Any) -> Turned:
    """The worst over the tilt screw's travel, pivot screws an eighth of a turn either way."""
    t, d = design.tilt_screw, design.dimensions()
    way = travel(design)
    p = poses(d, way, 0.125)
    found, _, _ = swivel(p)
    ends = pose(d, tilt=np.array([way.low, way.high]))
    receiver = getattr(found, "swing_receiver", np.zeros(1))
    aside = max(float(np.nanmax(tilt_need(design, p))) - t.hole_in_block, 0.0) / 2
    whole = np.arccos(np.clip(np.cos(found.swing_head) * np.cos(found.swing_side), -1, 1))
    held = min(t.receiver_diameter / 2 + t.past_receiver - t.pitch * way.high, t.receiver_diameter)
    return Turned(float(np.nanmax(whole)), float(np.nanmax(np.abs(receiver))), aside, max(held, 0.0),
                  float(np.nanmax(np.append(np.abs(ends.theta), 0.0))))


def limits(diameter: float, pitch: float) -> tuple[float, float, float]:
    """Loosest thread within its limits of size: screw's outer and pitch diameter, nut's pitch diameter [mm].

    For a thread that the catalogue does not know, the basic sizes.
    """
    g = metric_thread(diameter=diameter, pitch=pitch)
    crest, d2, n2 = diameter, float(g.pitch_diameter), float(g.pitch_diameter)
    try:
        known = thread(f"M{diameter:g}")
    except CatalogueError:
        return crest, d2, n2
    if math.isclose(known.pitch, pitch, rel_tol=1e-3) and known.screw_limits and known.nut_limits:
        crest = read_table("metals")["crest"].get(known.name, crest)
        d2, n2 = known.screw_limits[0], known.nut_limits[1]
    return crest, d2, n2


def _threads(screw: str, part: Any, held: float, n: Numbers, asked: Array, field: str) -> Iterator[Check]:
    """Stripping of screw and receiver, and the length that would be as strong as the screw."""
    crest, d2, n2 = limits(part.diameter, part.pitch)
    g = metric_thread(diameter=part.diameter, pitch=part.pitch)
    a = strip_areas(engagement=held, pitch=part.pitch, diameter=crest, pitch_diameter=d2, bore_diameter=g.bore_diameter,
                    nut_pitch_diameter=n2)
    nut = a.nut_shear_area * n["receiver_shear"]
    own = a.screw_shear_area * n["shear_to_tensile"] * n[f"{screw}_tensile"]
    uses = ("receiver_shear", "shear_to_tensile", f"{screw}_tensile")
    metal = n.design.tilt_screw.receiver_metal
    yield Check(f"{screw}.strip", f"{screw} screw: thread in the {metal} receiver, {held:.1f} mm held at the least",
                np.minimum(nut, own), asked, "N", STRIP, (strip_areas,), (*uses, *(CLAMP_MOST if screw == "clamp" else ())),
                "Wear, crossed or oversize tapping, shaking.", field)
    proof = screw_load(stress_area=g.stress_area, strength=n[f"{screw}_proof"])
    yield Check(f"{screw}.engagement", f"{screw} screw: thread held, for a thread as strong as the screw",
                np.asarray(held, dtype=float), held * proof / np.minimum(nut, own) if held > 0 else proof * np.inf, "mm", 1.25,
                (strip_areas, screw_load), (*uses, f"{screw}_proof"),
                "This asks that the screw gives before the thread; the string pull asks far less.", field, settles=True,
                verbs=("held", "needed"))


def tilt_bending(n: Numbers, way: Turned, force: Array) -> Array:
    """Bending moment in the tilt screw [N mm]: head and receiver held by rim or friction, shank by its hole's wall."""
    t = n.design.tilt_screw
    length = math.hypot(t.head_x - t.receiver_x, t.head_z - t.receiver_z)
    root = metric_thread(diameter=t.diameter, pitch=t.pitch).root_diameter
    beam = {"modulus": n["steel_modulus"], "root_diameter": root, "length": length}
    dowel = t.receiver == "dowel across"
    # A dome or a spherical washer is taken to turn about a centre one head diameter away, which is the longer guess.
    cap = (rim_moment(force=force, face_diameter=t.head_diameter) if t.head == "flat"
           else dowel_friction(force=force, friction=n["head_friction"], diameter=2 * t.head_diameter))
    head = np.minimum(held_moment(**beam, swing=way.swing, fixity=3.0 if dowel else 4.0), cap)
    far = np.minimum(held_moment(**beam, swing=way.swing_receiver, fixity=4.0),
                     dowel_friction(force=force, friction=n["dowel_friction"], diameter=t.receiver_diameter)) if dowel else 0.0
    return np.maximum(head, far) + pushed_moment(modulus=n["steel_modulus"], root_diameter=root, offset=way.aside, length=length)


def _thread_torque(part: Any, force: Array, friction: Array) -> Array:
    """Torque [N mm] that the thread alone takes while it is turned against its load."""
    g = metric_thread(diameter=part.diameter, pitch=part.pitch)
    tan = lead_slope(pitch=part.pitch, pitch_diameter=g.pitch_diameter, starts=1)
    return torque_against(force=force, pitch_diameter=g.pitch_diameter, tan_lead=tan, flank=FLANK, friction=friction,
                          head_mean_diameter=0.0, head_friction=0.0)


def _tilt(n: Numbers, way: Turned) -> Iterator[Check]:
    t = n.design.tilt_screw
    g = metric_thread(diameter=t.diameter, pitch=t.pitch)
    force = np.abs(n["tilt_force"])
    yield Check("tilt.thread", f"tilt screw: string pull in the thread, class {t.strength_class}",
                screw_load(stress_area=g.stress_area, strength=n["tilt_proof"]), force, "N", METAL, (screw_load, metric_thread),
                ("tilt_proof", "tilt_force"), "Bending and twisting: see the next. Loads that come and go for years.",
                "tilt_screw.diameter: larger")
    twist = twist_stress(torque=_thread_torque(t, force, n["thread_friction"]), root_diameter=g.root_diameter)
    bent = bent_stress(moment=tilt_bending(n, way, force), root_diameter=g.root_diameter)
    said = {"flat": "flat head rocks on its rim", "domed": "domed head", "spherical washers": "spherical washers"}[t.head]
    yield Check("tilt.bent", f"tilt screw: pull, bending over the travel ({said}) and turning together", n["tilt_proof"],
                whole_stress(axial_stress=force / g.stress_area, bending_stress=bent, twist_stress=twist), "MPa", METAL,
                (whole_stress, bent_stress, held_moment, pushed_moment, rim_moment if t.head == "flat" else dowel_friction,
                 twist_stress), ("tilt_proof", "steel_modulus", "head_friction", "dowel_friction", "thread_friction"),
                "A bore that is not round, and a dome's true radius.",
                "tilt_screw.hole_in_block: larger, or tilt_screw.head: domed")
    yield from _threads("tilt", t, way.held, n, force, "tilt_screw.past_receiver: more (or receiver_diameter)")
    yield _locking("tilt", t, n)


def _locking(screw: str, part: Any, n: Numbers) -> Check:
    d2 = metric_thread(diameter=part.diameter, pitch=part.pitch).pitch_diameter
    return Check(f"{screw}.locking", f"{screw} screw: greased thread stays put, friction against slope of the thread",
                 thread_grip(friction=n["greased_friction"], flank=FLANK),
                 lead_slope(pitch=part.pitch, pitch_diameter=d2, starts=1), "", LOCK, (thread_grip, lead_slope),
                 ("greased_friction",), "Playing shakes it too: look again after a week.",
                 f"{'tilt_screw' if screw == 'tilt' else screw}.pitch: finer", verbs=("holds", "drives"))


def _clamp(n: Numbers, way: Turned, k_screw: Array, k_wood: Array) -> Iterator[Check]:
    c = n.design.clamp
    g = metric_thread(diameter=c.diameter, pitch=c.pitch)
    reached = n["preload"] * n["scatter"]
    share = joint_constant(screw_stiffness=k_screw, member_stiffness=k_wood)
    # Where the wood's stiffness is not known the screw is taken to bear the whole outer load.
    share = np.where(np.isnan(share), 1 - 1e-9, share)
    force = joint_forces(preload=n["clamp_most"], joint_constant=share, load=n["clamp_outer"]).screw_force
    yield Check("clamp.thread", f"clamp screw: largest force of the year, its share of the outer load, class {c.strength_class}",
                screw_load(stress_area=g.stress_area, strength=n["clamp_proof"]), force, "N", METAL, (screw_load, joint_forces),
                ("clamp_proof", *CLAMP_MOST, "clamp_outer"), "Bending. The wood's stiffness is a rough number.",
                "clamp.preload: less (or clamp.diameter larger)")
    twist = twist_stress(torque=_thread_torque(c, reached, n["thread_friction"]), root_diameter=g.root_diameter)
    length = n.design.block.depth - c.receiver_x
    stretched = n["steel_modulus"] * abs(float(clamp_stretch(eccentricity=c.below_axis, theta=way.tilt))) / length
    yield Check("clamp.tightening", "clamp screw: while the key turns it, stretched by the tilt as far as it lies off the axis",
                n["clamp_proof"], whole_stress(axial_stress=reached / g.stress_area + stretched, bending_stress=0.0,
                                               twist_stress=twist), "MPa", METAL, (whole_stress, twist_stress, clamp_stretch),
                ("clamp_proof", "preload", "scatter", "thread_friction", "steel_modulus"),
                "The wood gives way under the stretch, which is taken as all the screw's own.",
                "clamp.preload: less (or clamp.below_axis nearer 0)")
    yield from _threads("clamp", c, c.receiver_diameter, n, force, "clamp.receiver_diameter: larger")
    yield _locking("clamp", c, n)


def _pivot(n: Numbers) -> Iterator[Check]:
    v = n.design.pivot
    g = metric_thread(diameter=v.screw_diameter, pitch=v.pitch)
    reach = max(v.proud, 0.0) + v.screw_diameter / 2
    bent = bent_stress(moment=n["seat_side"] * reach, root_diameter=g.root_diameter)
    yield Check("pivot.screw", "seat screw: pressed along, and pushed aside where it stands out of the block", n["pivot_proof"],
                whole_stress(axial_stress=n["seat_force"] / g.stress_area, bending_stress=bent, twist_stress=0.0), "MPa", METAL,
                (whole_stress, bent_stress), ("pivot_proof", "seat_force", *CLAMP_MOST, "seat_side"),
                "Taken as held half a diameter inside the block's face; the thin wall round a cup or a socket.",
                "pivot.proud: less")


def screw_checks(n: Numbers, way: Turned, k_screw: Array, k_wood: Array) -> Iterator[Check]:
    """All checks of the screws. ``k_screw``, ``k_wood``: stiffness of the clamp screw and of what it clamps [N/mm]."""
    yield from _tilt(n, way)
    yield from _clamp(n, way, k_screw, k_wood)
    yield from _pivot(n)
