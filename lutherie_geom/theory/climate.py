"""Climate: from humidity to the wood's moisture, its swelling, and what that does to the joint.

Humidity and moisture content are in percent, as a hygrometer and the handbooks print them; temperatures in degrees Celsius.
The handbook equations were read in a reproduction of the Wood Handbook (GTR-282, 2021), not in the book itself.
"""

from __future__ import annotations

import math
from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.tilt import tilt_dowel
from lutherie_geom.theory.words import q

_T = Quantity("temperature", "T", "degC", "temperature of the air", 0, 50)
_RH = Quantity("humidity", "H", "%", "relative humidity", 5, 95)
_EMC = Quantity("moisture", "M", "%", "moisture content that the wood comes to in the end", 0, 30)


def _simpson(b: Builder) -> Any:
    r, t = b.sympy.Rational, b.temperature
    h = b.step("h", b.humidity / 100, "h", "humidity as a fraction")
    w = b.step("W", 349 + r("1.29") * t + r("0.0135") * t**2, "W")
    k = b.step("K", r("0.805") + r("0.000736") * t - r("0.00000273") * t**2, "K")
    k1 = b.step("K_1", r("6.27") - r("0.00938") * t - r("0.000303") * t**2, "K_1")
    k2 = b.step("K_2", r("1.91") + r("0.0407") * t - r("0.000293") * t**2, "K_2")
    one = b.step("one", k1 * k * h, "u", "water held by one layer")
    two = b.step("two", k1 * k2 * k**2 * h**2, "v", "and by two")
    return 1800 / w * (k * h / (1 - k * h) + (one + 2 * two) / (1 + one + two))


emc_simpson = Relation(
    "emc_simpson", "Equilibrium moisture content, Simpson's equation", (_T, _RH), (_EMC,), _simpson, "climate",
    source="Wood Handbook GTR-282 Eq. 4-5, read in reproduction",
    note="One curve for all woods; rosewoods and heat-treated wood lie lower. Wetting and drying differ by some 1 to 2 % "
         "(from memory). Against emc_glass it differs by 0.1 to 0.5 % in a room.")


def _glass(b: Builder) -> Any:
    sp = b.sympy
    r = sp.Rational
    kelvin = b.step("T_K", b.temperature + r("273.15"), "T_K", "absolute temperature, in kelvin")
    dry = b.step("dry", -sp.log(1 - b.humidity / 100), r"\ell", "minus ln(1 - h)")
    base = b.step("base", r("0.000612") * kelvin * (1 - kelvin / r("647.1")) ** r("2.43") * dry, "B")
    power = b.step("power", r("0.0577") * kelvin ** r("0.430"), "n")
    return 100 * base**power


emc_glass = Relation("emc_glass", "Equilibrium moisture content, equation of Glass and others (2014)", (_T, _RH), (_EMC,), _glass,
                     "climate", source="Wood Handbook GTR-282 Eq. 4-6, read in reproduction",
                     note="The newer fit. Its distance from emc_simpson is a fair picture of how well the curve is known.")

_S = Quantity("shrinkage", "S", "%", "shrinkage of the wood from green to ovendry, in that direction", 1, 14)
_M1 = Quantity("moisture_from", "M_1", "%", "moisture content before", 2, 20)
_M2 = Quantity("moisture_to", "M_2", "%", "moisture content after", 2, 20)
_SIZE = Quantity("size", "D", "mm", "size across the grain", 1, 500)
_DD = Quantity("change", r"\Delta D", "mm", "change of size, positive: swells", -50, 50)
_C = Quantity("swelling", "C", "1/%", "swelling across the grain for one percent of moisture content", 0.0005, 0.005)
_DM = Quantity("moisture_change", r"\Delta M", "%", "change of moisture content, positive: wetter", -10, 10)


def _coefficient(b: Builder) -> Any:
    return 1 / (3000 / b.shrinkage - 30 + b.moisture_from)


swelling_coefficient = Relation("swelling_coefficient", "Swelling for one percent of moisture, from the whole shrinkage",
                                (_S, _M1), (_C,), _coefficient, "climate",
                                source="Wood Handbook GTR-190 Eq. 13-3, read; its table is this at 10 % moisture",
                                note="Straight line from fibre saturation at 30 %: good between 6 and 14 % (range from memory).")


def _change(b: Builder) -> Any:
    return b.size * b.use(swelling_coefficient) * (b.moisture_to - b.moisture_from)


