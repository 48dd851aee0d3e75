"""Air and moisture: another library's filter, the closed form of a season, a humid-air library, weather files read by hand."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import lfilter

from lutherie_geom.mechanics.climate import PLACES, Air, ClimateError, constant, moisture, seasonal, typical_year
from lutherie_geom.theory.climate import emc_glass, emc_simpson, season_lag


def test_constant_air_settles_at_the_curve():
    air = constant(temperature=21.1, humidity=np.array([40.0, 65.0]), days=400)
    m = moisture(air, lag=10.0, start=12.0, curve="simpson")
    assert m.shape == (400, 2) and m[0] == pytest.approx(12.0 + (np.array([7.7, 12.0]) - 12.0) * (1 - np.exp(-0.1)), abs=0.01)
    # GTR-282 Table 4-2 anchors, quoted in the geotech-references test file: read there. Room 0.06 for the table's rounding.
    assert m[-1] == pytest.approx([7.7, 12.0], abs=0.06)
    again = moisture(air, lag=10.0, curve="simpson")
    np.testing.assert_allclose(again, np.broadcast_to(emc_simpson(temperature=21.1, humidity=[40.0, 65.0]), (400, 2)), rtol=1e-12)


def test_stepping_against_the_closed_form_of_a_season():
    lag = np.array([5.0, 20.0, 60.0])
    air = seasonal(humidity=50.0, swing=0.5, wettest_day=100.0, temperature=20.0, warmer=0.0, step=0.25)
    m = moisture(air, lag=lag)
    turn = np.exp(-2j * np.pi * (air.days + air.step) / 365)[:, None]
    goal = emc_glass(temperature=air.temperature, humidity=air.humidity)[:, None]
    # The air's step stands for its own middle, half a step before its end.
    wood, free = (2 * (v * turn).mean(axis=0) for v in (m, goal))
    rule = season_lag(period=365.0, lag=lag)
    np.testing.assert_allclose(np.abs(wood) / np.abs(free), rule.swing_left, rtol=1e-4)
    late = -np.angle(wood / free) * 365 / (2 * np.pi)
    np.testing.assert_allclose(late, rule.delay - air.step / 2, atol=0.01)


def test_stepping_against_a_digital_filter():
    rng = np.random.default_rng(7)
    air = Air(np.arange(400) * 0.5, 15 + 10 * rng.random(400), 20 + 60 * rng.random(400), 0.5, "made up here")
    left = np.exp(-0.5 / 12.0)
    goal = emc_glass(temperature=air.temperature, humidity=air.humidity)
    by_filter, _ = lfilter([1 - left], [1, -left], goal, zi=[left * 9.0])
    np.testing.assert_allclose(moisture(air, lag=12.0, start=9.0), by_filter, rtol=1e-12)
    round_and_round = moisture(air, lag=12.0)
    np.testing.assert_allclose(moisture(air, lag=12.0, start=round_and_round[-1]), round_and_round, rtol=1e-12)


def test_months_and_batches():
    air = seasonal(swing=np.array([5.0, 15.0, 0.0]))
    m = moisture(air, lag=np.array([[5.0], [30.0]]))
    assert m.shape == (365, 2, 3)
    months = air.by_month(m)
    assert months.shape == (12, 2, 3) and np.ptp(months[:, 0, 1]) > np.ptp(months[:, 1, 1]) > np.ptp(months[:, 1, 0])
    assert np.all(np.isnan(constant(humidity=45.0, days=90).by_month(np.ones(90))[6]))
    assert months[:, 0, 1].argmax() in (6, 7) and months[:, 1, 1].argmax() in (7, 8)  # wettest on day 210; slow wood comes later


def test_room_air_by_the_humid_air_library():
    # PsychroLib 2.5.0: dew point of 20 degC, 50 % is 9.2724 degC: computed here.
    room = constant(temperature=9.2724, humidity=100.0, days=2).heated(20.0)
    assert room.humidity == pytest.approx(50.0, abs=0.1)
    warm = Air(np.arange(2.0), np.array([25.0, 31.0]), np.array([60.0, 40.0]), 1.0, "made up here")
    np.testing.assert_allclose(warm.heated(20.0).humidity, warm.humidity, rtol=1e-9)  # what is warm already stays as it is
    with pytest.raises(ClimateError, match="room: 50 degC is outside 5 to 35 degC"):
        warm.heated(50.0)


def test_frost_and_water_by_the_humid_air_library():
    """Another library's constant humidity ratio at three pressures, below and above freezing (it counts over ice below)."""
    psychro = pytest.importorskip("psychrolib")
    psychro.SetUnitSystem(psychro.SI)
    rng = np.random.default_rng(3)
    t, h, p = rng.uniform(-40, 18, 40), rng.uniform(20, 100, 40), rng.choice([80000.0, 95000.0, 101325.0], 40)
    room = Air(np.arange(40.0), t, h, 1.0, "made up here").heated(20.0)
    by_library = [100 * float(psychro.GetRelHumFromHumRatio(20.0, float(psychro.GetHumRatioFromRelHum(a, b / 100, c)), c))
                  for a, b, c in zip(t, h, p, strict=True)]
    np.testing.assert_allclose(room.humidity, by_library, rtol=5e-3)  # the product's shorter fit is that close
    both = Air(np.arange(2.0), np.array([-1e-9, 0.0]), np.array([80.0, 80.0]), 1.0, "made up here").heated(20.0).humidity
    assert both[0] == pytest.approx(both[1], rel=1e-6)  # ice and water meet at freezing


