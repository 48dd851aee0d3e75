"""Ways of working: the shipped table, a builder's own file, and what is said of a wrong one."""

from __future__ import annotations

import math

import pytest

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.processes import ProcessError, processes
from lutherie_geom.design.spread import SpreadError


def test_shipped_table_is_marked_and_plausible():
    table = processes()
    assert table.mark == "common practice, no source" and table.minutes_mark == "invented for the class"
    for feature in table.features:
        for p in table.holding(feature):
            held = p.holds[feature]
            s = held.at(40.0)
            assert held.minutes > 0 and 0 < s.high <= 25 and s.low == -s.high, (p.name, feature)
            assert s.unit == ("rad" if feature == "angle" else "mm")
    assert table.mark in str(table) and table.minutes_mark in str(table)


def test_machines_carry_their_caution():
    table = processes()
    for name in ("drill press", "router with template", "CNC", "thickness sander", "slotting template", "drilling jig"):
        assert table[name].caution and table[name].caution in str(table), name


@pytest.mark.parametrize("feature", list(processes().features))
def test_tighter_work_costs_more(feature):
    """No shipped process is both tighter and cheaper than the loosest one, and the tightest is the dearest or near it."""
    rows = sorted((p.holds[feature].at(40.0).standard_deviation, p.holds[feature].minutes) for p in processes().holding(feature))
    assert rows[-1][1] == min(m for _, m in rows)
    assert len({m for _, m in rows}) == len(rows)


def test_angles_in_degrees_and_grades_by_size():
    table = processes()
    assert table["CNC"].holds["angle"].at().high == pytest.approx(math.radians(0.05))
    assert table["measured and chosen"].holds["thickness"].at(6.0).high == pytest.approx(0.0375)
    with pytest.raises(SpreadError, match="size"):
        table["measured and chosen"].holds["thickness"].at()


OWN = """
minutes_mark = "timed on ten pieces"
[processes."my drill"]
what = "bench drill"
[processes."my drill".holds]
"Hole Position" = {spread = "± 0.2 mm, 3 sd", minutes = 9}
"""


def test_own_file(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    own = processes(path)
    (p,) = own.holding("hole position")
    assert p.name == "my drill" and p.holds["hole position"].at().standard_deviation == pytest.approx(0.2 / 3)
    assert own.mark == "the builder's own" and own.minutes_mark == "timed on ten pieces"
    with pytest.raises(CatalogueError, match="no process makes 'angle'"):
        own.holding("angle")
    with pytest.raises(CatalogueError, match="kind of feature"):
        own.holding("hole colour")
    with pytest.raises(CatalogueError, match="my drill"):
        own["my dril"]


def test_everything_wrong_is_said_at_once(tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text("""
colour = "red"
[processes.a.holds]
"hole position" = {spread = "± -0.2 mm", minutes = 9}
"hole depth" = {spread = "± 0.2 mm", minutes = -1}
"hole hight" = {spread = "± 0.2 mm", minutes = 1}
"face" = {spread = "18 mm ± 0.2", minutes = 1}
"outline" = "± 0.2 mm"
"thickness" = {spread = "IT19", minutes = 1}
[processes.b]
what = 3
hold = 1
""", encoding="utf-8")
    with pytest.raises(ProcessError) as e:
        processes(path)
    text = str(e.value)
    assert text.startswith("wrong.toml: 8 problems")
    for said in ("colour", "-0.2", "minutes is -1; it must be 0 min or more", "hole hight", "even and without a size",
                 "must be {spread", "IT19", "b: holds nothing"):
        assert said in text, said


@pytest.mark.parametrize("text, said", [("x = [", "not a TOML file"), ("", "there is none"),
                                        ("mark = 3\n" + OWN, "must be words"),
                                        ("features = 3\n" + OWN, "features: must be a table")])
def test_broken_file(tmp_path, text, said):
    path = tmp_path / "p.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProcessError, match=said):
        processes(path)
    with pytest.raises(ProcessError, match="cannot be opened"):
        processes(tmp_path / "nowhere.toml")
