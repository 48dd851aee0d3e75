"""The joint over a year: turns that undo, the window that needs none, the fewest settings, the front door."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.mechanics.climate import Air, ClimateError, constant, moisture, seasonal
from lutherie_geom.mechanics.movement import action_change, swelling_of, swollen
from lutherie_geom.mechanics.seasons import LAGS, MONTHS, seasons, year

DESIGNS = Path(__file__).parents[2] / "data" / "designs"


@pytest.fixture(scope="module")
def design():
    return load(DESIGNS / "spring_tide_mended.toml")


@pytest.mark.parametrize("name", ["spring_tide_mended", "long_reach", "cross_tide"])  # both kinds of receiver
def test_turns_undo_and_the_window_holds(name):
    design = load(DESIGNS / f"{name}.toml")
    mine = swelling_of(design)
    air = seasonal()
    r = seasons(design, air, samples=4, lags=dict.fromkeys(LAGS, (20.0, 20.0)), swelling=mine, tolerance=0.1)
    d = design.dimensions()
    m = r.moisture["top"] - r.set_at
    back = swollen(design, m, mine, d)
    mended = action(pose(back.of, tilt=back.tilt + r.turns), 12).mean(axis=(0, 1))
    assert np.abs(mended - action(pose(d), 12).mean()).max() < 1e-9
    np.testing.assert_allclose(r.moisture["block"], air.by_month(moisture(air, lag=20.0))[:, None] * np.ones(4), rtol=1e-9)
    assert np.sign(r.turns[1, 0]) == -np.sign(r.change[1, 0])
    for side in r.window[:, 0]:
        settled = moisture(constant(temperature=20.0, humidity=side, days=1.0), lag=1e-3)[-1]
        assert abs(float(action_change(design, settled - r.set_at, mine))) == pytest.approx(0.1, abs=5e-4)
    assert r.window[0, 0] < r.window[1, 0]
    text = str(r)
    assert text.startswith(design.name) and "no turn needed" in text and "left out" in text and "Aug" in text


def test_range_widens_with_what_is_not_known(design):
    wide = seasons(design, seasonal(), samples=16)
    narrow = seasons(design, seasonal(), samples=16, share=(0.29, 0.31), lags={"top": (19.0, 21.0)})
    assert np.ptp(wide.change, axis=1).max() > np.ptp(narrow.change, axis=1).max()
    assert wide.change.shape == wide.turns.shape == (12, 16) and wide.window.shape == (2, 16)


def test_a_year_is_told_in_the_designs_own_units():
    said = str(year(load("cross_tide"), 60.0, samples=16))
    assert " mm" not in said and "[in]" in said and "action in" in said and "within 0.006 in" in said


def test_senseless_questions_are_named(design):
    for call, said in ((lambda: seasons(design, seasonal(humidity=np.array([40.0, 50.0]))), "air: one air"),
                       (lambda: seasons(design, seasonal(), tolerance=0.0), "tolerance: 0 mm"),
                       (lambda: seasons(design, seasonal(), set_at=60.0), "set_at: 60 % moisture is outside 2 to 25 %"),
                       (lambda: seasons(design, seasonal(), samples=1), "samples: 1"),
                       (lambda: seasons(design, seasonal(), lags={"brain": (1, 2)}), "lags: brain is not known"),
                       (lambda: seasons(design, seasonal(), lags={"top": (9, 2)}), "lag of the top: 9 to 2 day is not a range"),
                       (lambda: seasons(design, seasonal(), share=(0.0, 0.5)), "share: 0 to 0.5 is not a range"),
                       (lambda: year(design, "attic"), "no file 'attic'"),
                       (lambda: year(design, 120), "humidity: 120 %")):
        with pytest.raises(ClimateError, match=said):
            call()


def fewest_by_trying(wanted, room, step):
    """Fewest runs of months round the year that one step serves each: every way of cutting the year, tried."""
    n = len(wanted)

    def serves(run):
        places = np.arange(-3, 3 + step / 2, step)
        return np.abs(np.asarray(run)[:, None] - places).max(axis=0).min() <= room + 1e-12

    if serves(wanted):
        return 1
    best = n
    for cuts in range(2 ** n):
        at = [k for k in range(n) if cuts >> k & 1]
        if 2 <= len(at) < best:
            runs = [[wanted[j % n] for j in range(a, b)] for a, b in pairwise([*at, at[0] + n])]
            if all(map(serves, runs)):
                best = len(at)
    return best


@pytest.mark.parametrize("swing, tolerance", [(5.0, 0.15), (14.0, 0.15), (14.0, 0.3)])
def test_fewest_settings_against_every_cut_of_the_year(design, swing, tolerance):
    r = seasons(design, seasonal(swing=swing), samples=4, tolerance=tolerance)
    found = r.settings()
    wanted = np.median(r.turns, axis=1)
    assert sorted(m for s in found for m in s.months) == list(range(12))
    for s in found:
        assert s.off <= tolerance + 1e-9 and (16 * s.turns) % 1 == 0
        assert np.abs(wanted[list(s.months)] - s.turns).max() * r.rate == pytest.approx(s.off)
    assert len(found) == fewest_by_trying(list(wanted), tolerance / r.rate, 1 / 16)


def test_parts_add_up_and_slow_wood_comes_later(design):
    r = year(design, "workshop", samples=8)
    np.testing.assert_allclose(sum(r.parts.values()), r.change, atol=0.02)
    peaks = [np.median(r.moisture[k].argmax(axis=0)) for k in ("top", "block", "neck")]
    assert peaks[0] <= peaks[1] <= peaks[2]
    assert np.all(np.ptp(r.moisture["top"], axis=0) > np.ptp(r.moisture["neck"], axis=0))
    assert "what moves the action" in str(r) and "fewest turns" in str(r) and "nan" not in str(r)


def test_front_door(design):
    steady = year(design, 45, samples=4)
    assert np.ptp(steady.change, axis=0).max() < 1e-9 and "all year the action" in str(steady)
    same = moisture(constant(humidity=45.0, days=1.0), lag=1e-3)[-1]
    assert steady.moisture["block"][3] == pytest.approx(same)
    logger = year(design, "net_loft_logger", samples=4)
    assert "net_loft_logger" in str(logger) and np.all(np.isfinite(logger.change))
    pytest.importorskip("pvlib")
    room, outdoors = (year(design, "subarctic", room=t, samples=4) for t in (20.0, None))
    # A heated room in the far north is drier than any month outside.
    assert room.moisture["top"].max() < outdoors.moisture["top"].min()
    assert "20 degC" in room.air.source and "let into" not in outdoors.air.source


def test_a_few_months_begin_where_the_action_was_set(design):
    short = Air(np.arange(60.0) + 31, np.full(60, 20.0), np.full(60, 30.0), 1.0, "made up here")
    r = seasons(design, short, samples=4)
    assert np.all(np.isnan(r.change[6])) and r.known.tolist() == [1, 2]
    assert np.all(r.moisture["neck"][1] < r.set_at) and np.all(r.moisture["neck"][2] < r.moisture["neck"][1])
    assert [m for s in r.settings() for m in s.months] == [1, 2]
    still = seasons(design, short, samples=4, swelling=swelling_of(design).times(0.0))
    assert np.isnan(still.null_face) and "does not swell" in str(still) and "from 10 to 90 %" in str(still)
    text = str(r)
    assert "nan" not in text and MONTHS[6] not in text.split("month")[1].split("what moves")[0]
