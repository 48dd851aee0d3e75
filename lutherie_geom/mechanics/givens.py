"""What the margins are worked out from: forces, metals and woods as numbers, each with its source and how far it may be off.

A spread is a factor on the number: 1 is the number itself. What was not found in a source is nan: the margin that needs it is
then told as not known, with the number to give.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, find, read_table, strength_class
from lutherie_geom.design.spread import Spread
from lutherie_geom.design.woods import Wood, creep_factor, wood
from lutherie_geom.mechanics.loads import GRAVITY
from lutherie_geom.theory.joint_strength import across_from_gravity
from lutherie_geom.theory.strength import at_moisture

__all__ = ["PartForces", "GivenError", "Numbers", "numbers", "simple_forces"]

Array = Any
BRINELL = GRAVITY
"""MPa to one Brinell number (a kilogram-force to the square millimetre)."""
FORCES = ("tilt_force", "seat_force", "seat_side", "clamp_outer", "cover_push", "clamp_needed")
CLAMP_MOST = ("preload", "scatter", "season_swing", "block_swelling")
"""Numbers that the largest force in the clamp screw hangs on (:func:`lutherie_geom.mechanics.preload.most_clamp`)."""
PARTS = ("neck", "block")
LEAST = 0.02  # no strength is drawn below this part of its mean: a normal spread has a tail below zero


class GivenError(ValueError):
    """A number given by hand that makes no sense. The message names it, its value, unit and range."""


@dataclass(frozen=True)
class PartForces:
    """Forces on the joint's parts [N], one entry a load case: (cases,) or a number for all.

    ``tilt`` in the tilt screw, tension positive; ``seat`` on the heavier loaded seat along its axis, ``side`` across it;
    ``outer`` pulls the joint apart along the clamp; ``cover`` pushes on the glued cover; ``needed``: clamp force below which
    a ball leaves its seat (nan: not known; infinite: no clamp force holds it).
    """

    tilt: Array
    seat: Array
    side: Array = 0.0
    outer: Array = 0.0
    cover: Array = 0.0
    needed: Array = math.nan
    cases: tuple[str, ...] = ("strings at pitch",)
    source: str = "given"

    def __post_init__(self) -> None:
        for name in ("tilt", "seat", "side", "outer", "cover", "needed"):
            value = np.asarray(getattr(self, name), dtype=float)
            if value.shape not in ((), (len(self.cases),)):
                raise GivenError(f"forces.{name} has shape {value.shape} for {len(self.cases)} load cases: give one number, or "
                                 "one for each case")
            if (name != "needed" and np.any(np.isinf(value))) or (name not in ("tilt", "needed") and np.any(~(value >= 0))):
                raise GivenError(f"forces.{name} is {value.tolist()} N: give finite numbers of 0 N or more")


@dataclass(frozen=True)
class Numbers:
    """Values by name (numbers or arrays that broadcast), their spreads as factors [1], their sources, and the design.

    The forces have the load cases as first axis; see :meth:`wide` for a batch behind it.
    """

    design: Any
    values: Mapping[str, Array]
    spreads: Mapping[str, Spread]
    sources: Mapping[str, str]
    cases: tuple[str, ...]

    def __getitem__(self, name: str) -> Array:
        return self.values[name]

    def replaced(self, **values: Array) -> Numbers:
        """The same with other values."""
        return replace(self, values={**self.values, **values})

    def wide(self, axes: int) -> Numbers:
        """The same with room for ``axes`` batch axes behind the load cases."""
        return self.replaced(**{k: np.reshape(np.broadcast_to(self[k], len(self.cases)), (-1, *[1] * axes)) for k in FORCES})

    def missing(self, names: tuple[str, ...]) -> list[str]:
        """Which of the names have no value."""
        return [k for k in names if np.all(np.isnan(np.asarray(self.values[k], dtype=float)))]

    def drawn(self, u: Array) -> Numbers:
        """Values for even numbers u (spreads, n) [1]: every uncertain number times its factor, (n,)."""
        factors = {k: (0.0 if s.absolute else 1.0) + s.draw(u[i]) for i, (k, s) in enumerate(self.spreads.items())}
        wide = self.wide(1)
        return wide.replaced(**{k: wide[k] * np.maximum(f, LEAST) for k, f in factors.items()})


def simple_forces(design: Any) -> PartForces:
    """Forces by virtual work alone: strings at pitch, no handling load, no friction; both seats alike.

    Raises CatalogueError when the string set is not known.
    """
    from lutherie_geom.joint.pitch import strings_of
    from lutherie_geom.joint.pose import arm, pose
    from lutherie_geom.joint.strings import lever
    from lutherie_geom.theory.lever import screw_force

    d = design.dimensions()
    p = pose(d)
    tension = strings_of(design, p).course_tension
    tilt = float(screw_force(pull=tension, string_lever=lever(p), arm=arm(d)).sum())
    # All three pull the heel toward the block, and the two seats push back.
    seat = (float(tension.sum()) + tilt + design.clamp.preload) / 2
    side = max((x.push for x in design.loads if x.direction in ("sideways", "to the bass", "to the treble")), default=0.0)
    return PartForces(tilt, seat, side=side, outer=0.0, cover=design.tilt_screw.spring_push,
                  source="virtual work on the strings' pull, pivot seats alike; no friction, no weight, no handling load but a "
                         "push sideways on one seat")


def _ratio(name: str, what: str) -> tuple[float, str]:
    """Dry over green value of a wood, its own or its group's mean, and where from."""
    table = read_table("wood_strength")
    rows, said = table["moisture"], table["moisture_source"]
    own = rows.get(name)
    if own:
        return own[what][1] / own[what][0], f"{said['source']} ({said['mark']})"
    group = "softwood" if name in said["softwoods"] else "hardwood"
    like = [r[what][1] / r[what][0] for r in rows.values() if r["group"] == group]
    return sum(like) / len(like), f"mean of {len(like)} {group}s of {said['source']} ({said['mark']})"


