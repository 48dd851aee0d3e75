"""Ranked contributions: first order and Sobol agree on straight readings, groups against a brute-force count, clear refusals."""

import pickle
import re
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.input_words import words_of
from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.tolerances import Tolerances
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.contributions import READ, Joints, contributions, error_slopes
from lutherie_geom.studies.sampling import Job, uniform
from lutherie_geom.studies.spreads import Group, Spreads, parse_spread

STRAIGHT = ("action.bass_12", "action.treble_12", "margin.bass_last", "margin.treble_last")


def written(groups=(), **of):
    return Spreads({n.replace("__", "."): parse_spread(t, n.replace("__", ".")) for n, t in of.items()}, groups)


@pytest.fixture(scope="module")
def slack():
    return contributions(lg.load("slack_water"))


@pytest.mark.parametrize("key", STRAIGHT)
def test_where_the_reading_runs_straight_all_three_shares_are_one(slack, key):
    r = slack[key]
    assert r.trustworthy and r.standard == pytest.approx(r.sampled, rel=0.01)
    assert sum(c.share for c in r) == pytest.approx(1.0) and abs(r.together) < 0.02
    for c in r:
        assert c.first == pytest.approx(c.share, abs=0.01) and c.total == pytest.approx(c.share, abs=0.01), c.name
    held = [c.total_interval[0] - 5e-4 <= c.share <= c.total_interval[1] + 5e-4 for c in r if c.share > 0.005]
    assert np.mean(held) >= 0.7  # intervals of 95 in 100, of few contributors; the reading bends by a hair besides
    assert np.all(np.diff([c.total for c in r]) <= 0.001)  # the largest first; what prints alike, in the order of the file


def test_another_sample_prints_the_same(slack):
    rows = [[line for line in str(found).splitlines() if re.search(r"\d$", line)]
            for found in (slack, contributions(lg.load("slack_water"), seed=2))]
    assert len(rows[0]) == len(rows[1]) > 40
    assert np.mean([a == b for a, b in zip(*rows, strict=True)]) > 0.9


@pytest.mark.parametrize("name", [n for n in lg.load("slack_water").tolerances.spreads if "]" not in n])
def test_each_number_alone_prints(name):
    """Most move some readings only: of the others it is said that they do not vary."""
    own = Spreads.of_design(lg.load("slack_water")).of[name]
    found = contributions(lg.load("slack_water"), Spreads({name: own}), samples=64)
    text = str(found)
    assert sum("does not vary" in line for line in text.splitlines()) == sum(r.standard == 0 == r.sampled for r in found)
    assert "nan" not in text


def test_a_tolerance_of_nothing_prints():
    assert str(contributions(lg.load("slack_water"), written(pivot__z="± 0 mm"), samples=64)).count("does not vary") == len(READ)


def test_at_a_kink_they_part_and_it_is_said(slack):
    r = slack["heel.floor_least"]
    assert not r.trustworthy and "not to be trusted" in str(slack)
    leader = max(r, key=lambda c: c.share)
    assert leader.share - leader.total > 0.1 and r.together > 0.1


def test_a_group_counts_as_one_input(slack):
    names = [c.names for c in slack["gap.least"]]
    assert len(names) == 25 and ("heel.ball_height", "tilt_screw.receiver_z") in names


@pytest.mark.parametrize("correlation", [0.8, -0.6])
def test_a_group_against_a_count_by_brute_force(correlation):
    """Independent route: normal numbers of numpy's own, the group kept while all else is drawn anew (and the other way round)."""
    d = lg.load("slack_water").dimensions()
    s = written((Group(("tilt_screw.set", "pivot.x"), correlation),), tilt_screw__set="± 0.4 turn", pivot__x="± 0.5 mm",
                heel__floor_clearance="± 0.2 mm")
    found = contributions(lg.load("slack_water"), s, samples=2**14)["heel.floor_least"]
    group = next(c for c in found if len(c.names) == 2)
    rng, n = np.random.default_rng(7), 200_000
    sds = np.array([v.spread.standard_deviation for v in s.variables(d)])
    root = np.linalg.cholesky(s.correlation(d))
    a, b = (sds[:, None] * (root @ rng.standard_normal((3, n))) for _ in range(2))
    read = Joints(s, d).read
    y = read(a)[3]
    kept, anew = read(np.vstack([a[:2], b[2:]]))[3], read(np.vstack([b[:2], a[2:]]))[3]
    assert group.first == pytest.approx(np.cov(y, kept)[0, 1] / y.var(), abs=0.01)
    assert group.total == pytest.approx(((y - anew) ** 2).mean() / 2 / y.var(), abs=0.01)


def test_a_group_of_a_straight_reading_by_hand():
    """Two errors of slopes g and variance g'Rg, beside a third: the share of the group from numbers alone."""
    design = lg.load("slack_water")
    s = written((Group(("pivot.x", "heel.ball_depth"), -0.5),), pivot__x="± 0.2 mm", heel__ball_depth="± 0.2 mm",
                tilt_screw__head_x="± 0.1 mm")
    r = contributions(design, s, samples=2**14)["action.bass_12"]
    d = design.dimensions()
    g = error_slopes(d, s.variables(d), READ[0]) * [0.1, 0.1, 0.05]
    two = g[0] ** 2 + g[1] ** 2 - g[0] * g[1]
    group = next(c for c in r if len(c.names) == 2)
    assert group.share == pytest.approx(two / (two + g[2] ** 2)) and group.part == pytest.approx(two**0.5)
    assert group.first == pytest.approx(group.share, abs=0.01) and group.total == pytest.approx(group.share, abs=0.01)


