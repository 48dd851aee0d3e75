"""Readings: what is written is what is known, each with its error; what is wrong is said with field, value, unit and range."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.shop.setup.fitting import as_measured
from lutherie_geom.shop.setup.measured import Measured, SheetError, measured, side_of
from lutherie_geom.shop.setup.shown import exact_of, shown

SLACK_WATER = load("slack_water").dimensions()
SHEET = """
[gauge]
margin = "calipers"
[action.12]
bass = "2.40 mm"
treble = "0.07 in ± 0.002"
[action.5]
bass = "1.2 mm"
[relief]
middle = "0.2 mm"
[nut]
bass = "0.4 mm"
treble = "0.3 mm"
[margin]
left = "3.4 mm"
right = "1/8 in"
[gap]
end = "1.1 mm"
"""


@pytest.fixture(scope="module")
def design():
    return load("slack_water")


def test_a_sheet_is_read_with_its_units_and_errors(design, tmp_path):
    m = measured(SHEET, design)
    assert m.get("action.12.bass") == 2.4
    assert m.get("action.12.treble") == pytest.approx(0.07 * 25.4)
    assert m.errors["action.12.treble"] == pytest.approx(0.001 * 25.4)  # ± is two standard deviations
    # The table's feeler gauge: scatter 0.02, steps of 0.05 and ± 0.005 either way, both rectangular.
    assert m.errors["action.12.bass"] == pytest.approx(math.sqrt(0.02**2 + 0.05**2 / 12 + 0.005**2 / 3))
    # Calipers, as asked for: 0.025, 0.01, 0.02.
    assert m.errors["margin.left"] == pytest.approx(math.sqrt(0.025**2 + 0.01**2 / 12 + 0.02**2 / 3))
    assert m.frets == (5, 12)
    path = tmp_path / "readings.toml"
    path.write_text(SHEET, "utf-8")
    assert measured(path, design) == m == measured(str(path), design)


@pytest.mark.parametrize(("change", "said"), [
    ({"action": {"12": {"bass": "24 mm"}}}, ("action.12.bass", "24 mm", "0 to 10 mm")),
    ({"action": {"12": {"bass": 2.4}}}, ("action.12.bass", "2.4", "unit")),
    ({"action": {"12": {"bass": "2.4 deg"}}}, ("action.12.bass", "deg", "length")),
    ({"action": {"21": {"bass": "2.4 mm"}}}, ("action.21.bass", "21", "1 to 20")),
    ({"action": {"12": {"bas": "2.4 mm"}}}, ("action.12.bas", "action.12.bass")),
    ({"action": {"12": {"each": ["2 mm"] * 7}}}, ("action.12.string_7", "1 to 6")),
    ({"action": {"12": {"bass": ["2 mm"]}}}, ("action.12.bass", "each")),
    ({"margin": {"left": "30 mm"}}, ("margin.left", "30 mm", "-2 to 20 mm")),
    ({"relief": {"middle": "0.2 mm ± 20 mm"}}, ("relief.middle", "10 mm", "at most 5 mm")),
    ({"gauge": {"action": "felt gauge"}, "gap": {"end": "1 mm"}}, ("gauge.action", "feeler gauge")),
    ({"colour": {"top": "1 mm"}}, ("colour.top", "known")),
    ({}, ("action.12",)),
    ("this = is not", ("TOML",)),
    ("/nowhere/at_all.toml", ("cannot be read",)),
])
def test_what_is_wrong_is_said(design, change, said):
    with pytest.raises(SheetError) as e:
        measured(change, design)
    for words in said:
        assert words in str(e.value)


def test_everything_wrong_is_said_at_once(design):
    with pytest.raises(SheetError) as e:
        measured({"action": {"12": {"bass": "24 mm", "treble": 2}}, "gap": {"end": "1 deg"}}, design)
    assert len(e.value.problems) == 3


def test_left_and_right_are_what_the_eye_sees():
    assert side_of("left", "right") == "bass" == side_of("right", "left")
    assert side_of("right", "right") == "treble" == side_of("left", "left")


@settings(max_examples=20, deadline=None)
@given(bass=st.floats(0.8, 6), treble=st.floats(0.5, 5), relief=st.floats(-0.1, 0.6), nut=st.floats(0.2, 0.8),
       gap=st.floats(0.3, 3), aside=st.floats(-2, 2), turns=st.tuples(*[st.floats(-0.3, 0.3)] * 3),
       handed=st.sampled_from(["right", "left"]))
def test_the_instrument_as_measured_shows_what_was_measured(bass, treble, relief, nut, gap, aside, turns, handed):
    t = dict(zip(("tilt", "bass", "treble"), turns, strict=True))
    values = {"action.12.bass": bass, "action.12.treble": treble, "relief.middle": relief, "nut.bass": nut, "gap.end": gap,
              "margin.left": 3.5 + aside, "margin.right": 3.5 - aside}
    read = shown(pose(as_measured(SLACK_WATER, Measured(values, dict.fromkeys(values, 0.03), handed), **t), **t), values, handed)
    for k in (k for k in values if not k.startswith("margin")):
        assert float(read[k]) == pytest.approx(values[k], abs=2e-5), k
    # Both margins together say how wide the board is; only their difference is the instrument's setting.
    assert float(read["margin.left"] - read["margin.right"]) == pytest.approx(2 * aside, abs=2e-5)


def test_many_instruments_at_once_are_each_as_measured_alone(design):
    d, rng = design.dimensions(), np.random.default_rng(2)
    values = {"action.12.bass": rng.uniform(1, 4, 5), "action.12.treble": rng.uniform(1, 3, 5),
              "relief.middle": rng.uniform(0, 0.5, 5)}
    errors, t = dict.fromkeys(values, 0.03), rng.uniform(-0.5, 0.5, 5)
    many = as_measured(d, Measured(values, errors), tilt=t)
    for i in range(5):
        one = as_measured(d, Measured({k: float(v[i]) for k, v in values.items()}, errors), tilt=float(t[i]))
        np.testing.assert_allclose(np.asarray(many.h_saddle)[:, i], one.h_saddle, atol=1e-12)


@pytest.mark.parametrize("key", ["action.12.bass", "action.7.string_4", "margin.left", "gap.end"])
@pytest.mark.parametrize("handed", ["right", "left"])
def test_slopes_of_readings_against_differences(design, key, handed):
    d, h = design.dimensions(), 1e-5
    exact = exact_of(key, handed)
    p = pose(d, tilt=0.3, bass=0.1, treble=-0.2)
    slopes = exact.slopes(p)
    assert float(exact.value(p)) == pytest.approx(float(shown(p, [key], handed)[key]))
    for name in ("tilt", "bass", "treble"):
        at = {"tilt": 0.3, "bass": 0.1, "treble": -0.2}
        up, down = (float(exact.value(pose(d, **at | {name: at[name] + s * h}))) for s in (1, -1))
        assert float(slopes[name]) == pytest.approx((up - down) / (2 * h), abs=1e-6)
    for name in ("z_p", "z_head", "z_receiver", "gap_joint"):
        if name in slopes:
            up, down = (float(exact.value(pose(d.replaced(**{name: getattr(d, name) + s * h}), tilt=0.3, bass=0.1, treble=-0.2)))
                        for s in (1, -1))
            assert float(slopes[name]) == pytest.approx((up - down) / (2 * h), abs=1e-6), name
