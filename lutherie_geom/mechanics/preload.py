"""Clamp screw: what the key winds in, what bedding-in, creep and a dry season take out, and when to turn the key again."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import read_table
from lutherie_geom.design.lines import folded
from lutherie_geom.mechanics.check import Check
from lutherie_geom.mechanics.givens import GivenError, Numbers, PartForces, numbers
from lutherie_geom.mechanics.no_lift import clamp_torque
from lutherie_geom.mechanics.wood_bearing import needs, off_grain, seat_hold
from lutherie_geom.theory.climate import size_change_rule, swelling_off_grain
from lutherie_geom.theory.fasteners import metric_thread
from lutherie_geom.theory.joint_strength import creep_growth, preload_later, washer_pressure
from lutherie_geom.theory.stiffness import dowel_in_wood, in_series
from lutherie_geom.theory.strength import frustum_stiffness, screw_stiffness

__all__ = ["Clamped", "PreloadStory", "clamped", "most_clamp", "preload_checks", "preload_story"]

Array = Any
YEAR = 365.25
CONE = math.radians(30)
"""Half angle of the cone of pressure under the washer: usual for metal; for wood across the grain a guide to size only."""
STEPS = (("an hour", 1 / 24), ("a day", 1.0), ("a week", 7.0), ("a month", 30.0), ("the driest of the year", YEAR / 4),
         ("a year", YEAR), ("ten years", 10 * YEAR))
RIGID = 1e9
"""Stiffness of wood that gives nothing [N/mm]."""
LOSS = 0.20
"""Part of the preload that may be lost before the key should be turned again (chosen here)."""


@dataclass(frozen=True)
class Clamped:
    """Stiffness [N/mm] of the clamp screw, of block and heel together, and how far the clamped wood swells [mm/%]."""

    screw: Array
    wood: Array
    swelling: Array


def clamped(n: Numbers, spring_rate: float | None = None) -> Clamped:
    """What the clamp screw stretches and presses; ``spring_rate`` [N/mm] of disc springs in place of the design's."""
    d, c = n.design, n.design.clamp
    if spring_rate is not None and not (math.isfinite(spring_rate) and spring_rate > 0):
        raise GivenError(f"spring_rate is {spring_rate!r} N/mm: give a finite number above 0, or leave it out")
    rate = c.spring_rate if spring_rate is None else spring_rate
    area = metric_thread(diameter=c.diameter, pitch=c.pitch).stress_area
    screw = screw_stiffness(shank_area=area, stress_area=area, shank_length=0.0, thread_length=d.block.depth - c.receiver_x,
                            modulus=n["steel_modulus"])
    if rate > 0:
        screw = in_series(stiffness_1=screw, stiffness_2=rate)
    angle = d.woods.block_angle(1.0, 0.0, 0.0)
    modulus = off_grain(n["block_modulus"], n["block_modulus"] * n["block_radial_ratio"], angle)
    # The washer presses the block against the seats' threads, which push back about the middle of their hold.
    deep = max(d.block.depth - seat_hold(d)[1] / 2, 1.0)
    face = max(c.washer_diameter, c.hole_in_block * 1.05)
    block = frustum_stiffness(bore=c.hole_in_block, face=face, thickness=deep, modulus=modulus, cone_angle=CONE)
    in_heel = off_grain(n["neck_modulus"], n["neck_modulus"] * n["neck_radial_ratio"], d.woods.heel_runout)
    heel = dowel_in_wood(modulus=in_heel, bearing_length=c.receiver_length, diameter=c.receiver_diameter,
                         depth=max(-c.receiver_x, c.receiver_diameter))
    swelling = swelling_off_grain(along_swelling=0.0, across_swelling=n["block_swelling"], grain_angle=angle)
    swells = size_change_rule(size=deep, swelling=swelling, moisture_change=1.0) if angle > 0 else np.asarray(0.0)
    return Clamped(screw, in_series(stiffness_1=block, stiffness_2=heel), swells)