@pytest.mark.parametrize("e", READ[:2] + READ[5:], ids=lambda e: e.key)
def test_slopes_over_a_map_are_differences_of_the_built_joint(e):
    d = lg.load("slack_water").dimensions()
    s = written(tilt_screw__head_x="± 0.1 mm", pivot__x="± 0.1 mm", heel__yaw="± 0.1 deg", body__dome_radius="± 500 mm")
    heights = np.array([-35.0, -20.0, -12.0])
    slopes = error_slopes(d.replaced(z_p=heights), s.variables(d), e, tilt=0.2)
    assert slopes.shape == (4, 3)
    for k, z in enumerate(heights):
        here = d.replaced(z_p=z)
        for i, step in enumerate((1e-3, 1e-3, 1e-4, 1.0)):
            off = step * np.eye(4)[i][:, None] * [1.0, -1.0]
            dims, turned = s.built(here, off)
            ends = e.value(pose(dims, tilt=0.2 + turned["tilt"], bass=turned["bass"], treble=turned["treble"]))
            assert slopes[i, k] == pytest.approx((ends[0] - ends[1]) / (2 * step), rel=1e-4, abs=1e-9)


def test_joints_read_as_the_single_joint_does():
    design = lg.load("cross_tide")
    d, s = design.dimensions(), Spreads.of_design(design)
    drawn = s.draw(d, uniform(Job(len(s.variables(d)), 2, 0, 0, 64)))
    found = Joints(s, d, (0.3, 0.1, -0.1)).read(drawn)
    dims, off = s.built(d, drawn)
    p = pose(dims, **{k: t + off[k] for k, t in (("tilt", 0.3), ("bass", 0.1), ("treble", -0.1))})
    for row, e in zip(found, READ, strict=True):
        np.testing.assert_allclose(row, e.value(p), atol=2e-3 if e.key == "gap.least" else 1e-9)  # the gap from a grid


def test_the_varying_numbers_are_made_ready_once(monkeypatch):
    """However many draws: the same bits as made ready anew for each, also after a trip to another process."""
    design = lg.load("slack_water")
    d, s = design.dimensions(), Spreads.of_design(design)
    u = [uniform(Job(len(s.variables(d)), 2, 0, first, 64)) for first in (0, 64)]
    anew = [Joints(s, d).read(s.draw(d, x)).tobytes() for x in u]
    calls, made = [], Spreads.variables
    monkeypatch.setattr(Spreads, "variables", lambda self, of: calls.append(of) or made(self, of))
    model = Joints(s, d)
    assert [model(x).tobytes() for x in u] == anew and len(calls) == 1
    assert [pickle.loads(pickle.dumps(model))(x).tobytes() for x in u] == anew
    assert model == Joints(s, d)


def test_refusals_and_table(slack):
    with pytest.raises(SpreadError, match="no number of the design has a tolerance"):
        contributions(lg.load("flat_calm").model_copy(update={"tolerances": Tolerances()}))
    for turns in ((0.0, 0.0), 3, "abc", (0.0, 0.0, np.nan)):
        with pytest.raises(ValueError, match=r"turns is .* turn: give three finite numbers"):
            contributions(lg.load("slack_water"), samples=64, turns=turns)
    with pytest.raises(ValueError, match="has no value for"):
        contributions(lg.load("slack_water"), written(tilt_screw__set="± 90 turn"), samples=256)
    with pytest.raises(KeyError, match=r"there are: action.bass_12"):
        slack["action"]
    with pytest.raises(ValueError, match="samples is 8"):
        contributions(lg.load("slack_water"), samples=8)
    text = str(slack)
    assert "and 15 more" in text and "nan" not in text
    rows, legend = text.split("in the design file: ")
    assert "heel.ball_height" not in rows and "with receiver, height in the heel\n" in rows
    for name in {n for r in slack for c in r.shown for n in c.names}:  # words in the tables, the file's names once, below them
        assert words_of(name) in rows and name not in rows and legend.count(f"({name})") == 1
    assert str(slack["gap.least"]).count("(tongue.wood)") == 1
    assert all(len(line) <= 100 for line in text.splitlines())


def test_the_same_numbers_whoever_computes_and_it_can_be_stopped():
    design, stop, told = lg.load("slack_water"), threading.Event(), []
    with ThreadPoolExecutor(2) as pool:
        many = contributions(design, samples=2**10, chunk=2**8, executor=pool,
                             progress=lambda done, asked: told.append((done, asked)))
    assert many == contributions(design, samples=2**10, chunk=2**8) and told[-1] == (2**10, 2**10)
    assert pickle.loads(pickle.dumps(many)) == many
    stop.set()
    with pytest.raises(InterruptedError, match="no indices"):
        contributions(design, samples=2**10, stop=stop)
