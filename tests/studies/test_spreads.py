"""Spreads: what a builder writes, moments against quadrature, correlated groups, and errors that say what to do."""

import math

import numpy as np
import pytest
from scipy.stats import qmc

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.studies.spreads import Group, Spread, SpreadError, Spreads, parse_spread, spreads_from_toml


def even(numbers, samples):
    """Even numbers in 0..1, (numbers, samples), none of them 0 or 1."""
    return qmc.Sobol(numbers, scramble=False).random(samples).T + 0.5 / samples


@pytest.fixture(scope="module")
def d():
    return lg.load("slack_water").dimensions()


@pytest.mark.parametrize(("text", "kind", "low", "high", "nominal"), [
    ("18.0 mm ± 0.2", "normal", -0.2, 0.2, 18.0),
    ("18.0 mm ± 0.2 rectangular", "rectangular", -0.2, 0.2, 18.0),
    ("18.0 mm +/- 0.2 mm Triangular", "triangular", -0.2, 0.2, 18.0),
    ("18 mm +0.3 -0.1", "normal", -0.1, 0.3, 18.0),
    ("18 mm −0.1 +0.3", "normal", -0.1, 0.3, 18.0),
    ("18 mm +0.3 / -0", "normal", 0.0, 0.3, 18.0),
    ("18 mm +0.3/-0.1", "normal", -0.1, 0.3, 18.0),
    ("18 mm + 1/64 in - 0", "normal", 0.0, 25.4 / 64, 18.0),
    ("18 mm +0.3 +0.1 rectangular", "rectangular", 0.1, 0.3, 18.0),
    ("-18 mm +0.3 -0.1", "normal", -0.1, 0.3, -18.0),
    ("-18 mm +- 0.2", "normal", -0.2, 0.2, -18.0),
    ("1-1/2 in ± 1/64", "normal", -25.4 / 64, 25.4 / 64, 38.1),
    ("1/2 in ± 0.1 mm", "normal", -0.1, 0.1, 12.7),
    ("± 0.2 mm", "normal", -0.2, 0.2, None),
    ("+0.3 mm -0.1 mm", "normal", -0.1, 0.3, None),
    ("1.5 deg ± 0.1", "normal", -math.radians(0.1), math.radians(0.1), math.radians(1.5)),
    ("18 mm sd 0.1", "normal", -0.2, 0.2, 18.0),
    ("sd 0.1 mm rectangular", "rectangular", -0.1 * 3**0.5, 0.1 * 3**0.5, None),
])
def test_what_a_builder_writes(text, kind, low, high, nominal):
    s = parse_spread(text)
    assert s.kind == kind
    assert s.limits == pytest.approx((low, high))
    assert s.nominal is None if nominal is None else s.nominal == pytest.approx(nominal)


def test_a_written_spread_reads_back():
    for text in ("18 mm ± 0.2", "18 mm +0.3 -0.1 rectangular", "17.9 mm to 18.3 mm", "± 0.2 mm, 3 sd", "± 0.2 mm triangular"):
        s = parse_spread(text)
        back = parse_spread(str(s))
        assert (back.kind, back.limits, back.sds) == (s.kind, s.limits, s.sds)


def test_half_of_a_normal_is_two_standard_deviations_unless_said():
    assert parse_spread("18 mm ± 0.2").standard_deviation == pytest.approx(0.1)
    assert parse_spread("18 mm ± 0.3, 3 sd").standard_deviation == pytest.approx(0.1)
    assert Spread.plus_minus(0.3, sds=3).standard_deviation == pytest.approx(0.1)
    for kind in ("normal", "rectangular", "triangular"):
        assert Spread.sd(0.1, kind).standard_deviation == pytest.approx(0.1)


def test_limits_written_as_values():
    s = parse_spread("17.9 to 18.3 mm")
    assert s.absolute and s.kind == "rectangular"
    about = s.about(18.0, "z_p")
    assert about.limits == pytest.approx((-0.1, 0.3)) and about.mean == pytest.approx(0.1)
    with pytest.raises(SpreadError, match=r"z_p: the design has 20 mm, outside 17.9 to 18.3 mm"):
        s.about(20.0, "z_p")


def test_units_follow_the_field():
    assert parse_spread("1.25 mm/turn ± 0.01", "pitch_tilt").limits == (-0.01, 0.01)
    assert parse_spread("± 1e-6 1/mm", "curvature").limits == (-1e-6, 1e-6)
    assert parse_spread("± 0.1 deg", "alpha").half == pytest.approx(math.radians(0.1))
    with pytest.raises(SpreadError, match=r"alpha: .*does not measure an angle"):
        parse_spread("1 mm ± 0.1", "alpha")


@pytest.mark.parametrize("s", [
    Spread("normal", -0.1, 0.3), Spread("rectangular", -0.1, 0.3), Spread("triangular", -0.1, 0.3),
    Spread("triangular", 0.1, 0.3), Spread("triangular", -0.2, 0.2), Spread("triangular", -0.3, 0.0),
    Spread.between(17.9, 18.3, "triangular"),
])
def test_draw_has_the_moments_that_are_stated(s):
    x = s.draw((np.arange(400_000) + 0.5) / 400_000)
    assert x.mean() == pytest.approx(s.mean, abs=1e-6)
    assert x.std() == pytest.approx(s.standard_deviation, rel=2e-5)
    assert np.all(np.diff(x) > 0)
    if s.kind != "normal":
        assert s.draw([0.0, 1.0]) == pytest.approx(s.limits)


