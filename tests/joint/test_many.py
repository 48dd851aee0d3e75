"""Many designs at once, against the same designs read one way at a time; both back ends against each other."""

import sys

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.joint.body import gap_grid, heel_fit
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, string_places

FRETS = (1, 12, 20)


def sampled(name, n, *, receiver, hollowed, conical, seed=5):
    """A demo design with nearly every dimension drawn anew about its own value, and turns of all three screws."""
    rng = np.random.default_rng(seed)
    d = lg.load(name).dimensions()

    def about(value, spread):
        value = np.asarray(value, dtype=float)
        return value[..., None] + spread * rng.uniform(-1, 1, (*value.shape, n))

    d = d.replaced(
        receiver=receiver, hollowed=float(hollowed), scale=about(d.scale, 0.5), joint_fret_x=about(d.joint_fret_x, 0.3),
        nut_compensation=about(0.0, 0.3), relief=about(0.2, 0.1), fall_away_line=about(0.01, 0.01),
        fall_away_curvature=about(1e-4, 1e-4), radius_nut=about(254.0, 20), radius_last=about(400.0 if conical else 254.0, 20),
        alpha=about(d.alpha, 0.01), z_joint=about(d.z_joint, 0.5), x_apex=about(d.x_apex, 10), curvature=about(1 / 7000, 2e-5),
        **{k: about(getattr(d, k), 0.3) for k in (
            "y_nut", "h_nut", "x_saddle", "y_saddle", "h_saddle", "x_p", "z_p", "spacing", "x_head", "z_head", "x_receiver",
            "z_receiver", "tongue_length", "tongue_width", "gap_joint", "floor_clearance", "foot_z", "half_width_top",
            "half_width_foot", "pocket", "width_nut", "width_last")},
        **{k: about(getattr(d, k), 0.05) for k in ("pitch_pivot", "pitch_tilt")})
    return d, {k: rng.uniform(-0.7, 0.7, n) for k in ("tilt", "bass", "treble")}


CASES = [("slack_water", "dowel across", True, False), ("long_reach", "rod along", True, True),
         ("flat_calm", "rod along", False, False), ("cross_tide", "dowel across", False, True)]


def close(a, b):
    np.testing.assert_allclose(a, b, rtol=0, atol=1e-12)


@pytest.mark.parametrize(("name", "receiver", "hollowed", "conical"), CASES)
def test_equals_the_ordinary_readings(name, receiver, hollowed, conical):
    d, turns = sampled(name, 300, receiver=receiver, hollowed=hollowed, conical=conical)
    found, p = many(d, **turns, frets=FRETS), pose(d, **turns)
    fit = heel_fit(p)
    assert found.action.shape == (6, 3, 300) and np.all(np.isfinite(found.action))
    close(found.action, action(p, FRETS))
    close(found.least_gap, gap_grid(p).min(axis=(0, 1)))
    close(found.reveal, fit.reveal.min(axis=(0, 1)))
    close(found.floor, fit.floor.min(axis=(0, 1)))
    y = string_places(p, d.last_fret)[:, 0]
    close(found.margin, [d.width_last / 2 + y[0], d.width_last / 2 - y[-1]])
    close(found.centring, (y[0] + y[-1]) / 2)


def same(a, b):
    for name in ("action", "least_gap", "reveal", "floor", "margin"):
        assert np.array_equal(getattr(a, name), getattr(b, name), equal_nan=True), name


@pytest.mark.parametrize("backend", ["numpy", "compiled"])
def test_chunks_and_threads_change_nothing(backend):
    if backend == "compiled":
        pytest.importorskip("numba")
    d, turns = sampled("slack_water", 500, receiver="dowel across", hollowed=False, conical=True)
    whole = many(d, **turns, backend=backend, chunk=500)
    same(whole, many(d, **turns, backend=backend, chunk=37))
    same(whole, many(d, **turns, backend=backend, chunk=64, workers=2))


