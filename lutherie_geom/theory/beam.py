"""Beams: sections made of layers and rods, and the bending of a cantilever (the tongue, the neck).

A part of a section is three numbers: its stiffness in tension EA, the height of its centroid, and its own bending stiffness
EI about that centroid. Two parts glued together make a part again (:data:`joined`), so that any number of layers and rods
is one chain of joinings. A rod let into wood counts with the modulus that it brings *more* than the wood it replaces.
Plane sections stay plane: glue lines do not slip.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_BREADTH = Quantity("breadth", "b", "mm", "breadth of the layer", 5, 100)
_THICKNESS = Quantity("thickness", "t", "mm", "thickness of the layer, in the direction of bending", 0.5, 30)
_E = Quantity("modulus", "E", "MPa", "Young's modulus along the beam", 300, 250000)
_BOTTOM = Quantity("bottom", "y_b", "mm", "height of the layer's underside over the section's datum", -50, 50)
_D = Quantity("rod_diameter", "d", "mm", "diameter of a round rod", 1, 12)
_EA = Quantity("axial", "EA", "N", "stiffness in tension: modulus times area", 1e4, 1e8)
_Y = Quantity("centroid", r"\bar y", "mm", "height of the stiffness-weighted centroid: the neutral axis", -50, 50)
_EI = Quantity("rigidity", "EI", "N mm^2", "bending stiffness about the centroid", 1e5, 1e9)
_A = Quantity("area", "A", "mm^2", "area of the section", 1, 3000)
_I = Quantity("second_moment", "I", "mm^4", "second moment of area about the centroid", 0.01, 1e6)


def _rod(b: Builder) -> Any:
    return b.sympy.pi * b.rod_diameter**2 / 4, b.sympy.pi * b.rod_diameter**4 / 64


round_rod = Relation("round_rod", "Area and second moment of a round rod", (_D,), (_A, _I), _rod, "beam",
                     source="textbook form, from memory; checked against integration")


def _layer(b: Builder) -> Any:
    return b.modulus * b.breadth * b.thickness, b.bottom + b.thickness / 2, b.modulus * b.breadth * b.thickness**3 / 12


layer = Relation("layer", "A layer as a part of a section", (_BREADTH, _THICKNESS, _E, _BOTTOM), (_EA, _Y, _EI), _layer, "beam",
                 source="textbook form, from memory; checked against integration")


def _numbered(quantity: Quantity, i: int, said: str) -> Quantity:
    return Quantity(f"{quantity.name}_{i}", f"{quantity.latex}_{{{i}}}", quantity.unit, f"{said}: {quantity.meaning}",
                    quantity.low, quantity.high)


_PARTS = tuple(_numbered(Quantity(s.name, letter, s.unit, s.meaning, s.low, s.high), i, f"part {i}")
               for i in (1, 2) for s, letter in ((_EA, "A"), (_Y, "y"), (_EI, "B")))


def _joined(b: Builder) -> Any:
    total = b.step("EA", b.axial_1 + b.axial_2, "EA", "stiffness in tension adds up")
    y = b.step("ybar", (b.axial_1 * b.centroid_1 + b.axial_2 * b.centroid_2) / total, r"\bar y", "the neutral axis")
    apart = b.axial_1 * b.axial_2 / total * (b.centroid_1 - b.centroid_2) ** 2
    return total, y, b.rigidity_1 + b.rigidity_2 + apart


joined = Relation("joined", "Two parts of a section, glued into one", _PARTS, (_EA, _Y, _EI), _joined, "beam",
                  source="parallel-axis theorem with stiffness for area; derived here",
                  note="For a rod let into wood give part 2 the modulus of the rod less that of the wood: what it brings.")


def _layers(count: int) -> tuple[tuple[Quantity, ...], Any]:
    inputs = tuple(_numbered(s, i, f"layer {i}, counted from the bottom") for i in range(1, count + 1)
                   for s in (_BREADTH, _THICKNESS, _E))

    def derive(b: Builder) -> Any:
        bottom: Any = 0
        axial: Any = 0
        first: Any = 0
        parts = []
        for i in range(1, count + 1):
            breadth, thick, modulus = (getattr(b, f"{n}_{i}") for n in ("breadth", "thickness", "modulus"))
            a = b.step(f"A_{i}", modulus * breadth * thick, f"A_{{{i}}}", "modulus times area of the layer")
            y = b.step(f"y_{i}", bottom + thick / 2, f"y_{{{i}}}", "its middle")
            parts.append((a, y, thick))
            axial, first, bottom = axial + a, first + a * y, bottom + thick
        total = b.step("EA", axial, "EA")
        middle = b.step("ybar", first / total, r"\bar y", "the neutral axis, over the bottom of layer 1")
        return total, middle, sum(a * (t**2 / 12 + (y - middle) ** 2) for a, y, t in parts)

    return inputs, derive


_TWO, _two = _layers(2)
_THREE, _three = _layers(3)
_LAYERED = "transformed section: sums over the layers, textbook form, from memory; checked against integration"
two_layers = Relation("two_layers", "Section of two layers, say neck wood and board", _TWO, (_EA, _Y, _EI), _two, "beam",
                      source=_LAYERED)
three_layers = Relation("three_layers", "Section of three layers", _THREE, (_EA, _Y, _EI), _three, "beam", source=_LAYERED)

_WITH = Quantity("rigidity_with", "B_1", "N mm^2", "bending stiffness with the rods", 2e8, 1e9)
_WITHOUT = Quantity("rigidity_without", "B_0", "N mm^2", "bending stiffness of the same section, wood in the rods' place",
                    1e7, 2e8)
_SHARE = Quantity("share", "q", "1", "share of the stiffness that the rods bring", 0, 1)


def _share(b: Builder) -> Any:
    return 1 - b.rigidity_without / b.rigidity_with


rod_share = Relation("rod_share", "The rods' own share of a section's bending stiffness", (_WITH, _WITHOUT), (_SHARE,), _share,
                     "beam", source="definition")

_M = Quantity("moment", "M", "N mm", "bending moment, positive: stretches the bottom", -1e5, 1e5)
_HEIGHT = Quantity("height", "y", "mm", "height of the fibre", -50, 50)
_STRESS = Quantity("stress", r"\sigma", "MPa", "stress along the beam, positive: tension")


def _stress(b: Builder) -> Any:
    return b.modulus * b.moment * (b.centroid - b.height) / b.rigidity


fibre_stress = Relation("fibre_stress", "Stress in a fibre of a layered section", (_M, _E, _HEIGHT, _Y, _EI), (_STRESS,),
                        _stress, "beam", source="plane sections stay plane; textbook form, from memory")

_F = Quantity("force", "F", "N", "force at the tip, across the beam", 0, 200)
_L = Quantity("span", "L", "mm", "free length of the cantilever", 10, 600)
_TIP = Quantity("deflection", r"\delta", "mm", "deflection of the tip", 0, 50)
_SLOPE = Quantity("tip_slope", r"\varphi", "rad", "slope at the tip", 0, 1)


def _cantilever(b: Builder) -> Any:
    return b.force * b.span**3 / (3 * b.rigidity), b.force * b.span**2 / (2 * b.rigidity)


cantilever_tip = Relation("cantilever_tip", "Tip of a uniform cantilever: deflection and slope", (_F, _L, _EI), (_TIP, _SLOPE),
                          _cantilever, "beam", source="F L^3/(3 EI): Wood Handbook GTR-282 Table 9-1, read in reproduction; "
                                                      "slope: textbook form, from memory",
                          note="Bending only, clamped end taken as rigid. For short spans see cantilever_shear.")

_G = Quantity("shear_modulus", "G", "MPa", "shear modulus in the plane of bending", 50, 2000)
_KAPPA = Quantity("shear_factor", r"\kappa", "1", "shear factor: 5/6 for a rectangle, 0.9 for a circle", 0.5, 1)
_TOTAL = Quantity("total", r"\delta_t", "mm", "deflection of the tip, bending and shear together", 0, 50)
_ADDED = Quantity("added", r"\delta_s / \delta_b", "1", "what shear adds, as a part of the bending", 0, 10)


def _shear(b: Builder) -> Any:
    bend, _ = b.use(cantilever_tip)
    bend = b.step("delta_b", bend, r"\delta_b", "bending")
    shear = b.step("delta_s", b.force * b.span / (b.shear_factor * b.shear_modulus * b.area), r"\delta_s",
                   "the sections slide on each other")
    return bend + shear, shear / bend


cantilever_shear = Relation(
    "cantilever_shear", "Tip of a uniform cantilever with Timoshenko's shear correction",
    (_F, _L, _EI, _KAPPA, _G, _A), (_TOTAL, _ADDED), _shear, "beam",
    source="Wood Handbook GTR-282 Eq. 9-2 and 9-4, read in reproduction",
    note="For wood (E/G about 16) shear adds 5 % at a span of ten depths, 20 % at five: a tongue is short enough to mind it.")

_WIDTH = Quantity("breadth", "b", "mm", "breadth of the tapered beam", 5, 100)
_TIP_DEPTH = Quantity("tip_depth", "h_1", "mm", "depth at the free end", 2, 15)
_TAPER = Quantity("depth_ratio", "r", "1", "depth at the root over depth at the tip, not 1", 1.2, 4)
_E_WOOD = Quantity("modulus", "E", "MPa", "Young's modulus along the beam", 3000, 25000)


def _tapered(b: Builder) -> Any:
    r = b.depth_ratio
    shape = b.step("shape", (b.sympy.log(r) + 2 / r - 1 / (2 * r**2) - b.sympy.Rational(3, 2)) / (r - 1) ** 3, "f",
                   "the integral of x^2 over the depth cubed")
    return 12 * b.force * b.span**3 / (b.modulus * b.breadth * b.tip_depth**3) * shape


tapered_tip = Relation("tapered_tip", "Tip deflection of a cantilever that tapers in depth toward its tip",
                       (_F, _L, _E_WOOD, _WIDTH, _TIP_DEPTH, _TAPER), (_TIP,), _tapered, "beam", source="derived here",
                       note="At r = 1 the form is 0/0 and near it loses digits: use cantilever_tip there.")

_LINE = Quantity("line_mass", "m'", "kg/m", "mass of the beam to the metre", 0.02, 2)
_HZ = Quantity("frequency", "f_1", "Hz", "first natural frequency", 1, 5000)
FIRST_ROOT = 1.875104068711961
"""Smallest root of cos x cosh x = -1, a pure number."""


def _frequency(b: Builder) -> Any:
    sp = b.sympy
    beta = sp.Float(FIRST_ROOT)
    # N mm^2 is 1e-6 N m^2 and mm^2 is 1e-6 m^2: a factor 1000 is left in hertz.
    return beta**2 / (2 * sp.pi) * 1000 * sp.sqrt(b.rigidity / b.line_mass) / b.span**2


cantilever_frequency = Relation(
    "cantilever_frequency", "First natural frequency of a uniform cantilever", (_L, _EI, _LINE), (_HZ,), _frequency, "beam",
    source="Euler-Bernoulli beam, textbook form, from memory; checked against numerical eigenvalues",
    note="Without shear, damping and whatever touches the tip: the true note lies lower.")