def test_draw_at_the_ends():
    assert np.isnan(Spread.plus_minus(0.2).draw([-0.1, 1.1])).all()
    for kind in ("normal", "rectangular", "triangular"):
        assert Spread.plus_minus(0.0, kind).draw([0.0, 0.5, 1.0]).tolist() == [0, 0, 0]


@pytest.mark.parametrize(("make", "sentence"), [
    (lambda: Spread.plus_minus(-0.2), "half -0.2 mm is negative or no number; it must be 0 mm or more"),
    (lambda: Spread.plus_minus(math.nan), "negative or no number"),
    (lambda: Spread.sd(-1, unit="rad"), "standard deviation -1 rad is negative"),
    (lambda: Spread.between(18.3, 17.9), "limits crossed: lower 18.3 mm lies above upper 17.9 mm"),
    (lambda: Spread.plus_minus(math.inf), "finite"),
    (lambda: Spread.plus_minus(0.2, sds=0), "more than 0 sd"),
    (lambda: Spread("rectanglar", -1, 1), "did you mean 'rectangular'"),
    (lambda: parse_spread("± 0.2 mm uniform", "z_p"), "mean 'rectangular'. known: normal, rectangular, triangular, meas"),
    (lambda: parse_spread("± 0.2 mm gaussian", "z_p"), "did you mean 'normal'"),
    (lambda: parse_spread("4.6 mm IT11", "z_p"), "grades belong into the table of processes"),
    (lambda: parse_spread("18 mm ± -0.2", "z_p"), "z_p: .*half -0.2 mm is negative"),
    (lambda: parse_spread("18.3 mm to 17.9 mm", "z_p"), "z_p: .*limits crossed"),
    (lambda: parse_spread("18 mm ± 0.2 rectanglar"), "did you mean 'rectangular'"),
    (lambda: parse_spread("18 ± 0.2", "z_p"), "has no unit"),
    (lambda: parse_spread("18 mm", "z_p"), "not a spread: write it as"),
    (lambda: parse_spread("-18 mm +0.3 mm", "z_p"), "not a spread: write it as"),
    (lambda: parse_spread("18 mm +0.3", "z_p"), "not a spread: write it as"),
    (lambda: parse_spread("", "z_p"), "not a spread"),
    (lambda: parse_spread("18 mm ± 0,2", "z_p"), "comma"),
    (lambda: parse_spread("18 mm ±", "z_p"), "z_p"),
    (lambda: parse_spread(0.2, "z_p"), "not a spread"),
    (lambda: parse_spread("± 0.1 mm", "z_pp"), "did you mean 'z_p'"),
    (lambda: parse_spread("± 0.1 mm", "receiver"), "chosen, not made"),
    (lambda: parse_spread("± 1e-6", "curvature"), "the unit 1/mm"),
])
def test_what_is_wrong_is_said(make, sentence):
    with pytest.raises(SpreadError, match=sentence):
        make()


@pytest.mark.parametrize(("matrix", "sentence"), [
    ([[1, 0.5], [0.4, 1]], "not symmetric, 0.5 in row 1 column 2 but 0.4"),
    ([[1, 0.5], [0.5, 2]], "diagonal"),
    ([[1, 1.2], [1.2, 1]], "outside -1 to 1"),
    ([[1, 0.5, 0], [0.5, 1, 0]], "2 x 3, it must be 2 x 2"),
    ([[1, math.nan], [math.nan, 1]], "finite"),
    ([["a"]], "not a table of numbers"),
])
def test_impossible_correlations(matrix, sentence):
    with pytest.raises(SpreadError, match=sentence):
        Group(("z_p", "x_p"), matrix)


def test_three_cannot_all_be_opposed():
    with pytest.raises(SpreadError, match=r"no such numbers can exist together .*-0.8"):
        Group(("z_p", "x_p", "z_head"), -0.9)
    assert Group(("z_p", "x_p", "z_head"), -0.5).correlation[0, 1] == -0.5  # the limit itself can be built
    assert Group(("z_p", "x_p"), 1.0).correlation.tolist() == [[1, 1], [1, 1]]


def test_a_group_is_drawn_with_its_correlation(d):
    spreads = Spreads({"z_p": Spread.plus_minus(0.2), "x_p": Spread.plus_minus(0.4), "z_head": Spread.plus_minus(0.1)},
                      (Group(("z_p", "z_head"), 0.7),))
    x = spreads.draw(d, even(3, 2**14))
    r = np.corrcoef(x)
    assert r[0, 2] == pytest.approx(0.7, abs=0.01)
    assert abs(r[0, 1]) < 0.01 and abs(r[1, 2]) < 0.01
    assert x.std(axis=1) == pytest.approx([0.1, 0.2, 0.05], rel=0.01)
    assert spreads.correlation(d)[2].tolist() == [0.7, 0, 1]
    one = Spreads(spreads.of, (Group(("z_p", "z_head"), 1.0),)).draw(d, even(3, 2**10))
    assert one[0] == pytest.approx(2 * one[2])