def left_after(n: Numbers, k: Clamped, days: Array, drier: Array, preload: Array | None = None, bedding: Array | None = None,
               creep: Array | None = None) -> Array:
    """Preload left [N] after ``days``, the wood ``drier`` [%] than when the key was put down; none left is 0."""
    years = read_table("wood_strength")["creep_curve"]["years"]
    phi = creep if creep is not None else creep_growth(time=days, long_time=years * YEAR, long_creep=n["long_creep"],
                                                       exponent=n["creep_exponent"])
    found = preload_later(preload=n["preload"] if preload is None else preload, screw_stiffness=k.screw, member_stiffness=k.wood,
                          creep=phi, bedding=n["bedding"] if bedding is None else bedding, shrinkage=k.swelling * drier)
    return np.maximum(found, 0.0)


def left_uses(design: Any) -> tuple[str, ...]:
    """Names of the numbers that what is left of the preload hangs on."""
    return ("preload", "scatter", "bedding", "long_creep", "creep_exponent", "season_swing", "block_modulus",
            "block_radial_ratio", "block_swelling", "neck_modulus", *(("neck_radial_ratio",) if design.woods.heel_runout else ()))


def in_the_damp(n: Numbers, k: Clamped) -> Array:
    """Force in the clamp screw in the first damp season [N]: the block has swollen, as much as the next season dries it."""
    return left_after(n, k, YEAR / 4, -n["season_swing"], preload=n["preload"] * n["scatter"])


def most_clamp(n: Numbers, k: Clamped) -> Array:
    """Largest force in the clamp screw [N]: as the key leaves it, or in the damp season.

    Wood whose stiffness is not known is taken as rigid: the screw and its springs then take all the swelling.
    """
    rigid = replace(k, wood=np.where(np.isnan(k.wood), RIGID, k.wood))
    return np.maximum(n["preload"] * n["scatter"], in_the_damp(n, rigid))


def preload_checks(n: Numbers, k: Clamped) -> Iterator[Check]:
    """What is left of the clamp after the first dry season against what holds the seats down."""
    left = left_after(n, k, YEAR / 4, n["season_swing"], preload=n["preload"] * n["scatter"])
    yield Check("clamp.preload_left", "clamp: preload left after the first dry season, key not turned again", left,
                n["clamp_needed"], "N", 1.5, (preload_later, creep_growth, size_change_rule, frustum_stiffness, dowel_in_wood),
                (*left_uses(n.design), "clamp_needed"),
                "The strings alone press the seats down; the clamp is for handling. Wood's give beyond the first crush; the "
                "season in which it was tightened (taken: an even one, a quarter year before the driest).",
                "clamp.spring_rate: softer springs (0: none), or clamp.preload: more, or turn the key again when it is dry")
    c = n.design.clamp
    if c.washer_diameter > c.hole_in_block:
        angle = n.design.woods.block_angle(1.0, 0.0, 0.0)
        yield Check("clamp.damp", f"block ({n.design.woods.block}): clamp washer in the damp season, wood swollen",
                    off_grain(n["block_along"], n["block_across"], angle),
                    washer_pressure(force=in_the_damp(n, k), washer_diameter=c.washer_diameter, bore=c.hole_in_block), "MPa", 1.5,
                    (washer_pressure, preload_later), (*left_uses(n.design), *needs("block", angle)),
                    "Where it crushes, the wood gives way until the strength bears it, and the next dry season leaves less.",
                    "clamp.washer_diameter: larger (or clamp.spring_rate: softer springs)", settles=True)


@dataclass(frozen=True)
class PreloadStory:
    """Preload over the years: ``days`` and what is ``left`` [N] when the key is not turned again (``left``) and when it is turned
    at the ``turns`` [day] (``kept``). Losses by cause are at the first dry season, shares of the preload [1]."""

    name: str
    preload: float
    torque: tuple[float, float]
    scatter: float
    steps: tuple[tuple[str, float, float], ...]
    losses: tuple[tuple[str, float], ...]
    turns: tuple[tuple[str, float], ...]
    days: np.ndarray
    left: np.ndarray
    kept: np.ndarray
    leaves_out: str

    def __str__(self) -> str:
        low, high = self.torque
        lines = [f"{self.name}: clamp preload {self.preload:.0f} N, key torque {low / 1000:.2f} (greased) to "
                 f"{high / 1000:.2f} N m (dry); by torque alone the preload is off by {100 * self.scatter:.0f} % either way",
                 "  tightened in an even season, three months before the driest, and left alone:"]
        lines += [f"  after {w:<21} {left:6.0f} N left ({100 * left / self.preload:.0f} %)" for w, _, left in self.steps]
        lines.append("  taken by the driest of the year: " + ", ".join(f"{w} alone {100 * x:.0f} %" for w, x in self.losses))
        lines.append("  turn the key again: " + (", ".join(w for w, _ in self.turns) or "not needed"))
        if self.turns:
            later = self.kept[self.days > self.turns[-1][1]]
            lines.append(f"    then {later.min():.0f} N at the least, {later.max():.0f} N in the damp season")
            if later.max() > 1.5 * self.preload:
                lines.append("    tightened fully in the dry season it must be eased before the damp one, or the washer crushes "
                             "the wood; a spring washer does both by itself")
        return folded(*lines, f"  leaves out: {self.leaves_out}")

    __repr__ = __str__