def test_what_is_not_known_stays_unknown():
    air = Air(np.arange(4.0), np.array([-5.0, np.nan, 10.0, 12.0]), np.array([80.0, 50.0, np.nan, 60.0]), 1.0, "made up here")
    room = air.heated(20.0)
    assert np.isnan(room.humidity).tolist() == [False, True, True, False]
    with pytest.raises(ClimateError, match="air: 2 values are missing, the first on day 1"):
        moisture(air, lag=5.0)


@pytest.mark.parametrize("place", PLACES)
def test_typical_year_is_the_packaged_file(place):
    pvlib = pytest.importorskip("pvlib")
    air = typical_year(place)
    with open(Path(pvlib.__file__).parent / "data" / PLACES[place]) as f:  # read again by hand
        next(f)
        rows = list(csv.DictReader(f))
    assert len(rows) == len(air.days) == 8760 and PLACES[place] in air.source and pvlib.__version__ in air.source
    np.testing.assert_array_equal(air.temperature, [float(r["Dry-bulb (C)"]) for r in rows])
    np.testing.assert_array_equal(air.humidity, [float(r["RHum (%)"]) for r in rows])
    mean = air.temperature.mean()
    assert 3 < mean < 6 if place == "subarctic" else 12 < mean < 17
    if place == "subarctic":
        room = air.heated(20.0)
        winter = room.by_month(room.humidity)[[0, 1, 11]]
        assert np.all(winter < 35) and np.all(np.isfinite(room.humidity))


def test_senseless_air_is_named():
    for call, said in ((lambda: constant(humidity=130.0), "humidity: 130 % is outside 0 to 100 %"),
                       (lambda: constant(humidity=45.0, step=0.0), "in steps of 0 day: both above 0"),
                       (lambda: seasonal(humidity=90.0, swing=30.0), "humidity: "),
                       (lambda: typical_year("moon"), "place: 'moon' is not known; mild or subarctic"),
                       (lambda: moisture(constant(humidity=45.0), lag=0.0), "lag: 0 day must be above 0 day"),
                       (lambda: moisture(constant(humidity=45.0), curve="guess"), "curve: 'guess' is not known")):
        with pytest.raises(ClimateError, match=said):
            call()