def test_saddle_errs_string_by_string_or_in_common(d):
    s = Spread.plus_minus(0.1)
    each, common = Spreads({"h_saddle": s, "z_p": s}), Spreads({"h_saddle": s, "z_p": s}, common=frozenset({"h_saddle"}))
    assert [v.name for v in each.variables(d)][:2] == ["h_saddle[1]", "h_saddle[2]"] and len(each.variables(d)) == 7
    assert [v.name for v in common.variables(d)] == ["h_saddle", "z_p"]
    lift = np.array([[0.1, 0.2], [0.0, 0.0]])
    moved = common.moved(d, lift)
    assert moved.h_saddle == pytest.approx(np.asarray(d.h_saddle)[:, None] + lift[0])
    steps = np.zeros((7, 2))
    steps[1] = 0.1, 0.2
    one = each.moved(d, steps)
    assert one.h_saddle[1] == pytest.approx(d.h_saddle[1] + steps[1]) and np.all(one.h_saddle[0] == d.h_saddle[0])
    assert action(pose(one), 12).shape == (d.strings, 1, 2)
    assert each.moved(d, np.zeros(7)).h_saddle.shape == (d.strings,)


@pytest.mark.parametrize(("make", "sentence"), [
    (lambda s: Spreads({"z_pp": s}), "z_pp: no dimension of that name; did you mean 'z_p'"),
    (lambda s: Spreads({"z_p": s}, (Group(("z_p", "x_p"), 0.5),)), "x_p: stands in a group but has no spread"),
    (lambda s: Spreads({"z_p": s}, common=frozenset({"z_p"})), "z_p: is one number anyway"),
    (lambda s: Spreads({"z_p": s, "h_saddle": s}, (Group(("z_p", "h_saddle"), 0.5),)), "say common before grouping"),
    (lambda s: Spreads({"z_p": s, "x_p": s}, (Group(("z_p", "x_p"), 0.5),) * 2), "stands in two groups"),
])
def test_spreads_that_do_not_fit_together(make, sentence):
    with pytest.raises(SpreadError, match=sentence):
        make(Spread.plus_minus(0.1))


def test_a_spread_for_another_design_is_refused(d):
    with pytest.raises(SpreadError, match="z_p: the spread is written about 18 mm, the design has -20 mm"):
        Spreads({"z_p": parse_spread("18 mm ± 0.2")}).variables(d)
    assert Spreads({"z_p": parse_spread("-20 mm ± 0.2")}).variables(d)[0].spread.half == pytest.approx(0.2)


def test_the_file(tmp_path, d):
    path = tmp_path / "workshop.toml"
    path.write_text('common = ["h_nut"]\n[spreads]\nz_p = "-20 mm ± 0.2"\nx_p = "± 0.2 mm rectangular"\nalpha = "± 0.05 deg"\n'
                    'h_nut = "± 0.05 mm"\n[[groups]]\nnames = ["z_p", "x_p"]\ncorrelation = 0.6\n', encoding="utf-8")
    s = spreads_from_toml(path)
    assert [v.name for v in s.variables(d)] == ["z_p", "x_p", "alpha", "h_nut"]
    assert s.correlation(d)[0, 1] == 0.6 and s.of["alpha"].unit == "rad"
    assert "together: z_p, x_p" in str(s)


def test_the_file_says_all_that_is_wrong_at_once(tmp_path):
    path = tmp_path / "workshop.toml"
    path.write_text('spread = 1\n[spreads]\nz_pivot = "± 0.2 mm"\nx_p = "± -0.2 mm"\nfoot_zz = "± 1 mm"\n'
                    '[[groups]]\nnames = ["x_p", "z_p"]\ncorrelation = 1.5\n', encoding="utf-8")
    with pytest.raises(SpreadError) as e:
        spreads_from_toml(path)
    said = str(e.value)
    assert said.startswith("workshop.toml: 5 problems")
    for part in ("spread: no table", "z_pivot: no dimension", "half -0.2 mm is negative", "did you mean 'foot_z'",
                 "outside -1 to 1"):
        assert part in said


@pytest.mark.parametrize(("text", "sentence"), [
    ("[spreads\n", "not a TOML file"), ("", "missing or empty"), ("[spreads]\nz_p = 0.2\n", "not a spread"),
    ('groups = "a"\n[spreads]\nz_p = "± 1 mm"\n', "groups: each needs"),
    ('common = "h_nut"\n[spreads]\nz_p = "± 1 mm"\n', "common: must be a list"),
])
def test_bad_files(tmp_path, text, sentence):
    path = tmp_path / "bad.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SpreadError, match=sentence):
        spreads_from_toml(path)
    with pytest.raises(SpreadError, match="cannot be opened"):
        spreads_from_toml(tmp_path / "none.toml")