size_change = Relation("size_change", "Change of a size across the grain between two moisture contents",
                       (_SIZE, _S, _M1, _M2), (_DD,), _change, "climate", source="Wood Handbook GTR-190 Eq. 13-3, read")


def _change_rule(b: Builder) -> Any:
    return b.size * b.swelling * b.moisture_change


size_change_rule = Relation("size_change_rule", "The same with a tabulated coefficient", (_SIZE, _C, _DM), (_DD,), _change_rule,
                            "climate", source="Wood Handbook GTR-190 p. 13-17, form read in its worked example")

_C0 = Quantity("along_swelling", "C_0", "1/%", "swelling along the grain for one percent of moisture content", 0, 0.0002)
_C90 = Quantity("across_swelling", "C_{90}", "1/%", "swelling across the grain for one percent", 0.0005, 0.005)
_THETA = Quantity("grain_angle", r"\theta", "rad", "angle between the direction looked at and the grain", 0, math.pi / 2)


def _off_grain(b: Builder) -> Any:
    sp = b.sympy
    return b.along_swelling * sp.cos(b.grain_angle) ** 2 + b.across_swelling * sp.sin(b.grain_angle) ** 2


swelling_off_grain = Relation("swelling_off_grain", "Swelling in a direction at an angle to the grain", (_C0, _C90, _THETA),
                              (_C,), _off_grain, "climate", source="a strain seen in a turned direction; derived here")

_SX = Quantity("shrunk", "S_M", "%", "shrinkage from green to the given moisture content", 0, 14)


def _shrunk(b: Builder) -> Any:
    return b.shrinkage * (1 - b.moisture_from / 30)


shrinkage_at = Relation("shrinkage_at", "Shrinkage from green down to a moisture content", (_S, _M1), (_SX,), _shrunk, "climate",
                        source="Wood Handbook GTR-282 Eq. 4-9, read in reproduction")


def _layer(i: int, what: str) -> tuple[Quantity, Quantity, Quantity]:
    return (Quantity(f"thickness_{i}", f"t_{i}", "mm", f"thickness of the {what} layer", 0.5, 20),
            Quantity(f"modulus_{i}", f"E_{i}", "MPa", f"Young's modulus of the {what} layer, along the strip", 300, 20000),
            Quantity(f"strain_{i}", rf"\varepsilon_{i}", "1", f"free swelling strain of the {what} layer", -0.02, 0.02))


_KAPPA = Quantity("bow", r"\kappa", "1/mm", "curvature, positive: hollow on the lower side", -0.1, 0.1)


def _strip(b: Builder) -> Any:
    m = b.step("m", b.thickness_1 / b.thickness_2, "m", "ratio of thicknesses")
    n = b.step("n", b.modulus_1 / b.modulus_2, "n", "ratio of moduli")
    depth = b.step("depth", b.thickness_1 + b.thickness_2, "h", "whole depth")
    rest = b.step("rest", 3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n)), "k")
    return 6 * (b.strain_2 - b.strain_1) * (1 + m) ** 2 / (depth * rest)


strip_curvature = Relation(
    "strip_curvature", "Curvature of a strip of two layers that swell differently",
    (*_layer(1, "lower"), *_layer(2, "upper")), (_KAPPA,), _strip, "climate",
    source="Timoshenko 1925, Analysis of bi-metal thermostats, from memory; checked against an equilibrium solved by numbers",
    note="A braced top is the strip: plate above, cross-grained brace below. Edges free; real sides hold it.")

_SPAN = Quantity("span", "L", "mm", "length of the strip", 50, 500)
_RISE = Quantity("strip_rise", "s", "mm", "rise of the middle over the ends", -50, 50)
_BOW_IN = Quantity("bow", r"\kappa", "1/mm", "curvature", -0.002, 0.002)


def _rise(b: Builder) -> Any:
    return b.bow * b.span**2 / 8


strip_rise = Relation("strip_rise", "Rise of a bent strip", (_BOW_IN, _SPAN), (_RISE,), _rise, "climate",
                      source="sagitta of a flat arc; derived here")

_START = Quantity("moisture_start", "M_0", "%", "moisture content at the start", 2, 20)
_END = Quantity("moisture_end", r"M_\infty", "%", "moisture content that it tends to", 2, 20)
_TIME = Quantity("time", "t", "day", "time since the air changed", 0, 365)
_TAU = Quantity("lag", r"\tau", "day", "time constant of the wood", 1, 200)
_PERIOD = Quantity("period", "P", "day", "period of the season", 30, 366)
_SWING = Quantity("swing_left", r"\rho", "1", "part of the air's swing that reaches the wood", 0, 1)
_DELAY = Quantity("delay", r"t_d", "day", "by how much the wood comes after the air", 0, 100)