def preload_story(design: Any, *, forces: PartForces | None = None, spring_rate: float | None = None, loss: float = LOSS,
                  estimate: bool = True) -> PreloadStory:
    """Preload of the clamp over ten years, and when to turn the key again so that no more than ``loss`` [1] is ever missing.

    The year is even at the start, driest a quarter year on. ``spring_rate`` [N/mm] of disc springs in place of the design's.
    Raises GivenError for a loss outside 0.02 to 0.9.
    """
    if not 0.02 <= loss <= 0.9:
        raise GivenError(f"loss is {loss:g} (a share): give one from 0.02 to 0.9")
    n = numbers(design, forces or PartForces(0.0, 0.0), estimate=estimate)
    k = clamped(n, spring_rate)
    table = read_table("wood_strength")
    swing, long = float(n["season_swing"]), table["creep_curve"]["years"] * YEAR
    days = np.unique(np.concatenate([np.geomspace(1 / 24, 10 * YEAR, 600), np.arange(0, 10 * YEAR, 15.0)[1:],
                                     [s[1] for s in STEPS]]))
    dry = swing * np.sin(2 * np.pi * days / YEAR)
    left = np.asarray(left_after(n, k, days, dry))

    steps = tuple((w, t, float(left_after(n, k, t, swing * math.sin(2 * math.pi * t / YEAR)))) for w, t in STEPS)
    full = float(n["preload"])
    none = {"bedding": 0.0, "creep": 1.0}
    losses = tuple((w, 1 - float(left_after(n, k, YEAR / 4, drier, **parts)) / full) for w, drier, parts in (
        ("bedding-in", 0.0, {"creep": 1.0}), ("creep", 0.0, {"bedding": 0.0}), ("drying", swing, none)))
    creep = np.asarray(creep_growth(time=days, long_time=long, long_creep=n["long_creep"], exponent=n["creep_exponent"]))
    turns: list[tuple[str, float]] = []
    kept, start, first, bedding = left.copy(), 0.0, 1.0, n["bedding"]
    for _ in range(40):
        # After each turn the wood has crept and bedded already: only what comes later counts, from the dryness of that day.
        kept_now = np.asarray(left_after(n, k, days, dry - start, bedding=bedding, creep=creep / first))
        later = days > (turns[-1][1] if turns else 0.0)
        kept[later] = kept_now[later]
        short = np.flatnonzero(later & (kept_now < (1 - loss) * full))
        if not len(short):
            break
        # Turned where it is least within the next quarter year: a turn on the way down is a turn wasted.
        window = short[days[short] <= days[short[0]] + YEAR / 4]
        i = int(window[np.argmin(kept_now[window])])
        if not turns and days[short[0]] <= 1.0:
            i = int(np.searchsorted(days, 1.0))
        turns.append((_when(days[i]), float(days[i])))
        start, first, bedding = float(dry[i]), float(creep[i]), 0.0
    low, high = (float(x) for x in clamp_torque(design, full))
    return PreloadStory(design.name, full, (low, high), table["torque_scatter"]["share"], steps, losses, tuple(turns), days, left,
                        kept, "crushing of the wood under the washer, and heat. Stiffness of wood across the grain is a rough "
                              f"number: take the shares for their order. {preload_later.note}")


def _when(day: float) -> str:
    if day < 2:
        return "the day after the strings are up"
    if day < 21:
        return f"after {day:.0f} days"
    if day < 1.5 * YEAR:
        season = "in the dry season" if math.sin(2 * math.pi * day / YEAR) > 0.5 else ""
        return f"after {day / 30.4:.0f} months {season}".strip()
    return f"after {day / YEAR:.1f} years"
