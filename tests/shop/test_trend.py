"""Trend and forecast from logs whose truth is known."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.joint.neck_set import straightedge_at_bridge
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.bench.readings import straightedge_posed
from lutherie_geom.shop.log.log import Entry, LogReading, add, read_log
from lutherie_geom.shop.log.trend import TrendError, comparable, forecast, trend

DESIGN = load("slack_water")
DIMS = DESIGN.dimensions()
START = datetime(2026, 1, 1, tzinfo=UTC)


def emc(humidity, t=20.0):
    """Moisture of wood by the Hailwood-Horrobin form, coefficients as printed in the Wood Handbook for degC (from memory)."""
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    h = humidity
    return 1800 / w * (k * h / (1 - k * h) + (k1 * k * h + 2 * k1 * k2 * k**2 * h**2) / (1 + k1 * k * h + k1 * k2 * k**2 * h**2))


def entries(growth=0.25, power=0.5, by=0.1, n=14, span=3.0, noise=0.03, seed=0, humid=True, turn=True):
    rng = np.random.default_rng(seed)
    out = []
    for y in np.linspace(0, span, n):
        h = 0.46 + 0.12 * np.sin(2 * np.pi * y) + 0.02 * rng.standard_normal()
        tilt = -rng.integers(0, 5) / 8 if turn else 0.0
        off = growth * y**power + by * (emc(h) - 8.5)
        a = action(pose(DIMS, tilt=tilt), 12)[[0, -1], 0] + off
        edge = float(straightedge_posed(pose(DIMS, tilt=tilt))) - off
        read = {f"action.12.{s}": LogReading(v + noise * rng.standard_normal(), noise)
                for s, v in zip(("bass", "treble"), a, strict=True)}
        read["straightedge.bridge"] = LogReading(edge + noise * rng.standard_normal(), noise)
        out.append(Entry(when=START + timedelta(days=365.25 * y), who="class", tilt=tilt, humidity=h if humid else None,
                         temperature=20.0, readings=read))
    return out


def test_turns_are_undone_exactly():
    same = entries(growth=0, by=0, noise=1e-5)
    for kind, truth in (("action", action(pose(DIMS), 12)[[0, -1], 0].mean()), ("bridge", float(straightedge_at_bridge(DIMS)))):
        data = comparable(DESIGN, same, kind)
        assert np.abs(data.value - truth).max() < 1e-4
    assert data.years[-1] == pytest.approx(3.0, abs=1e-6)
    assert np.abs(data.moisture - [emc(e.humidity) for e in same]).max() < 0.5  # another curve: so far they lie apart


def test_growth_and_moisture_are_found_with_honest_bands():
    """Of 60 instruments about 95 in 100 lie within two standard deviations."""
    inside = {"by": 0, "growth": 0}
    later = 0
    for seed in range(60):
        t = trend(DESIGN, entries(seed=seed))
        for key, row, truth in (("by", (0, 1, 0), 0.1), ("growth", (0, 0, 1), 0.25)):
            mean, sd = t.mean_and_sd(np.array(row, dtype=float))
            inside[key] += abs(mean - truth) < 2 * sd
            assert sd < 0.15
        f = forecast(DESIGN, t, until=12.0)
        k = int(np.argmin(np.abs(f.years - 10)))
        dry, damp = (f_(emc(e.humidity) for e in entries(seed=seed)) for f_ in (min, max))
        base = action(pose(DIMS), 12)[[0, -1], 0].mean()
        low, high = (base + 0.25 * f.years[k] ** 0.5 + 0.1 * (air - 8.5) for air in (dry, damp))
        later += f.value[0, k] < low and high < f.value[2, k]
    assert min(inside.values()) >= 53, inside
    assert later >= 50  # bands of 90 in 100, drawn far ahead


def test_the_bridge_sinks_against_the_straightedge_as_the_top_rises():
    t = trend(DESIGN, entries(), "bridge")
    mean, sd = t.mean_and_sd(np.array([0.0, 0.0, 1.0]))
    assert abs(mean + 0.25) < 2.5 * sd and mean < 0 and t.model_by_moisture < 0
    with pytest.raises(TrendError, match="asked for by the action"):
        forecast(DESIGN, t)


def test_forecast_runs_out_when_the_turns_do():
    fast = trend(DESIGN, entries(growth=0.5, power=0.9, by=0.0, noise=0.01))
    f = forecast(DESIGN, fast, until=30)
    assert np.all(np.diff(f.gone_down) >= 0) and f.gone_down[0] == 0 and f.gone_down[-1] > 0.9 and not f.gone_up.any()
    # the year in which the middle is used up: the turn that takes the growth away, by plain search on the model
    k = int(np.argmax(f.gone_down > 0.5))
    tilts = np.linspace(-3, 0, 3001)
    change = action(pose(DIMS, tilt=tilts), 12)[[0, -1], 0].mean(axis=0) - action(pose(DIMS), 12)[[0, -1], 0].mean()
    lowering = float(np.interp(-f.down, tilts, change))
    base = action(pose(DIMS), 12)[[0, -1], 0].mean()
    when = ((f.keep - base - lowering) / 0.5) ** (1 / 0.9)
    assert f.years[k - 1] - 2.5 < when < f.years[k] + 2.5
    assert "used up in" in str(f) and "floor" in str(f)
    slow = forecast(DESIGN, trend(DESIGN, entries(growth=0.05, by=0.0, noise=0.01)), until=30)
    assert slow.gone_down[-1] < f.gone_down[-1]


def test_an_action_that_sinks_uses_up_the_turns_above():
    sinking = forecast(DESIGN, trend(DESIGN, entries(growth=-0.35, power=0.6, by=0.0, noise=0.01)), until=30)
    assert sinking.gone_up[-1] > 0.9 and not sinking.gone_down.any() and sinking.turns[1, -1] > sinking.up
    assert "the stop up (the tongue meets the soundboard) is met by year" in str(sinking) and "stop down" not in str(sinking)


def test_each_side_is_told_in_its_worse_air():
    """Steady in the years, swinging with the air: the band reaches down as far as damp air asks, up as far as dry."""
    f = forecast(DESIGN, trend(DESIGN, entries(growth=0.0, by=0.25, noise=0.005, n=30)), until=6)
    dry, damp = (f_(emc(e.humidity) for e in entries(n=30)) for f_ in (min, max))
    base = action(pose(DIMS), 12)[[0, -1], 0].mean()
    assert f.value[0, 0] < base + 0.25 * (dry - 8.5) + 0.03 and f.value[2, 0] > base + 0.25 * (damp - 8.5) - 0.03
    tilts = np.linspace(-1, 1, 2001)
    change = action(pose(DIMS, tilt=tilts), 12)[[0, -1], 0].mean(axis=0) + 0.0
    for row, air in ((0, damp), (2, dry)):
        needed = float(np.interp(f.keep - 0.25 * (air - 8.5), change, tilts))
        assert f.turns[row, 0] == pytest.approx(needed, abs=0.05)


def filed(by=0.4, at=1.0, noted=(), read=False, **how):
    """A saddle filed after a year: every action from then on lower by what fret 12 sees of it."""
    share = float((DIMS.x_fret(12) - DIMS.x_nut) / (np.mean(DIMS.x_saddle) - DIMS.x_nut))
    out = []
    for k, e in enumerate(entries(growth=0.05, by=0.05, noise=0.01, turn=False, **how)):
        late = (e.when - START).days / 365.25 > at
        more = {q: LogReading(r.value - share * by * late, r.sd) for q, r in e.readings.items() if q.startswith("action")}
        if read and k in (0, *range(5, 14)):
            more |= {f"saddle.{s}": LogReading(v - by * late, 0.05) for s, v in
                     zip(("bass", "treble"), (DIMS.h_saddle[0], DIMS.h_saddle[-1]), strict=True)}
        first = late and not any(o.changed for o in out) and noted
        out.append(replace(e, readings={**e.readings, **more}, changed=noted if first else ()))
    return out, share * by


def first_year(t):
    return t.mean_and_sd(np.array([0.0, 0.0, 1.0]))


def test_bench_work_is_not_taken_for_age():
    silent, drop = filed()
    t = trend(DESIGN, silent)
    assert "WATCH: between" in t.says and "no entry says why" in t.says and f"jumps by -{drop:.1f}" in t.says
    told, _ = filed(noted=("saddle",))
    t = trend(DESIGN, told)
    assert len(t.data.steps) == 1 and "WATCH" not in t.says
    step, sd = t.mean_and_sd(np.array([0.0, 0.0, 0.0, 1.0]))
    assert step == pytest.approx(-drop, abs=3 * sd) and "bench work in year 1." in str(t)
    grow, sd = first_year(t)
    assert abs(grow - 0.05) < 2.5 * sd
    after = forecast(DESIGN, t, until=6.0)
    here = action(pose(DIMS), 12)[[0, -1], 0].mean() - drop
    assert after.value[1, 0] == pytest.approx(here + 0.05 * 3**0.5, abs=0.12)  # it goes on from where the saddle is now


def test_a_saddle_that_was_read_needs_no_step():
    shown, _ = filed(noted=("saddle",), read=True)
    t = trend(DESIGN, shown)
    assert not t.data.steps and "WATCH" not in t.says
    plain = trend(DESIGN, filed(by=0.0)[0])
    assert first_year(t)[0] == pytest.approx(first_year(plain)[0], abs=0.05)


def test_relief_and_nut_are_brought_to_their_first_readings():
    """A rod slackened after the fifth entry; the readings are those of the bent neck itself."""
    from lutherie_geom.joint.relief import with_relief

    rows = []
    for k, e in enumerate(entries(growth=0.0, by=0.0, noise=1e-5)):
        bent = with_relief(DIMS, float(DIMS.relief) + 0.2 * (k > 4)).replaced(h_nut=np.asarray(DIMS.h_nut) + 0.1 * (k > 7))
        a = action(pose(bent, tilt=e.tilt), 12)[[0, -1], 0]
        read = {f"action.12.{s}": LogReading(float(v), 0.01) for s, v in zip(("bass", "treble"), a, strict=True)}
        if k in (0, 5, 9):  # read now and then, and taken to stay
            read["relief.middle"] = LogReading(float(bent.relief), 0.01)
        if k in (0, 5, 8):
            read |= {f"nut.{s}": LogReading(float(bent.h_nut[i]), 0.01) for s, i in (("bass", 0), ("treble", -1))}
        rows.append(replace(e, readings=read))
    data = comparable(DESIGN, rows)
    assert np.ptp(data.value) < 2e-3 and np.ptp([sum(r.value for r in e.readings.values()) for e in rows]) > 0.1
    assert data.sd[-1] > data.sd[0]  # the errors of relief and nut count


def test_a_withdrawn_reading_is_not_in_the_trend():
    rows = entries(noise=0.01)
    slip = replace(rows[6], readings={**rows[6].readings, "action.12.bass": LogReading(9.0, 0.03)})
    undo = Entry(when=START + timedelta(days=2000), who="class", words="9 for 3",
                 withdraws=(f"{rows[6].when.isoformat(' ')[:19]} action.12.bass",))
    bad = [*rows[:6], slip, *rows[7:]]
    assert str(trend(DESIGN, [*bad, undo])) == str(trend(DESIGN, [*rows[:6], *rows[7:]]))
    assert str(trend(DESIGN, bad)) != str(trend(DESIGN, [*bad, undo]))


def test_an_inch_design_is_told_in_inches():
    design = load("cross_tide")
    t = trend(design, entries())
    assert " mm" not in str(t) + str(forecast(design, t)) and " in" in str(t)


def test_little_data_says_so():
    assert "3 of at least 4 readings" in str(trend(DESIGN, entries()[:3]))
    assert "months" in str(trend(DESIGN, entries(span=0.1)))
    assert "No entry notes the humidity" in str(trend(DESIGN, entries(humid=False)))
    some = [*entries(n=8), *entries(n=3, span=1.0, humid=False)]
    assert "3 readings without humidity are left out" in str(trend(DESIGN, some))
    steady = trend(DESIGN, entries(n=5, span=0.002 + 0.3, by=0.0)[:5])
    assert steady.fits or steady.says
    with pytest.raises(TrendError, match="no forecast: Too little"):
        forecast(DESIGN, trend(DESIGN, entries()[:2]))
    with pytest.raises(TrendError, match="no entry of the log has action"):
        trend(DESIGN, [])
    with pytest.raises(TrendError, match="kind: 'relief'"):
        trend(DESIGN, entries(), "relief")
    t = trend(DESIGN, entries())
    for bad, said in ((dict(until=2.0), "until: 2"), (dict(keep=20.0), "keep: 20 mm; allowed is 0.3 to 8")):
        with pytest.raises(TrendError, match=said):
            forecast(DESIGN, t, **bad)


def test_steady_air_leaves_moisture_to_the_model():
    rows = [Entry(when=e.when, who="class", tilt=e.tilt, humidity=0.45, temperature=20.0, readings=e.readings)
            for e in entries(by=0.0)]
    t = trend(DESIGN, rows)
    mean, _ = t.mean_and_sd(np.array([0.0, 1.0, 0.0]))
    assert "hardly changed" in t.says and mean == pytest.approx(t.model_by_moisture, rel=1e-6)


def test_from_the_file(tmp_path):
    place = tmp_path / "a.log.txt"
    for e in entries():
        add(place, e)
    assert str(trend(DESIGN, read_log(place))) == str(trend(DESIGN, entries()))
