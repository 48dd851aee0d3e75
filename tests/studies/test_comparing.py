"""Joints side by side: readings by hand where a hand can, scores as they are said to be. mm, N, cents, turns."""

from __future__ import annotations

import math

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.joint_files import joint_names, load_joint
from lutherie_geom.joint.layout import lay_out
from lutherie_geom.joint.layout_readings import coupling_of_screws, own_adjuster, read_layout
from lutherie_geom.joint.pitch import drift, strings_of
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, open_length
from lutherie_geom.mechanics.layout_forces import carried_forces, force_bounds, least_preload, least_preloads, load_factor
from lutherie_geom.mechanics.pull import axis_middle, string_pull
from lutherie_geom.studies.comparing import CRITERIA, Comparison, Criterion, compare
from lutherie_geom.studies.joint_page import LIFT, joint_page

GUITAR = lg.load("slack_water")


@pytest.fixture(scope="module")
def table() -> Comparison:
    return compare(GUITAR)


def test_every_archetype_has_its_page(table: Comparison) -> None:
    assert len(table.pages) == 1 + len(joint_names()) >= 10 and table.names[0] == GUITAR.name
    for page in table.pages:
        keys = {r.key for r in page.readings}
        assert {"constraint.free", "page.preload", "page.holds", "page.parts", "gap.least", "pitch.fretted"} <= keys
        assert page.name in str(page)
    assert np.isfinite(table.scores).all() and table.scores.min() >= 0 and table.scores.max() <= 1


def test_built_in_joint_by_its_own_functions(table: Comparison) -> None:
    page = table.pages[table.names.index("Upper pivot, lower adjuster, two cones")]
    d = GUITAR.dimensions()
    assert page.own == "tilt screw" and page.measures["fights"] == 1
    assert page.measures["fit"] == pytest.approx(0.2)  # four places across, 0.1 mm each, added as squares
    lifted = pose(d, tilt=page.lift_turns)
    assert float((action(lifted, 12) - action(pose(d), 12)).mean()) == pytest.approx(LIFT, abs=1e-9)
    cents = drift(strings_of(GUITAR, pose(d)), open_length(lifted))
    assert page.measures["drift"] == pytest.approx(float(np.abs(cents).max()), rel=1e-6)
    assert page.measures["force"] == pytest.approx(lg.read(GUITAR)["pitch.screw_force"].value, rel=0.01)
    assert page.travel is not None and page.measures["travel"] == pytest.approx(1.865, abs=0.001)
    # The strings draw the tilt screw; pushed back, it goes slack when the push's moment is theirs: by hand.
    push = 50 * (float(d.x_p) - float(d.x_nut) + GUITAR.headstock.length)
    weight = GUITAR.headstock.neck_mass * 9.80665 * (float(d.x_p) - float(d.x_nut) / 2)
    assert page.holds[0] == "pushed back"
    assert page.holds[1] == pytest.approx(page.measures["force"] * 60 / (push + weight), rel=0.02)


def test_a_joint_without_adjusters_is_told_and_scores_nothing_there(table: Comparison) -> None:
    page = next(p for p in table.pages if p.own is None)
    k = table.pages.index(page)
    assert page.name == "Fixed and shimmed joint" and page.travel is None and math.isnan(page.lift_turns)
    assert "no adjuster" in str(page.readings["page.own"])
    for c, v, s in zip(table.criteria, table.values[k], table.scores[k], strict=True):
        assert not math.isnan(v) or s == 0, c
    assert "none (0)" in str(table)


def test_scores_and_weights() -> None:
    c = Criterion("step", "step", "w", "mm", worst=0.25, best=0.05)
    np.testing.assert_allclose(c.score([0.3, 0.25, 0.15, 0.05, 0.01, np.nan, np.inf]), [0, 0, 0.5, 1, 1, 0, 0])
    assert Criterion("t", "t", "w", "mm", worst=0.0, best=2.0).score(np.inf) == 1
    few = ["full_width_hinge", "three_point_seat", "wedge"]
    one = compare(GUITAR, few, own=False, weights={c.key: float(c.key == "step") for c in CRITERIA})
    np.testing.assert_allclose(one.totals, 100 * one.scores[:, [c.key for c in one.criteria].index("step")])
    assert one.best.name == "Wedge at the heel's foot"
    assert one.weighed({"step": 0, "steer": 1}).best.name == "Three-point seat"  # of two alike the one given first
    # One more joint turns no order round, and its scores are its own.
    more = compare(GUITAR, [*few, "fixed_and_shimmed"], own=False)
    np.testing.assert_allclose(more.totals[:3], compare(GUITAR, few, own=False).totals)
    assert all(w in more.how() for w in ("0 at 0.25 mm", "all count alike", "scores 0"))
    assert "weight 3" in more.weighed({"step": 3}).how()
    for bad, words in (({"tone": 1}, "no criterion 'tone'"), ({"step": -1}, "allowed is 0"), ({"step": math.nan}, "finite"),
                       (dict.fromkeys([c.key for c in CRITERIA], 0), "all 0")):
        with pytest.raises(ValueError, match=words):
            one.weighed(bad)
    with pytest.raises(ValueError, match="joints is empty"):
        compare(GUITAR, [])
    with pytest.raises(KeyError, match="no criterion"):
        one.of("tone")


