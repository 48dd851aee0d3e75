"""Files that describe joints: what is wrong in them is said at once, field by field, and nothing odd slips through."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lutherie_geom.design import DesignError
from lutherie_geom.design.joint_files import joint_from_text, joint_from_values, joint_names, joint_text, load_joint
from lutherie_geom.design.joints import KINDS
from lutherie_geom.joint.layout import lay_out

WEDGE = """name = "Wedge behind the whole face"
[[contacts]]
name = "wedge"
kind = "wedge under face"
at = ["0 mm", "0 mm", "-50 mm"]
faces = [-1, 0, 0]
along = [0, 0, 1]
size_along = "90 mm"
size_across = "40 mm"
angle = "10 deg"
[[contacts]]
name = "lower pin"
kind = "ball on flat"
at = ["-12 mm", "0 mm", "-70 mm"]
faces = [0, 1, 0]
[[contacts]]
name = "upper pin"
kind = "ball on flat"
at = ["-12 mm", "0 mm", "-30 mm"]
faces = [0, 1, 0]
[[adjusters]]
name = "wedge screw"
contact = "wedge"
changes = "slide"
pitch = "0.8 mm"
"""

BAD = """name = "Bad"
tolerance = "0.1"
[[contacts]]
name = "one"
kind = "ball in cove"
at = ["1 mm", "2 mm", "3 mm"]
[[contacts]]
name = "two"
kind = "link"
at = ["1 mm", "2 mm", "3000 mm"]
head = ["1 mm", "2 mm"]
[[contacts]]
name = "rim"
kind = "ball on rim"
at = ["1 mm", "2 mm", "3 mm"]
faces = [0, 0, 0]
ball_radius = "3 mm"
rim_radius = "0.1 mm"
colour = "red"
[[contacts]]
name = "vee"
kind = "ball in vee"
at = ["1 mm", "2 mm", "3 mm"]
faces = [1, 0, 0]
along = [1, 0.1, 0]
[[adjusters]]
name = "screw"
contact = "vee"
changes = "length"
pitch = "9 mm"
[[adjusters]]
name = "other"
contact = "vee"
changes = "seat"
pitch = "1 mm"
"""


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(DesignError) as e:
        joint_from_text(BAD, "bad.toml")
    said = {p.field: p.sentence for p in e.value.problems}
    assert "no unit" in said["tolerance"]
    assert said["contacts.one.kind"].endswith("did you mean 'ball in cone'?")
    assert "3000 mm; allowed is -600 to 600 mm" in said["contacts.two.at"]
    assert "three lengths" in said["contacts.two.head"]
    assert "length of 0" in said["contacts.rim.faces"] and "allowed is 0.5 to 10 mm" in said["contacts.rim.rim_radius"]
    assert said["contacts.rim.colour"].startswith("unknown key")
    assert "5.7 deg from faces; allowed is 80 to 90 deg" in said["contacts.vee.along"]
    assert "allowed is 0.1 to 5 mm" in said["adjusters.screw.pitch"]
    assert said["adjusters.other.along"].startswith("is missing")


@pytest.mark.parametrize(("old", "new", "field", "words"), [
    ('changes = "slide"', 'changes = "length"', "adjusters.wedge screw.changes", "allowed is 'thickness' or 'slide'"),
    ('contact = "wedge"', 'contact = "wegde"', "adjusters.wedge screw.contact", "did you mean 'wedge'?"),
    ('name = "lower pin"', 'name = "upper pin"', "contacts.upper pin", "2 contacts have this name"),
    ('angle = "10 deg"', 'angle = "80 deg"', "contacts.wedge.angle", "allowed is 0.5 to 40 deg"),
    ("[[adjusters]]", "[adjusters]", "adjusters", "not a list of tables")])
def test_one_thing_wrong(old: str, new: str, field: str, words: str) -> None:
    with pytest.raises(DesignError) as e:
        joint_from_text(WEDGE.replace(old, new, 1))
    assert words in {p.field: p.sentence for p in e.value.problems}[field]


@pytest.mark.parametrize("name", joint_names())
def test_a_joint_written_out_is_the_joint_read_back(name: str) -> None:
    joint = load_joint(name)
    text = joint_text(joint)
    assert joint_from_text(text) == joint
    assert "tolerance" not in text.split("[[contacts]]")[0]  # 0.1 mm goes without saying


def test_unknown_joints_are_named_with_what_there_is() -> None:
    with pytest.raises(DesignError, match="did you mean 'wedge'"):
        load_joint("wegde")
    with pytest.raises(DesignError, match="is missing: a joint needs"):
        joint_from_text('name = "empty"')
    with pytest.raises(DesignError, match="at least one contact that holds"):
        joint_from_text('name = "loose"\n[[contacts]]\nname = "s"\nkind = "spring"\nat = ["0 mm", "0 mm", "0 mm"]\n'
                        'head = ["9 mm", "0 mm", "0 mm"]\npreload = "5 N"')


some = st.one_of(st.floats(), st.text(max_size=8))
odd = st.one_of(st.none(), st.booleans(), some, st.lists(some, max_size=4), st.dictionaries(some, some, max_size=1))
FIELDS = ("at", "along", "faces", "head", "name", "kind", "preload", "frame")
WHOLE = dict(name="one", at=["0 mm", "0 mm", "0 mm"], faces=[0, 0, 1], along=[1, 0, 0], head=["0 mm", "0 mm", "9 mm"],
             length="10 mm", size_along="9 mm", size_across="9 mm", angle="5 deg", thickness="1 mm", ball_radius="4 mm",
             rim_radius="2 mm", preload="5 N")


@settings(max_examples=100, deadline=None)
@given(kind=st.sampled_from([*KINDS, "nail"]), field=st.sampled_from(FIELDS), value=odd)
def test_no_odd_value_slips_through_or_breaks_the_reader(kind: str, field: str, value: object) -> None:
    table = WHOLE | {"kind": kind}
    known = KINDS[kind].model_fields if kind in KINDS else table
    try:
        joint = joint_from_values({"name": "odd", "contacts": [{k: v for k, v in table.items() if k in known} | {field: value}]})
    except DesignError as e:
        assert all(p.sentence for p in e.problems)
        return
    assert lay_out(joint).contacts.rows > 0