def _lag(b: Builder) -> Any:
    return b.moisture_end + (b.moisture_start - b.moisture_end) * b.sympy.exp(-b.time / b.lag)


moisture_lag = Relation("moisture_lag", "Moisture content some time after the air has changed", (_START, _END, _TIME, _TAU),
                        (_EMC,), _lag, "climate", source="first-order lag; derived here",
                        note="Diffusion begins faster and ends slower. The time constant depends on wood and finish: measure it.")


def _season(b: Builder) -> Any:
    sp = b.sympy
    omega = b.step("omega", 2 * sp.pi / b.period, r"\omega")
    return 1 / sp.sqrt(1 + (omega * b.lag) ** 2), sp.atan(omega * b.lag) / omega


season_lag = Relation("season_lag", "What a lag leaves of a seasonal swing, and how late", (_PERIOD, _TAU), (_SWING, _DELAY),
                      _season, "climate", source="first-order lag under a sine; derived here")

_ANCHOR = Quantity("x_anchor", "x_a", "mm", "where the block's wood holds the pivot seats' threads, along the body", 0, 15)
_BLOCK = (_C, _DM, *q("x_head"), _ANCHOR)


def _moved(b: Builder) -> Any:
    return b.step("u", b.swelling * b.moisture_change * (b.x_head - b.x_anchor), "u",
                  "the captive face moves away from the seats, toward the tail")


def _block(b: Builder) -> Any:
    u = _moved(b)
    sp = b.sympy
    drop = (b.z_head - b.z_receiver) ** 2
    was = b.step("was", sp.sqrt((b.x_head - b.x_receiver) ** 2 + drop), r"\ell_0", "the screw, which does not swell")
    now = b.step("now", sp.sqrt((b.x_head + u - b.x_receiver) ** 2 + drop), r"\ell_1", "the distance that would be needed")
    return b.use(tilt_dowel, tilt=was - now, pitch_tilt=1, x_head=b.x_head + u, psi=0, advance=0)


block_tilt = Relation("block_tilt", "Tilt that the swelling of the neck block brings, exactly (receiver a cross dowel)",
                      (*_BLOCK, *q("x_p z_p z_head x_receiver z_receiver")), q("theta"), _block, "climate",
                      source="derived here from the tilt of the joint",
                      note="The neck's screws stay where they are turned. Wetter: action down, when the captive face lies "
                           "deeper in the block than the seats' threads.")


def _block_rule(b: Builder) -> Any:
    return -_moved(b) / b.arm


block_tilt_rule = Relation("block_tilt_rule", "Small-angle rule: tilt that the swelling of the neck block brings",
                           (*_BLOCK, *q("arm")), q("theta"), _block_rule, "climate", source="derived here",
                           note="Exact slope of block_tilt for a level screw.")

_CH = Quantity("heel_swelling", "C_h", "1/%", "swelling of the heel's wood along the body for one percent; along its grain "
                                              "about 0.00005", 0, 0.004)
_BALL = Quantity("x_ball", "x_k", "mm", "where the heel's wood holds the pivot balls, along the body", -20, 0)


def _season_tilt(b: Builder) -> Any:
    heel = b.step("u_h", b.heel_swelling * b.moisture_change * (b.x_receiver - b.x_ball), "u_h",
                  "the receiver moves from the balls, in the heel")
    return (heel - _moved(b)) / b.arm


swelling_tilt_rule = Relation("swelling_tilt_rule", "Small-angle rule: tilt from the swelling of block and heel together",
                              (*_BLOCK, _CH, *q("x_receiver"), _BALL, *q("arm")), q("theta"), _season_tilt, "climate",
                              source="derived here", note="Block and heel taken at the same moisture.")


def _null(b: Builder) -> Any:
    return b.x_anchor + b.heel_swelling / b.swelling * (b.x_receiver - b.x_ball)


null_head = Relation("null_head", "Place of the captive face at which swelling does not turn the neck",
                     (_C, _ANCHOR, _CH, *q("x_receiver"), _BALL), q("x_head"), _null, "climate",
                     source="derived here: swelling_tilt_rule set to zero",
                     note="With a heel that does not swell along the body: level with the threads of the seats.")