def test_which_adjuster_sets_the_action_and_how_far_the_others_pull() -> None:
    seen = np.array([[2.0, -1.5, -1.0], [2.0, -1.0, -1.5], [0.0, 12.0, -12.0]])
    assert own_adjuster(seen) == 0 and own_adjuster(seen[:, ::-1]) == 2
    # 1/16 turn of the bass screw lowers the bass string by 1.5/16 mm, of its own by 2/16. A mean would hide what steering does.
    assert coupling_of_screws(seen, 0) == pytest.approx((0.75, 1.5 / 16, 2 / 16))
    steer = np.array([[2.0, 1.0], [2.0, -1.0], [0.0, 12.0]])
    assert coupling_of_screws(steer).ratio == pytest.approx(0.5)
    assert coupling_of_screws(seen[:, :1], 0).ratio == 0
    assert np.isinf(coupling_of_screws(np.array([[0.0, 1.0], [2.0, 0.0]])).ratio)
    # The string that suffers most need not be that of the largest move; each of a batch is judged by itself.
    uneven = np.array([[2.0, 1.0], [0.5, 0.9]])
    assert coupling_of_screws(uneven) == pytest.approx((1.8, 0.9 / 16, 0.5 / 16))
    batch = coupling_of_screws(np.stack([seen[:2, :2], uneven], axis=-1))
    np.testing.assert_allclose(batch, np.transpose([(0.75, 1.5 / 16, 2 / 16), (1.8, 0.9 / 16, 0.5 / 16)]))


def test_bounds_where_balance_does_not_decide() -> None:
    """Two cones under a plain pull along the body: what one ball gives sideways the other takes, up to the cone's flank."""
    joint = lay_out("upper_pivot_two_cones", GUITAR)
    p = joint.pose()
    load, about = np.array([1000.0, 0, 0, 0, 0, 0]), axis_middle(p)
    own = carried_forces(joint, p, load, about, {"clamp screw": 0.0})
    assert set(own.undecided) == {"bass ball", "treble ball"} and "not decided" in str(own)
    found = {b.name: b for b in force_bounds(joint, p, load, about, {"clamp screw": 0.0})}
    assert (found["bass ball to the tail"].low, found["bass ball to the tail"].high) == pytest.approx((-500, -500))
    side = found["bass ball to the treble"]  # a 90 degree cone: as much sideways as along
    assert not side.decided and side.high == pytest.approx(500, rel=0.05) and side.low == pytest.approx(-500, rel=0.05)
    # Exact constraint: everything decided, and as the balance says.
    exact = lay_out("upper_pivot_cone_and_vee", GUITAR)
    q = exact.pose()
    pull = string_pull(GUITAR, q).wrench
    assert carried_forces(exact, q, pull, about).undecided == ()
    assert all(b.decided for b in force_bounds(exact, q, pull, about))
    assert all(math.isnan(b.low) for b in force_bounds(exact, q, -pull, about, {"clamp screw": 0.0}))


def test_least_tensions_of_all_clamps_together() -> None:
    """Never more than what one needs with the others as they are, and just enough: a hair less lifts."""
    joint = lay_out("fixed_and_shimmed", GUITAR)
    p = joint.pose()
    pull, about = string_pull(GUITAR, p).wrench, axis_middle(p)
    least = least_preloads(joint, p, pull, about)
    total = sum(least.values())
    assert total > 0 and least_preload(joint, p, pull, about, "lower bolt", {"upper bolt": 0.0}) == pytest.approx(total, rel=1e-6)
    less = {k: 0.98 * v for k, v in least.items()}
    assert math.isnan(load_factor(joint, p, pull, np.array([0, 1.0, 0, 0, 0, 0]), about, less))


def test_load_factor_by_hand() -> None:
    """One bolt through a flat face, a moment that opens it: the face's edge is the hinge."""
    joint = lay_out("fixed_and_shimmed", GUITAR)
    p, about = joint.pose(), np.array([0.0, 0.0, -50.0])
    hold = {"upper bolt": 1000.0, "lower bolt": 1000.0}
    more = np.array([0, 0, 0, 0, 1000.0, 0])
    assert load_factor(joint, p, np.zeros(6), more, about, hold) == pytest.approx(2000 * (45 + 2.5) / 1000, rel=0.02)


def test_fretted_notes_at_any_setting() -> None:
    joint = lay_out("upper_pivot_two_cones", GUITAR)
    rest = read_layout(joint, design=GUITAR)["pitch.fretted"].value
    own = lg.read(GUITAR)["pitch.fretted"].value
    np.testing.assert_allclose([r[1:] for r in rest], [r[1:] for r in own], atol=1e-9)
    turned = read_layout(joint, {"tilt screw": 0.5}, GUITAR)["pitch.fretted"].value
    assert max(abs(a - b) for r, s in zip(rest, turned, strict=True) for a, b in zip(r[1:], s[1:], strict=True)) > 0.5


def test_a_joint_of_ones_own(tmp_path) -> None:
    file = load_joint("upper_pivot_cone_and_vee").model_copy(update={"name": "Ours"})
    assert joint_page(file, GUITAR).name == "Ours"
    mine = compare(GUITAR, ["upper_pivot_cone_and_vee", file], own=False)
    assert mine.totals[0] == pytest.approx(mine.totals[1])