def _at(w: Wood, what: str, moisture: float) -> tuple[float, str]:
    if what not in w:
        return math.nan, f"{what.replace('_', ' ')} of {w.name}: not found in a source"
    ratio, source = _ratio(w.name, what)
    value = w.value(what)
    point = read_table("wood_strength")["moisture_source"]["meeting_point"]
    moved = float(at_moisture(dry_value=value, green_value=value / ratio, moisture=moisture, meeting_point=point))
    n = w[what]
    return moved, f"{w.name}: {value:g} MPa at 12 %, {n.source} ({n.mark}); to {moisture:g} % by {source}"


def wood_numbers(part: str, name: str, moisture: float, estimate: bool) -> tuple[dict[str, float], dict[str, str]]:
    """Values and sources of one part's wood: strengths [MPa] at ``moisture`` [%], gravity [1], modulus [MPa], swelling [1/%]."""
    w = wood(name)
    v: dict[str, float] = {}
    said: dict[str, str] = {}
    for short, what in (("along", "compression_along"), ("across", "compression_across"), ("shear", "shear_strength")):
        v[f"{part}_{short}"], said[f"{part}_{short}"] = _at(w, what, moisture)
    guess = across_from_gravity(gravity=w.specific_gravity)
    soft = w.name in read_table("wood_strength")["moisture_source"]["softwoods"]
    about = float(guess.across_softwood if soft else guess.across_hardwood)
    if math.isnan(v[f"{part}_across"]):
        if estimate:
            v[f"{part}_across"] = about
            said[f"{part}_across"] = f"estimated from the gravity of {w.name}: {across_from_gravity.source}"
        else:
            said[f"{part}_across"] += f" (its gravity alone would suggest about {about:.2g} MPa: estimate=True takes that)"
    for short, what in (("gravity", "specific_gravity"), ("modulus", "modulus"), ("radial_ratio", "radial_ratio")):
        v[f"{part}_{short}"] = w.value(what) if what in w else math.nan
        said[f"{part}_{short}"] = f"{w.name}: {w[what]}" if what in w else f"{what} of {w.name}: not found in a source"
    ways = [w.swelling(k, moisture) for k in ("radial", "tangential") if f"shrinkage_{k}" in w]
    v[f"{part}_swelling"] = sum(ways) / len(ways) if ways else math.nan
    said[f"{part}_swelling"] = (f"{w.name}: mean of radial and tangential" if ways else
                                f"shrinkage of {w.name}: not found in a source")
    return v, said


