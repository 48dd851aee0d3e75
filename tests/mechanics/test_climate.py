"""Air and moisture: another library's filter, the closed form of a season, a logger's file with known faults."""

from __future__ import annotations

import csv
import random
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import lfilter

from lutherie_geom.mechanics.climate import PLACES, Air, ClimateError, constant, from_logger, moisture, seasonal, typical_year
from lutherie_geom.theory.climate import emc_glass, emc_simpson, season_lag, warmed_air


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
    pytest.importorskip("psychrolib")
    # PsychroLib 2.5.0: dew point of 20 degC, 50 % is 9.2724 degC: computed here.
    room = constant(temperature=9.2724, humidity=100.0, days=2).heated(20.0)
    assert room.humidity == pytest.approx(50.0, abs=0.01)
    rng = np.random.default_rng(3)
    out = Air(np.arange(50.0), rng.uniform(1, 18, 50), rng.uniform(20, 100, 50), 1.0, "made up here")
    rule = warmed_air(temperature_out=out.temperature, humidity_out=out.humidity, temperature_in=20.0)
    np.testing.assert_allclose(out.heated(20.0).humidity, rule, rtol=2e-4)
    warm = Air(np.arange(2.0), np.array([25.0, 31.0]), np.array([60.0, 40.0]), 1.0, "made up here")
    np.testing.assert_allclose(warm.heated(20.0).humidity, warm.humidity, rtol=1e-9)  # what is warm already stays as it is
    with pytest.raises(ClimateError, match="room: 50 degC is outside 5 to 35 degC"):
        out.heated(50.0)


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
    np.testing.assert_allclose(air.pressure, [100 * float(r["Pressure (mbar)"]) for r in rows])
    mean = air.temperature.mean()
    assert 3 < mean < 6 if place == "subarctic" else 12 < mean < 17
    if place == "subarctic":
        pytest.importorskip("psychrolib")
        room = air.heated(20.0)
        winter = room.by_month(room.humidity)[[0, 1, 11]]
        assert np.all(winter < 35) and np.all(np.isfinite(room.humidity))


def faulty(path: Path, order: int | None = None) -> Path:
    """Forty days of hourly readings with one of each fault."""
    lines = []
    for hour in range(960):
        t, h = 20 + np.sin(hour / 9.0), 45 + 8 * np.sin(hour / 30.0)
        day, clock = 1 + hour // 24, hour % 24
        stamp = f"2031-0{1 + (day > 31)}-{day if day <= 31 else day - 31:02d} {clock:02d}:00"
        lines.append([stamp, f"{t:.3f}", f"{h:.3f}"])
    lines[10][2] = "104.0"
    lines[11][2] = "-3"
    lines[12][2] = ""
    lines[13][1] = "n/a"
    lines[14][0] = "yesterday"
    lines[15][1] = "85.0"
    lines.insert(31, list(lines[30]))
    stuck = range(201, 301)
    for k in stuck:
        lines[k][1:] = ["20.500", "47.000"]
    del lines[501:541]
    if order is None:
        lines[700], lines[701] = lines[701], lines[700]
    else:
        random.Random(order).shuffle(lines)
    path.write_text("\n".join(",".join(row) for row in [["Date/time", "Temp (C)", "RH (%)"], *lines]) + "\n")
    return path


def test_logger_counts_what_is_wrong(tmp_path):
    air = from_logger(faulty(tmp_path / "log.csv"))
    counts = [n for _, n in air.mended]
    # unreadable, humidity, temperature, out of order, twice, stuck (the first of the run stays), gaps, hours in them
    assert counts == [3, 2, 1, 1, 1, 99, 2, 100 + 41], air.mended
    assert "105" not in str(air) and "sensor stuck" in str(air) and "815 of 921 readings" in air.source
    assert len(air.days) == 160 and air.days[0] == 0.0 and air.step == 0.25
    middle = (air.days + air.step / 2) * 24
    good = (np.abs(middle - 250) > 60) & (np.abs(middle - 520) > 30) & (middle > 20)
    np.testing.assert_allclose(air.humidity[good], 45 + 8 * np.sin(middle[good] / 30.0), atol=0.05)


def test_logger_order_of_rows_does_not_matter(tmp_path):
    a, b = from_logger(faulty(tmp_path / "a.csv", 1)), from_logger(faulty(tmp_path / "b.csv", 2))
    np.testing.assert_array_equal(a.humidity, b.humidity)
    assert dict(a.mended)["rows out of order, sorted"] > 300


def test_logger_other_shapes_and_errors(tmp_path):
    semi = tmp_path / "semi.csv"
    semi.write_text("time;temperature;humidity\n0;20,5;45 %\n1.0;21,5;47 %\n2.0;20;50\n")
    air = from_logger(semi, step=1.0)
    assert air.temperature == pytest.approx([21.0, 20.75]) and air.humidity == pytest.approx([46.0, 48.5])
    for text, said in (("time,temperature\n0,20\n", "humidity: no such column"), ("", "no heading"),
                       ("time,temperature,rh\n0,20,300\n1,20,45\n", "1 good readings of 2; 2 or more")):
        (tmp_path / "bad.csv").write_text(text)
        with pytest.raises(ClimateError, match=said):
            from_logger(tmp_path / "bad.csv")


def test_senseless_air_is_named():
    for call, said in ((lambda: constant(humidity=130.0), "humidity: 130 % is outside 0 to 100 %"),
                       (lambda: constant(humidity=45.0, step=0.0), "in steps of 0 day: both above 0"),
                       (lambda: seasonal(humidity=90.0, swing=30.0), "humidity: "),
                       (lambda: typical_year("moon"), "place: 'moon' is not known; mild or subarctic"),
                       (lambda: moisture(constant(humidity=45.0), lag=0.0), "lag: 0 day must be above 0 day"),
                       (lambda: moisture(constant(humidity=45.0), curve="guess"), "curve: 'guess' is not known")):
        with pytest.raises(ClimateError, match=said):
            call()
