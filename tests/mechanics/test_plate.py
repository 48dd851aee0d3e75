"""Plates: closed forms, a finite-difference plate built here, limits and laws that must hold."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.sparse as sparse
from scipy.optimize import minimize
from scipy.sparse.linalg import eigsh
from threadpoolctl import threadpool_info, threadpool_limits

from lutherie_geom.mechanics import plate as plates
from lutherie_geom.mechanics.plate import Layer, Patch, Plate, Strip, natural_frequencies, plate_of
from lutherie_geom.theory.plate import frequency_change, plate_frequency, sheet_stiffness, thin_patch_shift

SPRUCE = {"d11": 18000.0, "d12": 530.0, "d22": 1430.0, "d66": 1160.0}
TOP = Plate(**SPRUCE, mass=1.0)
MORE = Plate(d11=60000.0, d12=1500.0, d22=9000.0, d66=7000.0, mass=4.0)
TONGUE = Plate(d11=1.59e6, d12=5.6e4, d22=1.45e5, d66=1.18e5, mass=6.5)


def scaled(plate: Plate, k: float) -> Plate:
    return Plate(**{n: k * getattr(plate, n) for n in ("d11", "d12", "d22", "d66", "mass")})


def difference_plate(nx: int, ny: int, size: tuple[float, float], stiff, clamped: bool) -> float:
    """Lowest frequency [Hz] of a plate whose stiffness varies, from its energy on a grid: central differences, no polynomials.

    ``stiff(x, y)`` gives d11, d12, d22, d66 [N mm] and mass [kg/m^2] at points (arrays).
    """
    a, b = size
    hx, hy = a / nx, b / ny

    def second(n: int, h: float) -> tuple[sparse.csr_array, np.ndarray]:
        """Second derivative at all nodes 0..n of values at the inner nodes; an edge node counts half, and only when clamped."""
        full = sparse.diags_array([1.0, -2.0, 1.0], offsets=[-1, 0, 1], shape=(n + 1, n + 1)).tolil()
        full[0, 1] = full[n, n - 1] = 2.0 if clamped else 0.0
        weight = np.ones(n + 1)
        weight[[0, -1]] = 0.5
        return sparse.csr_array(full.tocsr()[:, 1:-1] / h**2), weight

    def first(n: int, h: float) -> sparse.csr_array:
        return sparse.csr_array(sparse.diags_array([-1.0, 1.0], offsets=[0, 1], shape=(n, n + 1)).tocsr()[:, 1:-1] / h)

    def values(n: int) -> sparse.csr_array:
        return sparse.csr_array(sparse.eye_array(n + 1).tocsr()[:, 1:-1])

    (sx, wx), (sy, wy) = second(nx, hx), second(ny, hy)
    xx, yy = sparse.kron(sx, values(ny)).tocsr(), sparse.kron(values(nx), sy).tocsr()
    xy = sparse.kron(first(nx, hx), first(ny, hy)).tocsr()
    nodes = np.meshgrid(np.linspace(0, a, nx + 1), np.linspace(0, b, ny + 1), indexing="ij")
    cells = np.meshgrid((np.arange(nx) + 0.5) * hx, (np.arange(ny) + 0.5) * hy, indexing="ij")
    # A node on the edge of a patch takes the mean of the four quarters round it.
    quarter = [stiff(nodes[0] + i * hx / 4, nodes[1] + j * hy / 4) for i in (-1, 1) for j in (-1, 1)]
    d11, d12, d22, _, mass = (np.mean([q[k] for q in quarter], axis=0) for k in range(5))
    d66 = stiff(*cells)[3]
    area = np.outer(wx, wy) * hx * hy

    def weigh(left, d, right):
        return left.T @ sparse.diags_array((d * area).ravel()) @ right

    k = weigh(xx, d11, xx) + weigh(yy, d22, yy) + weigh(xx, d12, yy) + weigh(yy, d12, xx)
    k = k + xy.T @ sparse.diags_array((4 * d66 * hx * hy).ravel()) @ xy
    m = sparse.diags_array((mass[1:-1, 1:-1] * hx * hy * 1e-9).ravel())
    found = eigsh(k.tocsc(), 1, m.tocsc(), sigma=0.0)[0][0]
    return float(np.sqrt(found) / (2 * np.pi))


def test_symmetric_compliance_inverted():
    e1, e2, nu, g = 9900.0, 772.0, 0.372, 634.0
    compliance = np.array([[1 / e1, -nu / e1, 0], [-nu / e1, 1 / e2, 0], [0, 0, 1 / g]])
    q = np.linalg.inv(compliance)
    found = sheet_stiffness(modulus_x=e1, modulus_y=e2, poisson_xy=nu, shear_modulus=g)
    np.testing.assert_allclose(found, [q[0, 0], q[0, 1], q[1, 1], q[2, 2]], rtol=1e-12)


def layers() -> tuple[Layer, ...]:
    def one(t, ex, ey, nu, g, rho):
        return Layer(thickness=t, modulus_x=ex, modulus_y=ey, poisson_xy=nu, shear_modulus=g, density=rho)
    return (one(2.8, 9900.0, 770.0, 0.37, 630.0, 370.0), one(3.0, 10300.0, 1100.0, 0.4, 900.0, 480.0),
            one(6.0, 12300.0, 1000.0, 0.4, 1100.0, 800.0))


def test_glued_layers_are_the_least_energy_over_all_stretching():
    """The free plate: energy of given curvatures, minimised over the membrane strains, by quadrature through the thickness."""
    stack = layers()
    plate = plate_of(*stack)
    z, w = np.polynomial.legendre.leggauss(3)

    def energy(strain, bend):
        total, bottom = 0.0, 0.0
        for s in stack:
            compliance = np.array([[1 / s.modulus_x, -s.poisson_xy / s.modulus_x, 0],
                                   [-s.poisson_xy / s.modulus_x, 1 / s.modulus_y, 0], [0, 0, 1 / s.shear_modulus]])
            q = np.linalg.inv(compliance)
            for zi, wi in zip(z, w, strict=True):
                e = np.asarray(strain) + (bottom + s.thickness * (1 + zi) / 2) * np.asarray(bend)
                total += wi * s.thickness / 2 * e @ q @ e
            bottom += s.thickness
        return total

    for bend, expected in (((1, 0, 0), plate.d11), ((0, 1, 0), plate.d22), ((0, 0, 1), plate.d66),
                           ((1, 1, 0), plate.d11 + 2 * plate.d12 + plate.d22)):
        least = minimize(lambda e, bend=bend: energy(e, bend), -5.0 * np.asarray(bend), method="BFGS", options={"gtol": 1e-3}).fun
        assert least == pytest.approx(expected, rel=1e-6)
    held = plate_of(*stack, held=1.0)
    assert held.d11 == pytest.approx(energy([-1.4, 0, 0], [1, 0, 0]), rel=1e-12)  # strain zero at the middle of the first layer
    assert plate.mass == pytest.approx((2.8 * 370 + 3 * 480 + 6 * 800) / 1000)
    same = plate_of(stack[0], Layer(**{**vars(stack[0]), "thickness": 1.2}))
    single = plate_of(Layer(**{**vars(stack[0]), "thickness": 4.0}))
    for name in ("d11", "d12", "d22", "d66", "mass"):  # one board sawn and glued again is the board
        assert getattr(same, name) == pytest.approx(getattr(single, name), rel=1e-10)


def test_simply_supported_orthotropic_is_exact():
    found = natural_frequencies(TOP, length=90.0, width=280.0, edges="supported", degree=10, count=2)
    exact = plate_frequency(**SPRUCE, density=400.0, thickness=2.5, length=90.0, width=280.0, waves_x=1, waves_y=np.arange(1, 5))
    np.testing.assert_allclose(found.symmetric, exact[[0, 2]], rtol=1e-6)
    np.testing.assert_allclose(found.antisymmetric, exact[[1, 3]], rtol=1e-6)
    a, b = 0.09, 0.28
    book = np.pi / 2 * np.sqrt((18 / a**4 + 2 * (0.53 + 2 * 1.16) / (a * b) ** 2 + 1.43 / b**4) / 1.0)  # N m and kg/m^2
    assert exact[0] == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize(("edges", "value", "room", "source"), [
    ("supported", 2 * np.pi**2, 1e-5, "closed form"),
    ("clamped", 35.99, 0.01, "Leissa, Vibration of plates, clamped square plate: from memory"),
])
def test_isotropic_square(edges, value, room, source):
    iso = Plate(d11=1e4, d12=3e3, d22=1e4, d66=3.5e3, mass=2.0)
    f = natural_frequencies(iso, length=120.0, width=120.0, edges=edges, degree=10).lowest
    assert f * 2 * np.pi * 0.12**2 * np.sqrt(2.0 / 10.0) == pytest.approx(value, abs=room * max(1, value / 36)), source


def test_more_terms_only_bring_it_down_and_joints_change_nothing():
    patch = Patch(end=60.0, width=57.0, added=MORE)
    falls = [natural_frequencies(TOP, length=90.0, width=280.0, edges="clamped", patches=(patch,), degree=d).lowest
             for d in range(4, 11)]
    assert np.all(np.diff(falls) < 1e-7)
    assert falls[1] / falls[-1] - 1 < 0.005
    plain = [natural_frequencies(TOP, length=90.0, width=280.0, edges="clamped", patches=p, degree=10).lowest
             for p in ((), (Patch(end=60.0, width=57.0),), (Patch(end=60.0, width=57.0, added=scaled(MORE, 0.0)),))]
    np.testing.assert_allclose(plain, plain[0], rtol=2e-6)


@pytest.mark.parametrize("more", [MORE, TONGUE], ids=["thin", "like a tongue"])
@pytest.mark.parametrize("edges", ["supported", "clamped"])
def test_patch_against_finite_differences(edges, more):
    """Another way: energy on a grid, two grids, what they lack taken out."""
    a, b, end, wide = 90.0, 280.0, 60.0, 56.0

    def stiff(x, y):
        on = (x < end) & (np.abs(y - b / 2) < wide / 2)
        return tuple(getattr(TOP, n) + on * getattr(more, n) for n in ("d11", "d12", "d22", "d66", "mass"))

    coarse, fine = (difference_plate(3 * k, 10 * k, (a, b), stiff, edges == "clamped") for k in (10, 20))
    found = natural_frequencies(TOP, length=a, width=b, edges=edges, patches=(Patch(end=end, width=wide, added=more),), degree=9)
    bare = natural_frequencies(TOP, length=a, width=b, edges=edges, degree=9)
    assert abs(found.lowest / bare.lowest - 1) > 0.02
    assert 2 * fine - coarse == pytest.approx(found.lowest, rel=0.006), (coarse, fine)
    assert fine == pytest.approx(found.lowest, rel=0.02)


def test_thin_patch_has_the_slope_of_rayleigh():
    e = 1e-4
    thin = scaled(MORE, e)
    f = [natural_frequencies(TOP, length=90.0, width=280.0, edges="supported", degree=10,
                             patches=(Patch(end=40.0, width=57.0, added=p),)).symmetric[0] for p in (scaled(MORE, 0.0), thin)]
    rule = thin_patch_shift(**SPRUCE, **{f"added_{n}": getattr(thin, n) for n in SPRUCE}, mass_ratio=thin.mass / TOP.mass,
                            length=90.0, width=280.0, patch_length=40.0, patch_width=57.0)
    assert f[1] / f[0] - 1 == pytest.approx(rule.ratio - 1, rel=2e-3)
    thick = thin_patch_shift(**SPRUCE, **{f"added_{n}": getattr(MORE, n) for n in SPRUCE}, mass_ratio=MORE.mass, length=90.0,
                             width=280.0, patch_length=40.0, patch_width=57.0)
    full = natural_frequencies(TOP, length=90.0, width=280.0, edges="supported",
                               patches=(Patch(end=40.0, width=57.0, added=MORE),))
    assert full.symmetric[0] / f[0] < thick.ratio


def test_mass_lowers_stiffness_raises_and_a_full_patch_is_a_thicker_plate():
    rng = np.random.default_rng(4)
    n = 12
    end, wide = rng.uniform(10, 100, n), rng.uniform(20, 300, n)  # some reach past the area: other joints, same call
    none = {k: 0.0 for k in SPRUCE}

    def f(added):
        return natural_frequencies(TOP, length=90.0, width=280.0, edges="supported",
                                   patches=(Patch(end=end, width=wide, added=added),)).lowest
    bare = f(None)
    assert np.all(f(Plate(**none, mass=3.0)) < bare)
    assert np.all(f(Plate(**{k: getattr(MORE, k) for k in SPRUCE}, mass=0.0)) > bare * (1 + 1e-6))
    whole = natural_frequencies(TOP, length=90.0, width=280.0, edges="clamped",
                                patches=(Patch(end=90.0, width=280.0, added=MORE),))
    sum_of = Plate(**{k: getattr(TOP, k) + getattr(MORE, k) for k in (*SPRUCE, "mass")})
    assert whole.lowest == pytest.approx(natural_frequencies(sum_of, length=90.0, width=280.0, edges="clamped").lowest, rel=1e-12)
    one_by_one = [natural_frequencies(TOP, length=90.0, width=280.0, edges="supported",
                                      patches=(Patch(end=e, width=w, added=MORE),)).lowest
                  for e, w in zip(end, wide, strict=True)]
    np.testing.assert_allclose(f(MORE), one_by_one, rtol=1e-10)


def test_a_brace_on_a_sheet_without_stiffness_is_a_beam():
    weak = Plate(**{k: v * 1e-4 for k, v in SPRUCE.items()}, mass=1e-6)
    ei, line = 1.1e7, 0.035
    f = natural_frequencies(weak, length=90.0, width=280.0, edges="supported", degree=9,
                            strips=(Strip(at=33.0, rigidity=ei, line_mass=line),)).symmetric[0]
    beam = np.pi / 2 / 0.28**2 * np.sqrt(ei * 1e-6 / line)
    assert f == pytest.approx(beam, rel=2e-3)


def test_a_very_stiff_bed_holds_the_top_still():
    """Half the length held: what is left is a shorter plate with one clamped edge, stiffer than with that edge supported."""
    held = natural_frequencies(TOP, length=90.0, width=280.0, edges="supported", degree=9,
                               patches=(Patch(end=40.0, width=280.0, spring=1e7),)).lowest
    lower = natural_frequencies(TOP, length=50.0, width=280.0, edges="supported").lowest
    upper = natural_frequencies(TOP, length=50.0, width=280.0, edges="clamped").lowest
    assert lower < held < upper
    one_clamped = plate_frequency(**SPRUCE, density=400.0, thickness=2.5, length=50.0, width=1e6, waves_x=1, waves_y=1)
    # Long strip, one edge clamped: 15.418 over pi^2 (beam clamped and pinned, from memory).
    assert held == pytest.approx(one_clamped * 15.418 / np.pi**2, rel=0.06)


def test_shapes_nan_and_words():
    length = np.array([[80.0, 90.0, np.nan]])
    d11 = np.array([[18000.0], [20000.0]])
    f = natural_frequencies(Plate(**{**SPRUCE, "d11": d11}, mass=1.0), length=length, width=280.0, edges="supported", count=2)
    assert f.symmetric.shape == (2, 2, 3) and f.lowest.shape == (2, 3)
    assert np.all(np.isnan(f.lowest[:, 2])) and np.all(np.isfinite(f.lowest[:, :2]))
    with pytest.raises(ValueError, match="edges: 'glued' is not known"):
        natural_frequencies(TOP, length=90.0, width=280.0, edges="glued")
    with pytest.raises(ValueError, match="width: -1 mm must be above 0 mm"):
        natural_frequencies(TOP, length=90.0, width=-1.0, edges="clamped")
    with pytest.raises(ValueError, match="degree: 3"):
        natural_frequencies(TOP, length=90.0, width=280.0, edges="clamped", degree=3)
    assert frequency_change(before=440.0, after=880.0) == pytest.approx((100.0, 1200.0))


def test_small_matrices_are_solved_by_one_thread_and_the_caller_has_his_own_back(monkeypatch):
    def threads():
        return {p["num_threads"] for p in threadpool_info() if p["user_api"] == "blas"}

    inside, solve = [], plates._lowest
    monkeypatch.setattr(plates, "_lowest", lambda *a: inside.append(threads()) or solve(*a))
    with threadpool_limits(2, "blas"):
        before = threads()
        natural_frequencies(TOP, length=300.0, width=280.0, edges="supported")
        assert threads() == before
    assert inside and all(t <= {1} for t in inside)