def class_numbers(screw: str, name: str) -> tuple[dict[str, float], dict[str, str]]:
    """Proof, yield and tensile strength and hardness [MPa] of a screw's class; yield and proof stand in for each other."""
    c, table = strength_class(name), read_table("metals")
    tensile = c.tensile if math.isfinite(c.tensile) else table["tensile"].get(c.name, math.nan)
    proof = c.proof if math.isfinite(c.proof) else c.yield_
    yield_ = c.yield_ if math.isfinite(c.yield_) else c.proof
    h = table["hardness"]
    brinell = float(np.interp(tensile, h["tensile"], h["brinell"])) if math.isfinite(tensile) else math.nan
    v = {"proof": proof, "yield": yield_, "tensile": tensile, "hardness": brinell * BRINELL}
    text = f"class {c.name}: {c.source} ({c.mark})"
    said = dict.fromkeys(v, text)
    said["hardness"] = f"from the tensile strength of class {c.name}, {h['source']} ({h['mark']})"
    if not math.isfinite(c.tensile):
        said["tensile"] = f"class {c.name}: {table['tensile']['source']} ({table['tensile']['mark']})"
    return {f"{screw}_{k}": x for k, x in v.items()}, {f"{screw}_{k}": x for k, x in said.items()}


def _between(low: float, middle: float, high: float) -> Spread:
    return Spread.between(low / middle, high / middle, unit="1")


def _shared() -> tuple[dict[str, float], dict[str, Spread], dict[str, str]]:
    """Friction, glue, settling and creep: values, spreads and sources."""
    m, w = read_table("metals"), read_table("wood_strength")
    v, s, said = {}, {}, {}
    for key, row in m["friction"].items():
        name = key if key == "nut_factor" else f"{key}_friction"
        v[name] = (row["low"] + row["high"]) / 2
        s[name] = _between(row["low"], v[name], row["high"])
        said[name] = f"{row['source']} ({row['mark']})"
    v["greased_friction"] = m["friction"]["thread"]["low"]
    said["greased_friction"] = f"{m['friction']['thread']['source']}, the low end ({m['friction']['thread']['mark']})"
    for key in ("glue", "bedding"):
        row = w[key]
        v[key], s[key] = row["middle"], _between(row["low"], row["middle"], row["high"])
        said[key] = f"{row['source']} ({row['mark']})"
    curve, long = w["creep_curve"], creep_factor("seasoned, long load")
    v["creep_exponent"], v["long_creep"], v["season_swing"] = curve["exponent"], long.value, w["season"]["swing"]
    s["creep_exponent"] = _between(curve["exponent_low"], curve["exponent"], curve["exponent_high"])
    s["long_creep"] = _between(1.3 / long.value, 1.0, 2.0 / long.value)
    s["season_swing"] = _between(0.5, 1.0, 1.5)
    said["creep_exponent"], said["long_creep"] = f"{curve['source']} ({curve['mark']})", f"{long.source} ({long.mark})"
    said["season_swing"] = f"{w['season']['source']} ({w['season']['mark']})"
    lasting = creep_factor("strength, ten years")
    v["lasting"], s["lasting"] = lasting.value, _between(0.55, 0.6, 0.65)
    said["lasting"] = f"{lasting.source} ({lasting.mark})"
    v["scatter"], s["scatter"] = 1.0, Spread.plus_minus(w["torque_scatter"]["share"], unit="1")
    said["scatter"] = f"{w['torque_scatter']['source']} ({w['torque_scatter']['mark']})"
    v["edge_radius"], s["edge_radius"] = 0.3, _between(0.1, 0.3, 0.6)
    said["edge_radius"] = "rounding of a seat's edge in mm (chosen here: a broken edge)"
    return v, s, said


