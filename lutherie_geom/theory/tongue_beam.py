"""Tongue and neck as beams: a crowned board on neck wood, rods let in at any depth, fret slots, and what comes of it.

Heights are counted from the glue line between board and neck wood, upward to the strings. Glue lines do not slip and plane
sections stay plane. :mod:`lutherie_geom.theory.beam` has the plain parts: layers, joinings, uniform and tapered cantilevers.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_TEXTBOOK = "textbook form, from memory; checked against integration"
_B = Quantity("breadth", "b", "mm", "breadth of the board", 40, 70)
_BOARD = Quantity("board", "t_b", "mm", "thickness of the board on the centreline", 3, 8)
_SAG = Quantity("sagitta", "s", "mm", "how much thinner the board is at its edges: breadth squared over eight radii", 0, 2)
_EB = Quantity("board_modulus", "E_b", "MPa", "Young's modulus of the board along the grain", 8000, 20000)
_EN = Quantity("neck_modulus", "E_n", "MPa", "Young's modulus of the neck wood along the grain", 7000, 16000)
_EA = Quantity("axial", "EA", "N", "stiffness in tension: modulus times area", 1e5, 1e8)
_ES = Quantity("axial_first", "ES", "N mm", "modulus times first moment of area about the glue line")
_EI0 = Quantity("axial_second", "EI_0", "N mm^2", "modulus times second moment of area about the glue line")
_Y = Quantity("centroid", r"\bar y", "mm", "height of the neutral axis over the glue line", -20, 10)
_EI = Quantity("rigidity", "EI", "N mm^2", "bending stiffness", 1e6, 1e9)


def _crowned(b: Builder) -> Any:
    t, s, eb = b.board, b.sagitta, b.board_modulus * b.breadth
    # t - s u^2 is the thickness at u, from the centreline (0) to the edge (1): means of its powers.
    return (eb * (t - s / 3), eb * (t**2 - 2 * t * s / 3 + s**2 / 5) / 2,
            eb * (t**3 - t**2 * s + 3 * t * s**2 / 5 - s**3 / 7) / 3)


crowned_board = Relation("crowned_board", "A board with a crowned top as a part of a section", (_B, _BOARD, _SAG, _EB),
                         (_EA, _ES, _EI0), _crowned, "tongue_beam", source="derived here: the arc taken as a parabola")

_D = Quantity("rod_diameter", "d", "mm", "diameter of the rod", 3, 8)
_GLUE = Quantity("glue_line", "c", "mm", "height of the glue line over the rod's middle", -1.2, 1.2)
_UP = Quantity("above_area", "A_u", "mm^2", "area of the part of one rod over the glue line", 0, 5)
_UP1 = Quantity("above_first", "S_u", "mm^3", "first moment of that part about the rod's middle", 0, 2)
_UP2 = Quantity("above_second", "I_u", "mm^4", "second moment of that part about the rod's middle", 0, 5)


def _round_above(b: Builder) -> Any:
    sp, c = b.sympy, b.glue_line
    r = b.step("r", b.rod_diameter / 2, "r")
    half = b.step("half", sp.sqrt(r**2 - c**2), "h", "half the chord that the glue line cuts off")
    return (r**2 * sp.acos(c / r) - c * half, sp.Rational(2, 3) * half**3,
            sp.pi * r**4 / 8 - (c * (2 * c**2 - r**2) * half + r**4 * sp.asin(c / r)) / 4)


round_above = Relation("round_above", "The part of a round rod that lies in the board", (_D, _GLUE), (_UP, _UP1, _UP2),
                       _round_above, "tongue_beam", source=_TEXTBOOK, note="For a glue line outside the rod give it as plus or "
                                                                           "minus the radius.")

_W = Quantity("rod_width", "w", "mm", "breadth of a flat rod", 2, 15)
_H = Quantity("rod_height", "h_r", "mm", "height of a flat rod, in the direction of bending", 2.5, 8)
_ROD_A = Quantity("rod_area", "A_r", "mm^2", "area of one rod", 0.5, 30)
_ROD_I = Quantity("rod_second", "I_r", "mm^4", "second moment of one rod about its middle", 0.05, 50)


def _flat(b: Builder) -> Any:
    return b.rod_width * b.rod_height, b.rod_width * b.rod_height**3 / 12


flat_rod = Relation("flat_rod", "Area and second moment of a flat rod", (_W, _H), (_ROD_A, _ROD_I), _flat, "tongue_beam",
                    source=_TEXTBOOK)


def _flat_above(b: Builder) -> Any:
    w, top, c = b.rod_width, b.rod_height / 2, b.glue_line
    return w * (top - c), w * (top**2 - c**2) / 2, w * (top**3 - c**3) / 3


flat_above = Relation("flat_above", "The part of a flat rod that lies in the board", (_W, _H, _GLUE), (_UP, _UP1, _UP2),
                      _flat_above, "tongue_beam", source=_TEXTBOOK)

_WOOD = Quantity("wood", "t_w", "mm", "neck wood under the board", 0.5, 12)
_N = Quantity("rods", "n", "1", "number of rods", 0, 6)
_ER = Quantity("rod_modulus", "E_r", "MPa", "Young's modulus of the rods", 20000, 250000)
_AT = Quantity("rod_middle", "y_r", "mm", "height of the rods' middle over the glue line", -6, 4)


def _rodded(b: Builder) -> Any:
    axial, first, second = b.use(crowned_board)
    eb, en, er = b.board_modulus, b.neck_modulus, b.rod_modulus
    up, up1, up2, y = b.above_area, b.above_first, b.above_second, b.rod_middle
    down, down2 = b.rod_area - up, b.rod_second - up2
    ea = b.step("rods_axial", b.rods * (er * b.rod_area - eb * up - en * down), "EA_r",
                "what the rods bring, less the wood that they replace")
    slip = b.step("off", b.rods * (en - eb) * up1, "ES_r", "the replaced wood is of two kinds: its middle is not the rod's")
    own = b.step("own", b.rods * (er * b.rod_second - eb * up2 - en * down2), "EI_r", "about the rods' own middle")
    wood = b.step("wood_axial", en * b.breadth * b.wood, "EA_w", "neck wood")
    total = b.step("EA", axial + wood + ea, "EA")
    about = b.step("ES", first - wood * b.wood / 2 + ea * y + slip, "ES", "about the glue line")
    middle = b.step("ybar", about / total, r"\bar y", "the neutral axis")
    return total, middle, second + wood * b.wood**2 / 3 + own + 2 * slip * y + ea * y**2 - total * middle**2


rodded_section = Relation(
    "rodded_section", "Section of a tongue: crowned board, neck wood, rods across the glue line or beside it",
    (_B, _BOARD, _SAG, _EB, _WOOD, _EN, _N, _ER, _AT, _ROD_A, _ROD_I, _UP, _UP1, _UP2), (_EA, _Y, _EI), _rodded, "tongue_beam",
    source="transformed section, parallel-axis theorem; derived here; checked against sectionproperties",
    note="The dome's hollow across the tongue is left out: it leaves some 0.05 mm more wood at the edges.")

_SLOT = Quantity("slot_depth", "a", "mm", "depth of a fret slot", 0.5, 3)
_DEPTH = Quantity("depth", "h", "mm", "depth of the beam, not slotted", 7, 25)
_CUT = Quantity("slot_width", "w_s", "mm", "width of a fret slot", 0.3, 1)
_E = Quantity("modulus", "E", "MPa", "Young's modulus along the grain", 6000, 20000)
_EX = Quantity("across_modulus", "E_x", "MPa", "Young's modulus across the grain, along the slot's depth", 400, 3000)
_G = Quantity("shear_modulus", "G", "MPa", "shear modulus in the plane of bending", 300, 1800)
_NU = Quantity("poisson", r"\nu", "1", "Poisson ratio, stretched along, narrowed across", 0.2, 0.5)
_DEAD = Quantity("dead_zone", r"\ell_s", "mm", "length of beam that counts as if cut to the slot's depth", 0.5, 30)


def _dead(b: Builder) -> Any:
    sp, e = b.sympy, b.modulus
    release = b.step("release", sp.sqrt((e / b.across_modulus) / 2)
                     * sp.sqrt(sp.sqrt(b.across_modulus / e) + (b.across_modulus / b.shear_modulus
                                                                - 2 * b.poisson * b.across_modulus / e) / 2), "H",
                     "energy released over that of a solid alike in all directions; there it is 1")
    r = b.step("part", b.slot_depth / b.depth, r"\beta", "how far through the beam the cut goes")
    z = sp.Symbol("z", real=True)
    hundredths = (sp.Rational(1122, 10), -140, 733, -1308, 1400)
    shape = sum(c * z**n for n, c in enumerate(hundredths)) / 100
    # A crack under stress 6 M/(b h^2) has K = shape stress sqrt(pi a); the energy K^2 H/E, summed over its depth, gives the kink
    # 72 pi M H/(E b h^2) times the sum below; a length l cut to the depth gives 12 l M/(E b h^3) (1/(1 - r)^3 - 1).
    whole = sp.horner(sp.integrate(sp.expand(shape**2 * z), (z, 0, r)))
    summed = b.step("summed", whole, "S", "the crack's shape factor, summed")
    return b.slot_width + 6 * sp.pi * b.depth * release * summed / (1 / (1 - r) ** 3 - 1)


slot_dead_zone = Relation(
    "slot_dead_zone", "How far a saw cut across a beam deadens the wood beside it, both sides together",
    (_SLOT, _CUT, _DEPTH, _E, _EX, _G, _NU), (_DEAD,), _dead, "tongue_beam",
    source="kink of a cracked beam by its released energy; shape factor of a crack in a bent strip, and release in wood: from "
           "memory; derived here; checked against a plane finite-element model",
    note="The slot is open: a fret's tang that fills it carries pressure. For cuts up to a third of the depth.")

_SPACING = Quantity("spacing", "p", "mm", "distance from one slot to the next", 6, 40)
_PART = Quantity("cut_part", "f", "1", "part of the length that counts as cut", 0, 1)


def _covered(b: Builder) -> Any:
    return b.sympy.tanh(b.dead_zone / b.spacing)


cut_part = Relation("cut_part", "Part of a slotted beam that counts as cut", (_DEAD, _SPACING), (_PART,), _covered, "tongue_beam",
                    source="form chosen here: slots close together shelter each other; stiffness within 3 % of a plane "
                           "finite-element model for slots 11 mm apart or more")

_WHOLE = Quantity("whole", "B", "N mm^2", "bending stiffness of the section without a slot", 3e7, 9e7)
_BCUT = Quantity("cut", "B_s", "N mm^2", "bending stiffness with the board cut to the slot's depth", 1e7, 3e7)


def _slotted(b: Builder) -> Any:
    return 1 / ((1 - b.cut_part) / b.whole + b.cut_part / b.cut)


slotted_rigidity = Relation("slotted_rigidity", "Bending stiffness of a beam that is cut over a part of its length",
                            (_WHOLE, _BCUT, _PART), (_EI,), _slotted, "tongue_beam", source="bending adds up; derived here")

_KAPPA = Quantity("shear_factor", r"\kappa", "1", "shear factor: 5/6 for a rectangle", 0.5, 1)
_ADDED = Quantity("added", r"\delta_s / \delta_b", "1", "what shear adds, as a part of the bending", 0.01, 1)
_DEPTHS = Quantity("depths", "L/h", "1", "span in depths of the beam", 1, 60)


def _span(b: Builder) -> Any:
    return b.sympy.sqrt(b.modulus / (4 * b.shear_factor * b.shear_modulus * b.added))


span_for_shear = Relation("span_for_shear", "Span, in depths, below which shear adds more than a given part",
                          (_E, _G, _KAPPA, _ADDED), (_DEPTHS,), _span, "tongue_beam",
                          source="cantilever_shear for a rectangle, solved for the span; derived here")

_LONG = Quantity("long_side", "a", "mm", "longer side of the rectangle", 20, 70)
_SHORT = Quantity("short_side", "b", "mm", "shorter side of the rectangle", 4, 20)
_J = Quantity("torsion", "J", "mm^4", "torsion constant", 100, 1e6)


def _twist(b: Builder) -> Any:
    sp = b.sympy
    r = b.step("ratio", b.short_side / b.long_side, "r")
    series = sum(sp.tanh(n * sp.pi / (2 * r)) / n**5 for n in (1, 3, 5))
    return b.long_side * b.short_side**3 * (sp.Rational(1, 3) - 64 / sp.pi**5 * r * series)


rectangle_torsion = Relation("rectangle_torsion", "Torsion constant of a rectangle", (_LONG, _SHORT), (_J,), _twist,
                             "tongue_beam", source="Saint-Venant's series, three terms, from memory; checked against "
                                                   "sectionproperties")

_WITH = Quantity("stiffness_with", "k_1", "N/mm", "stiffness with what was added", 10, 5000)
_WITHOUT = Quantity("stiffness_without", "k_0", "N/mm", "stiffness without it", 10, 5000)
_GAIN = Quantity("gain", "g", "1", "what the addition brings, as a part of the stiffness without it", -1, 10)


def _gain(b: Builder) -> Any:
    return b.stiffness_with / b.stiffness_without - 1


stiffness_gain = Relation("stiffness_gain", "What an addition brings to a stiffness", (_WITH, _WITHOUT), (_GAIN,), _gain,
                          "tongue_beam", source="definition",
                          note="rod_share gives the same against the stiffness with the rods.")

_K = Quantity("stiffness", "k", "N/mm", "work of the inertia loads over the square of the tip's deflection", 1, 2000)
_LINE = Quantity("line_mass", "m_e", "kg/m", "mean of line mass times the square of deflection over the tip's", 0.01, 1)
_L = Quantity("span", "L", "mm", "free length", 40, 200)
_HZ = Quantity("frequency", "f_1", "Hz", "first natural frequency", 1, 5000)


def _rayleigh(b: Builder) -> Any:
    # kg/m times mm is a gram, N/mm over a gram is 1e6/s^2.
    return 1000 * b.sympy.sqrt(b.stiffness / (b.line_mass * b.span)) / (2 * b.sympy.pi)


rayleigh_frequency = Relation("rayleigh_frequency", "First natural frequency from a shape of bending", (_K, _LINE, _L), (_HZ,),
                              _rayleigh, "tongue_beam", source="Rayleigh's quotient, textbook form, from memory",
                              note="Never too low for the beam as modelled; what gives at the clamped end lowers the true one.")

_F = Quantity("frequency", "f", "Hz", "frequency of a note", 60, 4000)
_NOTE = Quantity("note_number", "n", "1", "semitones, counted so that 69 is the A of 440 Hz", 30, 110)


def _note(b: Builder) -> Any:
    return 69 + 12 * b.sympy.log(b.frequency / 440) / b.sympy.log(2)


note_number = Relation("note_number", "A frequency as a note, in semitones", (_F,), (_NOTE,), _note, "tongue_beam",
                       source="equal temperament; A of 440 Hz")

_HALF = Quantity("half_breadth", "a", "mm", "half the neck's breadth", 18, 35)
_DEEP = Quantity("depth", "h", "mm", "depth of the neck wood under the board", 10, 25)
_AREA = Quantity("area", "A", "mm^2", "area", 100, 3000)
_DOWN = Quantity("centroid_depth", r"y_c", "mm", "centroid under the flat face", 1, 20)
_I = Quantity("second_moment", "I", "mm^4", "second moment of area about the centroid", 1e3, 1e6)


def _ellipse(b: Builder) -> Any:
    pi, a, h = b.sympy.pi, b.half_breadth, b.depth
    return pi * a * h / 2, 4 * h / (3 * pi), (pi / 8 - 8 / (9 * pi)) * a * h**3


half_ellipse = Relation("half_ellipse", "Section of a rounded neck: half an ellipse under a flat face", (_HALF, _DEEP),
                        (_AREA, _DOWN, _I), _ellipse, "tongue_beam", source=_TEXTBOOK)

_SW = Quantity("truss_width", "w_t", "mm", "width of the truss rod's slot", 0, 8)
_SD = Quantity("truss_depth", "d_t", "mm", "depth of the truss rod's slot under the board", 0, 9.5)


def _neck(b: Builder) -> Any:
    area, down, own = b.use(half_ellipse, half_breadth=b.breadth / 2)
    axial, first, second = b.use(crowned_board)
    en, empty = b.neck_modulus, b.truss_width * b.truss_depth
    total = b.step("EA", axial + en * (area - empty), "EA")
    middle = b.step("ybar", (first - en * (area * down - empty * b.truss_depth / 2)) / total, r"\bar y", "the neutral axis")
    about = second + en * (own + area * down**2 - empty * b.truss_depth**2 / 3)
    return total, middle, about - total * middle**2


neck_section = Relation("neck_section", "Section of a neck: rounded wood under a crowned board, the truss rod's slot empty",
                        (_B, _BOARD, _SAG, _EB, _DEEP, _EN, _SW, _SD), (_EA, _Y, _EI), _neck, "tongue_beam",
                        source="transformed section; derived here; checked against sectionproperties")

_PULL = Quantity("pull", "T", "N", "pull of the strings", 200, 1200)
_OFF = Quantity("offset", "e", "mm", "height of the strings over the neutral axis", 5, 25)
_SPAN = Quantity("span", "L", "mm", "length of the neck from fret 1 to the joint fret", 250, 420)
_NECK = Quantity("rigidity", "EI", "N mm^2", "bending stiffness of the neck", 5e7, 5e8)
_BOW = Quantity("relief", "r", "mm", "relief at the middle", 0, 5)


def _bow(b: Builder) -> Any:
    k = b.step("k", b.sympy.sqrt(b.pull / b.rigidity), "k")
    return b.offset * (1 / b.sympy.cos(k * b.span / 2) - 1)


eccentric_bow = Relation("eccentric_bow", "Relief of a uniform neck under a pull beside its axis", (_PULL, _OFF, _SPAN, _NECK),
                         (_BOW,), _bow, "tongue_beam", source="secant formula, textbook form, from memory",
                         note="Nearly pull times offset times span squared over 8 EI; the bow itself adds to the lever arm.")
