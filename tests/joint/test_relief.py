"""A neck that bends to another relief, against a beam held at the joint fret, integrated by the test itself."""

import numpy as np
import pytest

from lutherie_geom.design.load import load, names
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.relief import by_relief, with_relief
from lutherie_geom.joint.strings import action, crown
from lutherie_geom.mechanics.neck_relief import neck_bow


def crowns(d):
    """Crowns of all frets on the centreline, and the underside of the middle of the nut's strings, in the body frame: x, z."""
    frets = np.arange(1, d.last_fret + 1)
    x = np.append(d.x_fret(frets), d.x_nut)
    z = np.append([crown(d, f, 0.0) for f in frets], np.mean(d.h_nut))
    p = pose(d).to_body(x, 0.0, z)
    return np.asarray(p.x), np.asarray(p.z)


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize(("more", "place"), [(0.3, 0.0), (-0.1, 0.0), (0.3, -18.0)])
def test_frets_move_as_a_beam_held_at_the_joint(name, more, place):
    d = load(name).dimensions().replaced(joint_fret_x=place)
    (x, was), (_, now) = crowns(d), crowns(with_relief(d, d.relief + more))
    rise, joint = now - was, x[d.joint_fret - 1]
    out = np.maximum(joint - x, 0.0)
    # Even bending: the way out grows with the square of the distance; the relief tells how strongly.
    span = out[0]
    np.testing.assert_allclose(rise, more * (2 * out / span) ** 2, atol=0.004)  # heel, joint fret and tongue: not at all


def test_no_change_is_no_change_and_batches_follow():
    d = load("slack_water").dimensions()
    same = with_relief(d, d.relief)
    assert float(same.alpha) == float(d.alpha) and np.array_equal(same.h_nut, d.h_nut)
    reliefs = np.array([[0.0, 0.1, 0.2], [0.3, 0.4, 0.5]])
    many = action(pose(with_relief(d, reliefs)), 12)
    assert many.shape == (d.strings, 1, 2, 3)
    one = action(pose(with_relief(d, 0.4)), 12)
    np.testing.assert_allclose(many[..., 1, 1], one, atol=1e-12)


@pytest.mark.parametrize("name", names())
def test_action_by_relief_as_string_pull_bends_the_neck(name):
    """The library's own beam under its strings, whose stiffness and lever run along the neck: nut by relief within a tenth."""
    design = load(name)
    d, bow = design.dimensions(), neck_bow(design)
    out = (d.x_fret(d.joint_fret) - d.x_nut) / (d.x_fret(d.joint_fret) - d.x_fret(1))
    assert float(bow.nut / bow.relief) == pytest.approx(4 * out**2, rel=0.1)
    more = action(pose(with_relief(d, d.relief + 0.2)), 12).mean() - action(pose(d), 12).mean()
    assert more == pytest.approx(0.5 * 0.2 * float(bow.nut / bow.relief), rel=0.1)  # the string's middle goes half as far


def test_slopes_against_differences():
    d, h = load("long_reach").dimensions().replaced(joint_fret_x=-12.0), 1e-4
    up, down = (with_relief(d, d.relief + s * h) for s in (1, -1))
    for field, slope in by_relief(d).items():
        np.testing.assert_allclose((np.asarray(getattr(up, field)) - getattr(down, field)) / (2 * h), slope, atol=1e-8,
                                   err_msg=field)