def numbers(design: Any, forces: PartForces | None = None, *, given: Mapping[str, float] | None = None, estimate: bool = False
            ) -> Numbers:
    """All numbers that the margins of a design need.

    ``forces`` [N]; without them :func:`simple_forces`. ``given`` replaces numbers by name, say ``{"block_across": 5.2}`` (MPa;
    names as the margins print them). ``estimate`` takes a wood's strength across the grain from its gravity where no value was
    found. Raises CatalogueError for unknown woods or classes, GivenError for numbers that make no sense.
    """
    f = forces or simple_forces(design)
    m, t = read_table("metals"), design.tilt_screw
    v, s, said = _shared()
    v |= dict(zip(FORCES, (f.tilt, f.seat, f.side, f.outer, f.cover, f.needed), strict=True))
    said |= dict.fromkeys(FORCES, f.source)
    v["preload"], said["preload"] = design.clamp.preload, "clamp.preload of the design"
    for screw in ("tilt", "clamp", "pivot"):
        part = t if screw == "tilt" else getattr(design, screw)
        more, why = class_numbers(screw, part.strength_class)
        v |= more
        said |= why
    steel, metal = m["metals"]["screw steel"], m["metals"][find(t.receiver_metal, m["metals"], "metal")]
    v |= {"steel_modulus": steel["modulus"], "steel_poisson": steel["poisson"], "receiver_shear": metal["shear"],
          "shear_to_tensile": m["ratios"]["shear_to_tensile"]}
    said |= {"steel_modulus": f"{steel['source']} ({steel['mark']})", "steel_poisson": f"{steel['source']} ({steel['mark']})",
             "receiver_shear": f"{metal['what']}: {metal['source']} ({metal['mark']})",
             "shear_to_tensile": f"{m['ratios']['source']} ({m['ratios']['mark']})"}
    s["receiver_shear"] = _between(1.0, 1.0, metal["shear_high"] / metal["shear"])
    s["steel_modulus"] = _between(steel["modulus_low"] / steel["modulus"], 1.0, steel["modulus_high"] / steel["modulus"])
    vary = read_table("wood_strength")["variation"]
    for part in PARTS:
        more, why = wood_numbers(part, getattr(design.woods, part), design.woods.moisture, estimate)
        v |= more
        said |= why
        for short, what in (("along", "compression_along"), ("across", "compression_across"), ("shear", "shear_strength"),
                            ("gravity", "specific_gravity"), ("modulus", "modulus")):
            s[f"{part}_{short}"] = Spread.sd(vary[what], unit="1")
    for name, value in (given or {}).items():
        if name not in v:
            near = difflib.get_close_matches(name, v, 3, 0.5)
            raise GivenError(f"given.{name} is not a number that the margins use; "
                             + (f"did you mean {', '.join(near)}?" if near else f"there are {', '.join(v)}"))
        if not (isinstance(value, int | float | np.number) and math.isfinite(value) and value > 0):
            raise GivenError(f"given.{name} is {value!r}: give a finite number above 0, in MPa for strengths, N for forces, mm "
                             "for lengths")
        v[name], said[name] = float(value), "given by you"
    return Numbers(design, v, s, said, f.cases)


def woods_known(names: list[str]) -> list[str]:
    """The woods' names as the table spells them. Raises CatalogueError for an unknown one, or when there are none."""
    if not names:
        raise CatalogueError("no woods to compare: give at least one name")
    return [wood(n).name for n in names]