@pytest.mark.parametrize(("name", "receiver", "hollowed", "conical"), CASES)
def test_compiled_equals_numpy(name, receiver, hollowed, conical):
    pytest.importorskip("numba")
    d, turns = sampled(name, 400, receiver=receiver, hollowed=hollowed, conical=conical)
    turns["tilt"][:2], bad = np.nan, slice(2)  # missing
    if receiver == "dowel across":
        turns["tilt"][2:4], bad = (1e3, -1e3), slice(4)  # out of the screw's reach
    a, b = many(d, **turns, frets=FRETS), many(d, **turns, frets=FRETS, backend="compiled")
    assert np.all(np.isnan(a.least_gap[bad])) and np.all(np.isfinite(a.least_gap[bad.stop:]))
    for name in ("action", "least_gap", "reveal", "floor", "margin"):
        np.testing.assert_allclose(getattr(b, name), getattr(a, name), rtol=0, atol=1e-12, equal_nan=True)


@pytest.mark.parametrize("backend", ["numpy", "compiled"])
@pytest.mark.parametrize("name", ["slack_water", "flat_calm", "cross_tide"])
def test_one_design_and_only_turns_varied(name, backend):
    if backend == "compiled":
        pytest.importorskip("numba")
    d = lg.load(name).dimensions()
    one = many(d, tilt=0.25, backend=backend)
    p = pose(d, tilt=0.25)
    assert one.action.shape == (6, 3, 1) and one.frets == (1, 12, d.last_fret)
    close(one.action[..., 0], action(p, one.frets))
    close(one.least_gap[0], gap_grid(p).min())
    row = many(d, tilt=np.array([0.0, 0.25]), frets=(12,), backend=backend)
    close(row.action[:, 0, 1], one.action[:, 1, 0])


def test_hollowed_and_planed_tongues_in_one_batch():
    kinds = np.array([0.0, 1.0] * 50)
    d, turns = sampled("slack_water", 100, receiver="rod along", hollowed=True, conical=False)
    mixed = d.replaced(hollowed=kinds)
    found = many(mixed, **turns)
    for kind in (0, 1):
        alone = many(d.replaced(hollowed=float(kind)), **turns)
        close(found.least_gap[kinds == kind], alone.least_gap[kinds == kind])
    pytest.importorskip("numba")
    close(many(mixed, **turns, backend="compiled").least_gap, found.least_gap)


@pytest.mark.parametrize("backend", ["numpy", "compiled"])
def test_nine_strings_and_memory_used_again(backend):
    """More strings than a machine word of lanes holds."""
    if backend == "compiled":
        pytest.importorskip("numba")
    d = lg.load("slack_water").dimensions()
    names = ("y_nut", "h_nut", "x_saddle", "y_saddle", "h_saddle")
    wide = d.replaced(**{k: np.append(getattr(d, k), getattr(d, k)[-3:]) for k in names}, alpha=d.alpha + np.array([0.0, 1e-3]))
    before = many(wide, frets=(2, 5), backend=backend)
    kept = before.action.copy()
    close(kept, np.stack([action(pose(wide.replaced(alpha=float(x))), (2, 5)) for x in wide.alpha], axis=-1))
    again = many(wide, tilt=0.1, frets=(2, 5), backend=backend, into=before)
    assert again.action is before.action and not np.allclose(again.action, kept)
    with pytest.raises(ValueError, match="overwrite"):
        many(wide, frets=(2,), backend=backend, into=before)


def test_flat_boards_among_the_samples():
    d = lg.load("slack_water").dimensions().replaced(radius_nut=np.array([np.inf, 300.0, np.inf]), radius_last=400.0,
                                                     alpha=np.array([0.01, 0.02, 0.03]))
    p, found = pose(d), many(d, frets=(3, 14))
    close(found.action, action(p, (3, 14)))


def test_what_does_not_fit_is_said():
    d = lg.load("slack_water").dimensions()
    with pytest.raises(ValueError, match="z_joint has 2 samples, another dimension has 3"):
        many(d.replaced(alpha=np.zeros(3), z_joint=np.ones(2)))
    with pytest.raises(ValueError, match="h_nut has 2 strings"):
        many(d.replaced(h_nut=np.zeros(2)))
    with pytest.raises(ValueError, match="x_p has shape"):
        many(d.replaced(x_p=np.zeros((2, 2))))
    with pytest.raises(ValueError, match="use 'numpy' or 'compiled'"):
        many(d, backend="fast")


def test_without_numba_the_way_out_is_said(monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    monkeypatch.delitem(sys.modules, "lutherie_geom.joint.compiled", raising=False)
    import lutherie_geom.joint as home

    monkeypatch.delattr(home, "compiled", raising=False)
    with pytest.raises(ImportError, match="pip install"):
        many(lg.load("slack_water").dimensions(), backend="compiled")
