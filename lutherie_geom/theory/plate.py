"""Plates: bending stiffness of wood in two directions, of layers glued on each other, and the lowest notes of a rectangle.

x runs along the grain of the top, y across it; every layer's grain lies along x or y. Thin plates after Kirchhoff: normals stay
straight and normal, no shear through the thickness.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_E1 = Quantity("modulus_x", "E_x", "MPa", "Young's modulus along x", 3000, 20000)
_E2 = Quantity("modulus_y", "E_y", "MPa", "Young's modulus along y", 300, 2500)
_NU = Quantity("poisson_xy", r"\nu_{xy}", "1", "Poisson's ratio: narrowing along y for a pull along x", 0.1, 0.6)
_G = Quantity("shear_modulus", "G_{xy}", "MPa", "shear modulus in the plane of the plate", 200, 2000)


def _fours(name: str, letter: str, unit: str, what: str, ranges: tuple[tuple[float, float], ...]) -> tuple[Quantity, ...]:
    said = ("along x", "coupling x and y", "along y", "twisting")
    return tuple(Quantity(f"{name}{i}", f"{letter}_{{{i}}}", unit, f"{what}, {s}", low, high)
                 for i, s, (low, high) in zip((11, 12, 22, 66), said, ranges, strict=True))


_Q = _fours("q", "Q", "MPa", "stiffness of the sheet in its plane", ((3000, 20000), (100, 900), (300, 2500), (200, 2000)))


def _ply(b: Builder) -> Any:
    other = b.step("poisson_yx", b.poisson_xy * b.modulus_y / b.modulus_x, r"\nu_{yx}",
                   "the ratio that energy asks for: one compliance serves both directions")
    rest = b.step("rest", 1 - b.poisson_xy * other, "r")
    return b.modulus_x / rest, b.poisson_xy * b.modulus_y / rest, b.modulus_y / rest, b.shear_modulus


sheet_stiffness = Relation(
    "sheet_stiffness", "Plane-stress stiffness of a sheet of wood with its grain along x or y", (_E1, _E2, _NU, _G), _Q, _ply,
    "plate", source="orthotropic elasticity, textbook form, from memory; checked by inverting the compliance matrix",
    note="Only the ratio for a pull along x is taken; the other follows from it. Measured pairs of ratios are not reciprocal.")

_THICK = Quantity("thickness", "t", "mm", "thickness of the layer", 0.5, 12)
_MIDDLE = Quantity("middle", r"\bar z", "mm", "middle of the layer over the plane of reference", -10, 10)
_ONE_Q = Quantity("stiffness", "Q", "MPa", "one stiffness of the sheet in its plane", 100, 20000)
_SHARES = (Quantity("stretching", "A", "N/mm", "its share of the stiffness against stretching"),
           Quantity("coupling", "B", "N", "its share of the coupling between stretching and bending"),
           Quantity("bending", "D", "N mm", "its share of the stiffness against bending"))


def _shares(b: Builder) -> Any:
    sp = b.sympy
    z = sp.Symbol("height", real=True)
    faces = (z, b.middle - b.thickness / 2, b.middle + b.thickness / 2)
    return tuple(sp.expand(sp.integrate(b.stiffness * z**k, faces)) for k in (0, 1, 2))


layer_shares = Relation("layer_shares", "What one layer brings to a plate, in one stiffness", (_ONE_Q, _THICK, _MIDDLE), _SHARES,
                        _shares, "plate", source="integral of stress over the thickness; derived here",
                        note="Sum over the layers. A single sheet about its own middle: D = Q t^3/12.")

_A = _fours("a", "A", "N/mm", "stiffness against stretching", ((2e4, 2e5), (300, 2000), (3000, 20000), (2000, 20000)))
_B = _fours("b", "B", "N", "coupling of stretching and bending", ((0, 2e4), (0, 200), (0, 2000), (0, 2000)))
_D = _fours("d", "D", "N mm", "stiffness against bending", ((2e5, 2e6), (3000, 30000), (3e4, 2e5), (2e4, 2e5)))
_FREE = tuple(Quantity(f"free_{q.name}", rf"D^*_{{{q.name[1:]}}}", q.unit, f"{q.meaning}, free to stretch") for q in _D)


def _free(b: Builder) -> Any:
    sp = b.sympy
    a, c, d = (sp.Matrix([[getattr(b, f"{n}11"), getattr(b, f"{n}12")], [getattr(b, f"{n}12"), getattr(b, f"{n}22")]])
               for n in "abd")
    det = b.step("det", a.det(), r"\Delta", "determinant of the stretching stiffness")
    left = d - c * a.adjugate() * c / det
    return left[0, 0], left[0, 1], left[1, 1], b.d66 - b.b66**2 / b.a66


free_rigidity = Relation(
    "free_rigidity", "Bending stiffness of glued layers when the plate may stretch as it likes", (*_A, *_B, *_D), _FREE, _free,
    "plate", source="stretching stresses set to zero: D - B A^-1 B; derived here",
    note="The lower of two bounds: a patch in a wider plate is partly held at the plate's own middle (then it is D itself).")

_LX = Quantity("length", "a", "mm", "length of the plate, along x", 50, 400)
_LY = Quantity("width", "b", "mm", "width of the plate, along y", 100, 500)
_M = Quantity("waves_x", "m", "1", "half waves along x", 1, 4)
_N = Quantity("waves_y", "n", "1", "half waves along y", 1, 4)
_RHO = Quantity("density", r"\rho", "kg/m^3", "density of the plate", 250, 900)
_T = Quantity("thickness", "t", "mm", "thickness of the plate", 1, 6)
_HZ = Quantity("frequency", "f_{mn}", "Hz", "natural frequency", 1, 5000)
_TOP = _fours("d", "D", "N mm", "bending stiffness of the plate", ((5e3, 5e4), (200, 1500), (500, 4000), (500, 3000)))


def _sine(b: Builder, m: Any, n: Any) -> tuple[Any, Any, Any]:
    sp = b.sympy
    x, y = sp.symbols("x y", real=True)
    return sp.sin(m * sp.pi * x / b.length) * sp.sin(n * sp.pi * y / b.width), x, y


def _energies(b: Builder, w: Any, x: Any, y: Any, d: tuple[Any, ...]) -> Any:
    """Twice the strain energy density of a deflection, and the square that the mass multiplies."""
    xx, yy, xy = w.diff(x, 2), w.diff(y, 2), w.diff(x, y)
    return d[0] * xx**2 + 2 * d[1] * xx * yy + d[2] * yy**2 + 4 * d[3] * xy**2


def _closed(b: Builder) -> Any:
    sp = b.sympy
    m, n = sp.symbols("m n", integer=True, positive=True)
    w, x, y = _sine(b, m, n)
    box = ((x, 0, b.length), (y, 0, b.width))
    back = {m: b.waves_x, n: b.waves_y}
    strain = sp.integrate(sp.expand(_energies(b, w, x, y, (b.d11, b.d12, b.d22, b.d66))), *box)
    strain = b.step("strain", sp.simplify(strain).subs(back), "2U", "twice the strain energy of w = sin(m pi x/a) sin(n pi y/b)")
    squares = b.step("squares", sp.integrate(w**2, *box).subs(back), "S", "integral of w^2")
    # rho in kg/m^3 is 1e-12 t/mm^3, and N = t mm/s^2.
    return sp.sqrt(strain / (b.density * b.thickness * squares)) * 10**6 / (2 * sp.pi)


plate_frequency = Relation(
    "plate_frequency", "Natural frequencies of a rectangle of wood with simply supported edges",
    (*_TOP, _RHO, _T, _LX, _LY, _M, _N), (_HZ,), _closed, "plate",
    source="the sine wave meets equation and edges, so that energy alone gives the frequency exactly; derived here",
    note="(pi/2) sqrt((D11 (m/a)^4 + 2 (D12 + 2 D66) (m n/(a b))^2 + D22 (n/b)^4)/(rho t)): no air, no string load, no arch.")

_ADDED = tuple(Quantity(f"added_{q.name}", rf"\Delta {q.latex}", q.unit, f"what the patch adds to the {q.meaning}", 0,
                        q.high / 10) for q in _TOP)
_MASS = Quantity("mass_ratio", r"\mu", "1", "mass of the patch over that of the top below it", 0, 0.2)
_PX = Quantity("patch_length", "p", "mm", "length of the patch, from the edge x = 0", 5, 50)
_PY = Quantity("patch_width", "c", "mm", "width of the patch, on the middle line", 5, 90)
_U = Quantity("strain_share", "u", "1", "what the patch adds to the strain energy")
_S = Quantity("mass_share", "v", "1", "what the patch adds to the moving mass")
_RATIO = Quantity("ratio", "f_1/f_0", "1", "frequency with the patch over frequency without")


def _thin_patch(b: Builder) -> Any:
    sp = b.sympy
    w, x, y = _sine(b, sp.Integer(1), sp.Integer(1))
    whole = ((x, 0, b.length), (y, 0, b.width))
    here = ((x, 0, b.patch_length), (y, (b.width - b.patch_width) / 2, (b.width + b.patch_width) / 2))
    top = (b.d11, b.d12, b.d22, b.d66)
    added = (b.added_d11, b.added_d12, b.added_d22, b.added_d66)

    def integral(e: Any, box: Any) -> Any:
        return sp.simplify(sp.integrate(sp.expand(e), *box))

    strain = integral(_energies(b, w, x, y, added), here) / integral(_energies(b, w, x, y, top), whole)
    u = b.step("u", strain, "u", "strain energy of the patch over that of the plate")
    v = b.step("v", b.mass_ratio * integral(w**2, here) / integral(w**2, whole), "v", "the same for the mass that moves")
    return u, v, sp.sqrt((1 + u) / (1 + v))


thin_patch_shift = Relation(
    "thin_patch_shift", "What a thin patch at the edge does to the lowest frequency (one wave, Rayleigh)",
    (*_TOP, *_ADDED, _MASS, _LX, _LY, _PX, _PY), (_U, _S, _RATIO), _thin_patch, "plate",
    source="Rayleigh's quotient with the bare plate's own wave; derived here",
    note="Exact slope for a thin patch, too high for a thick one: the wave then goes round it (see mechanics.freed_top).")

_BEFORE = Quantity("before", "f_0", "Hz", "frequency before", 50, 5000)
_AFTER = Quantity("after", "f_1", "Hz", "frequency after", 50, 5000)
_PERCENT = Quantity("percent", "p", "%", "change of frequency")
_CENTS = Quantity("cents", "c", "cent", "change of pitch")


def _change(b: Builder) -> Any:
    ratio = b.step("ratio", b.after / b.before, "r")
    return 100 * (ratio - 1), 1200 * b.sympy.log(ratio) / b.sympy.log(2)


frequency_change = Relation("frequency_change", "Change of a frequency, in percent and in cents", (_BEFORE, _AFTER),
                            (_PERCENT, _CENTS), _change, "plate", source="definition: 1200 cents to the octave")
