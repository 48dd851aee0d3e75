"""Learn the instrument, on pictures and in the hand sheet: uncertainties against the fit's own and against many draws."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.invented import instrument, kept_log
from lutherie_geom.shop.learning.learn import Rows, learn
from lutherie_geom.shop.learning.unknowns import UNKNOWNS, applied
from lutherie_geom.shop.log.log import add, read_log
from lutherie_geom.shop.log.trend import forecast, trend
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.show import panels_learn

PLAN = [(0, "lowering"), (0.5, "raising"), (0.5, "lowering"), (-0.4, "lowering"), (0, "raising"), (-0.4, "raising")]
HIDDEN = {"saddle_bass": 0.3, "saddle_treble": -0.2, "play": 0.12, "arm": -2.5}
NAMES = list(UNKNOWNS)


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def sheet(design):
    return panels_learn.learn_sheet(design)


def titles(drawing):
    return [axes.get_title(loc="left") for axes in drawing.axes]


def test_an_invented_instrument_without_scatter_gives_back_what_was_hidden(design):
    found = learn(design, instrument(design, HIDDEN, PLAN, seed=None))
    assert {k: found.values[k] for k in HIDDEN} == pytest.approx(HIDDEN, abs=1e-4)
    with pytest.raises(KeyError, match="no unknown 'pitch'"):
        instrument(design, {"pitch": 0.1}, PLAN)


def test_the_step_and_its_slopes(design):
    d = design.dimensions()
    step, by = panels_learn.step_slopes(design)

    def over_an_eighth(values):
        a = action(pose(applied(d, values), tilt=np.array([-1 / 16, 1 / 16])), 12)[[0, -1], 0].mean(axis=0)
        return float(a[1] - a[0])

    assert step == pytest.approx(over_an_eighth({}), abs=1e-5)
    assert by[NAMES.index("arm")] == pytest.approx(over_an_eighth({"arm": 0.5}) - over_an_eighth({"arm": -0.5}), rel=1e-3)
    assert by[NAMES.index("arm")] == pytest.approx(-step / float(d.z_p - d.z_head), rel=0.01)  # the rule: step over arm
    assert by[NAMES.index("play")] == 0


def test_what_is_known_against_many_draws(design):
    """Truths drawn from what is plausible, readings from the gauges, each estimated by the linear rule: they scatter as said."""
    entries = instrument(design, {}, PLAN)
    cov = panels_learn.known(design, entries)
    _, jac, error = Rows.of(entries).model(design.dimensions(), {}, Hands())
    rng, n = np.random.default_rng(2), 20000
    j = jac * panels_learn.SIZES
    truth = rng.normal(size=(len(NAMES), n))
    read = j @ truth + np.linalg.cholesky(error) @ rng.normal(size=(len(error), n))
    gain = j.T @ np.linalg.inv(j @ j.T + error)  # the other form of the same estimate
    assert np.cov(truth - gain @ read) == pytest.approx(cov, abs=0.03)
    assert panels_learn.known(design, []) == pytest.approx(np.eye(len(NAMES)))


def test_where_the_fit_tells_much_both_ways_agree(design):
    """The fit asks nothing of what is plausible: where the readings tell all, its uncertainties are the same."""
    entries = instrument(design, HIDDEN, PLAN * 2)
    found = learn(design, entries)
    left = np.sqrt(np.diag(panels_learn.known(design, entries)))
    for k in ("play", "gap", "bridge_shift"):
        assert found.sds[k] == pytest.approx(left[NAMES.index(k)] * UNKNOWNS[k].size, rel=0.05)


def test_known_picture_says_what_its_bars_show(design):
    entries = instrument(design, HIDDEN, PLAN)
    drawing = panels_learn.known_picture(design, entries, extra=panels_learn.saddle_read(design))
    bars = np.array([p.get_width() for p in drawing.axes[0].patches]).reshape(4, len(NAMES))
    assert (np.diff(bars, axis=0) <= 1e-9).all()  # no reading makes one know less
    assert titles(drawing)[0].startswith(f"6 readings tell {(bars[2] < 30).sum()} of {len(NAMES)}")
    angle = NAMES.index("angle")
    assert f"± {2 * bars[3, angle] / 100 * np.degrees(UNKNOWNS['angle'].size):.2f} deg" in titles(drawing)[1]


def test_the_doubtful_reading_is_ringed_and_named(design):
    found = learn(design, instrument(design, HIDDEN, PLAN, slips={(4, "action.12.bass"): 0.3}))
    drawing = panels_learn.doubts_picture(found)
    worst = max(abs(v) for v in found.normalised.values() if np.isfinite(v))
    assert titles(drawing)[0].startswith(f"reading 4, action at fret 12, bass: +{worst:.1f} standard deviations")
    good = panels_learn.doubts_picture(learn(design, instrument(design, HIDDEN, PLAN)))
    assert titles(good)[0].startswith("No reading is further")


def test_forecast_picture_from_a_log_written_and_read_back(design, tmp_path):
    place = tmp_path / "slack_water.log.txt"
    kept = kept_log(design)
    for entry in kept:
        add(place, entry)
    log = read_log(place)
    assert log.entries == tuple(kept) and not log.damages
    found = trend(design, log)
    ahead = forecast(design, found, until=20.0, keep=2.2)
    drawing = panels_learn.forecast_picture(found, ahead, log.entries)
    assert f"{100 * ahead.gone_down[-1]:.0f} of 100" in titles(drawing)[1]
    grow, sd = found.mean_and_sd(np.array([0.0, 0.0, 1.0]))
    assert f"{grow:+.2f} ± {2 * sd:.2f} mm" in titles(drawing)[0]
    assert abs(grow - 0.3) < 2 * sd  # what the owner's top was made to do
    by, sd = found.mean_and_sd(np.array([0.0, 1.0, 0.0]))
    assert abs(by - 0.12) < 2 * sd


def test_the_sheet_agrees_with_the_readings_themselves(design, sheet):
    """Six readings alternately lowering and raising, by the library's own rows."""
    from lutherie_geom.shop.learning.learn import Entry
    from lutherie_geom.shop.setup.measured import Measured

    sheet.reset()
    sheet.set(n=6, reach=0.5, gauge=0.05, hand=10.0)
    keys = ("action.12.bass", "action.12.treble", "gap.end")
    m = Measured(dict.fromkeys(keys, 2.0), dict.fromkeys(keys, 0.05))
    entries = [Entry(m, t, last=("lowering", "raising")[k % 2]) for k, t in enumerate((-0.5, -0.3, -0.1, 0.1, 0.3, 0.5))]
    cov = panels_learn.known(design, entries, Hands(turn=10 / 360))
    step, by = panels_learn.step_slopes(design)
    g = by * panels_learn.SIZES
    assert f"{step:.3f} ± {2 * np.sqrt(g @ cov @ g):.3f} mm (before" in sheet.text
    bars = [a.get_width() for a in sheet._artists if hasattr(a, "get_width")]
    expected = [100 * np.sqrt(cov[i, i]) for i, n in enumerate(NAMES) if n != "bridge_shift"]
    assert bars == pytest.approx(expected, rel=1e-5)
    sheet.reset()


def test_one_sense_tells_nothing_of_the_dead_band_and_a_better_gauge_tells_more(sheet):
    sheet.reset()
    both = sheet.text
    sheet.set(both=0)
    one = sheet.text
    band = [float(t.split("dead band ± ")[1].split(" turn")[0]) for t in (both, one)]
    assert band[1] > 5 * band[0]
    sheet.set(both=1, gauge=0.005)
    fine = float(sheet.text.split("0.305 ± ")[1].split(" mm")[0])
    assert fine < float(both.split("0.305 ± ")[1].split(" mm")[0])
    sheet.reset()


def test_every_slider_answers(sheet):
    sheet.reset()
    every_slider_answers(sheet)
