"""Tilt: the root against the distance that the screw really sets, found by brute force; inverse; rule of thumb."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from lutherie_geom.theory.pose import POSE
from lutherie_geom.theory.tilt import TILT, TURNS, tilt_arm, tilt_rule

from .points import joint, matrix

PLACES = ("x_p", "z_p", "x_head", "z_head", "x_receiver", "z_receiver")


def ends(d, i=None):
    """Pivot, captive head and receiver as points, nominal."""
    at = {k: (v[i] if i is not None else v) for k, v in d.items()}
    return (np.array([at["x_p"], 0, at["z_p"]]), np.array([at["x_head"], 0, at["z_head"]]),
            np.array([at["x_receiver"], 0, at["z_receiver"]]))


def misfit(receiver, theta, psi, advance, length, pivot, head, rest):
    """How far the screw, put at its length, misses: in mm. The pose is done with scipy's rotations."""
    turn = matrix(psi, theta)
    middle = pivot - [advance, 0, 0]
    end = middle + turn @ (rest - pivot)
    if receiver == "dowel across":
        return np.linalg.norm(end - head) - length
    thread = turn @ ((head - rest) / np.linalg.norm(head - rest))
    return (end + length * thread - head)[0]


@pytest.mark.parametrize("receiver", TILT)
def test_root_keeps_the_screw_at_its_length(receiver):
    """2000 random joints, all three screws turned: the screw's length is met to 1e-11 mm."""
    d = joint(2000)
    pose = POSE[receiver](**d)
    worst = 0.0
    for i in range(2000):
        pivot, head, rest = ends(d, i)
        length = np.linalg.norm(head - rest) + d["pitch_tilt"][i] * d["tilt"][i]
        worst = max(worst, abs(misfit(receiver, pose.theta[i], pose.psi[i], pose.advance[i], length, pivot, head, rest)))
    assert worst < 1e-11


@pytest.mark.parametrize("receiver", TILT)
def test_root_is_the_one_nearest_to_rest(receiver):
    """A bracketing solver, started around zero, finds the same tilt."""
    d = joint(120, seed=8)
    pose = POSE[receiver](**d)
    for i in range(120):
        pivot, head, rest = ends(d, i)
        length = np.linalg.norm(head - rest) + d["pitch_tilt"][i] * d["tilt"][i]

        def miss(theta, i=i, length=length, pivot=pivot, head=head, rest=rest):
            return misfit(receiver, theta, pose.psi[i], pose.advance[i], length, pivot, head, rest)

        assert brentq(miss, -0.3, 0.3, xtol=1e-15, rtol=1e-14) == pytest.approx(pose.theta[i], abs=1e-12)


between = {"x_p": st.floats(-8, 15), "z_p": st.floats(-25, -5), "x_head": st.floats(20, 45), "z_head": st.floats(-110, -75),
           "x_receiver": st.floats(-40, -12), "z_receiver": st.floats(-110, -75), "pitch_tilt": st.floats(0.5, 1.5)}


@pytest.mark.parametrize("receiver", TILT)
@settings(max_examples=150, deadline=None)
@given(places=st.fixed_dictionaries(between), tilt=st.floats(-3, 3), psi=st.floats(-0.05, 0.05), advance=st.floats(-2, 2))
def test_turns_undo_tilt(receiver, places, tilt, psi, advance):
    theta = TILT[receiver](tilt=tilt, psi=psi, advance=advance, **places)
    assert TURNS[receiver](theta=theta, psi=psi, advance=advance, **places) == pytest.approx(tilt, abs=1e-11)


@pytest.mark.parametrize("receiver", TILT)
def test_positive_turns_raise_the_nut_and_more_turns_more(receiver):
    d = {k: v[:, None] for k, v in joint(300).items() if k in PLACES or k == "pitch_tilt"}
    turns = np.linspace(-3, 3, 61)
    theta = TILT[receiver](tilt=turns, psi=0.0, advance=0.0, **d)
    assert np.all(np.diff(theta, axis=1) > 0)
    assert np.all(np.sign(theta[:, turns > 0]) == 1) and np.all(np.sign(theta[:, turns < 0]) == -1)
    both_out = TILT[receiver](tilt=0.0, psi=0.0, advance=0.5, **d)
    assert np.all(both_out < 0), "both pivot screws out, tilt screw left alone: action down"


@pytest.mark.parametrize("receiver", TILT)
def test_rule_of_thumb_errs_with_the_square_of_the_turns(receiver):
    """Level screw, both receivers; the dowel also with a sloping screw."""
    slopes = (0.0, 8.0) if receiver == "dowel across" else (0.0,)
    for drop in slopes:
        places = {"x_p": 5.0, "z_p": -15.0, "x_head": 30.0, "z_head": -90.0 - drop, "x_receiver": -25.0, "z_receiver": -90.0}
        arm = tilt_arm(**places)
        pivot, head, rest = ends(places)
        direct = np.linalg.norm(np.cross(head - rest, rest - pivot)) / np.linalg.norm(head - rest)
        assert arm == pytest.approx(direct, rel=1e-14)
        error = []
        for turns in (1.0, 0.5, 0.25, 0.125):
            exact = TILT[receiver](tilt=turns, psi=0.0, advance=0.0, pitch_tilt=1.0, **places)
            error.append(abs(exact - tilt_rule(tilt=turns, pitch_tilt=1.0, arm=arm)))
        ratio = np.array(error[:-1]) / np.array(error[1:])
        assert np.all(ratio > 3.5), "halving the turns must quarter the error, or better"
