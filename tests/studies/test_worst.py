"""At worst: against corners tried one number after the other, on the array reader that knows no slopes."""

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.studies.contributions import READ, Joints
from lutherie_geom.studies.first_order import first_order
from lutherie_geom.studies.gradients import action_least
from lutherie_geom.studies.spreads import Spreads, parse_spread


def corner(read, limits, way, start):
    """The reading [mm] of the corner from which no single number leads further up (way 1) or down (-1)."""
    side, best = start, -np.inf
    while True:
        sides = np.repeat(side[:, None], len(side) + 1, axis=1)
        sides[np.arange(len(side)), np.arange(len(side))] ^= 1
        y = way * read(np.where(sides, limits[:, 1:], limits[:, :1]))
        if y.max() <= best + 1e-9:
            return way * best
        best, side = y.max(), sides[:, y.argmax()]


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_no_corner_lies_outside(name):
    design = lg.load(name)
    own, d = Spreads.of_design(design), design.dimensions()
    limits = np.array([v.spread.limits for v in own.variables(d)])
    joints, rng = Joints(own, d), np.random.default_rng(0)
    found = first_order(design.pose(), own, READ[2:5])
    for k, r in enumerate(found, 2):
        starts = rng.integers(0, 2, (4, len(limits)))
        low, high = (way * max(way * corner(lambda x, k=k: joints.read(x)[k], limits, way, s) for s in starts) for way in (-1, 1))
        assert low - 0.02 <= r.worst[0] <= low + 0.005, r.key  # the lowest is a corner
        assert high - 0.005 <= r.worst[1] <= high + 0.2, r.key  # the highest may lie between corners
        straight = r.nominal + sum(min(c.at_worst) for c in r.contributions)
        assert r.worst[0] < straight - 0.05, r.key  # what one slope tells is not the worst


def test_highest_between_corners():
    """A heel rocked by its yaw alone is highest where it is not rocked at all: at the design's own place."""
    s = Spreads({"heel.yaw": parse_spread("± 1 deg", "heel.yaw"), "heel.floor_clearance": parse_spread("± 0.2 mm")})
    r = first_order(lg.load("slack_water").pose(), s, READ[3:4])["heel.floor_least"]
    assert r.worst[1] - r.nominal == pytest.approx(0.2, rel=0.02)
    assert r.worst[0] < r.nominal - 0.4


def test_straight_readings_and_strings():
    """Of two errors alone, by hand: a saddle's slope is its part of the way, and every string may be the lowest."""
    design = lg.load("slack_water")
    s = Spreads({"strings.saddle_heights": parse_spread("± 0.4 mm")})
    r = first_order(design.pose(), s, [READ[0], action_least(1, 6)])
    half = r["action.bass_12"].nominal - r["action.bass_12"].worst[0]
    assert half == pytest.approx(0.4 * 0.5, rel=0.03)
    one = r["action.least_1"]
    # The lowest string raised lets the next be the lowest: up goes less far than down.
    assert 0 < one.worst[1] - one.nominal <= one.nominal - one.worst[0]


def test_out_of_reach_is_said():
    s = Spreads({"tilt_screw.set": parse_spread("± 90 turn", "tilt_screw.set")})
    r = first_order(lg.load("slack_water").pose(), s, READ[:1])["action.bass_12"]
    assert np.isnan(r.worst).any() and not r.trustworthy and "out of reach" in r.reason and "not known" not in repr(r.nominal)
