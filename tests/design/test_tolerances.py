"""Tolerances in design files: what may be written, what is kept, and errors that say field, value, unit and range."""

import copy
import dataclasses
import math
import pickle
import random

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import DesignError, from_text, names, save_values
from lutherie_geom.design.spread import Spread, SpreadError
from lutherie_geom.design.tolerance_files import has_spread
from lutherie_geom.design.tolerances import BENCH, Group, Tolerances, number_fields, unit_of_field
from lutherie_geom.studies.spreads import Spreads, parse_spread, spreads_from_toml

TEXT = (data_folder() / "designs" / "slack_water.toml").read_text("utf-8")
TEXT = TEXT.split("# What hand tools")[0].replace("1.4 mm ± 0.2", "1.4 mm")  # without its tolerances
PLAIN = from_text(TEXT)


def with_table(table):
    return from_text(f"{TEXT}\n[tolerances]\n{table}")


def swapped(old, new, text=TEXT):
    assert old in text
    return text.replace(old, new)


@pytest.mark.parametrize(("old", "new", "name", "unit", "low", "high"), [
    ('z = "-20 mm"', 'z = "-20 mm ± 0.2"', "pivot.z", "mm", -0.2, 0.2),
    ('z = "-20 mm"', 'z = "-20.2 mm to -19.8 mm"', "pivot.z", "mm", -0.2, 0.2),
    ('z = "-20 mm"', 'z = "-20 mm +0.3 -0.1"', "pivot.z", "mm", -0.1, 0.3),
    ('z = "-20 mm"', 'z = "-20 mm sd 0.1"', "pivot.z", "mm", -0.2, 0.2),
    ('z = "-20 mm"', 'z = "-20 mm ± 1/64 in rectangular"', "pivot.z", "mm", -25.4 / 64, 25.4 / 64),
    ('z = "-20 mm"', 'z = "-20 mm +- 0.3, 3 sd"', "pivot.z", "mm", -0.3, 0.3),
    ("[tongue]", '[woods]\nmoisture = "8.5 ± 1"\n\n[tongue]', "woods.moisture", "%", -1, 1),
    ("[tongue]", '[woods]\nmoisture = "8.5 % ± 1"\n\n[tongue]', "woods.moisture", "%", -1, 1),
    ("[tongue]", '[headstock]\nneck_mass = "0.6 to 0.8"\n\n[tongue]', "headstock.neck_mass", "kg", -0.1, 0.1),
    ("[clamp]", '[clamp]\npreload = "1500 N ± 100 lbf"', "clamp.preload", "N", -444.822, 444.822),
    ("[tongue]", '[[loads]]\nname = "pushed"\npush = "50 N ± 10"\n\n[tongue]', "loads[1].push", "N", -10, 10),
])
def test_beside_the_number(old, new, name, unit, low, high):
    d = from_text(swapped(old, new))
    s = d.tolerances.spreads[name]
    assert s.limits == pytest.approx((low, high), abs=1e-9, rel=1e-5) and s.unit == unit and s.nominal is None
    assert len(d.tolerances.spreads) == 1
    dims = d.dimensions()
    for f in dataclasses.fields(dims):  # the readings are those of the nominal
        assert np.all(getattr(dims, f.name) == getattr(PLAIN.dimensions(), f.name)), f.name


def test_the_angle_and_list_elements():
    text = swapped("saddle_heights = [", 'saddle_heights = ["12.5 mm ± 0.1", "12.5 mm", "12.4 mm to 12.6 mm", "12.5 mm", '
                   '"12 mm", "11 mm"]\nold = [', TEXT)
    text = "\n".join(line for line in text.split("\n") if not line.startswith("old = "))
    d = from_text(text)
    assert set(d.tolerances.spreads) == {"strings.saddle_heights[1]", "strings.saddle_heights[3]"}
    assert d.strings.saddle_heights[0] == 12.5 and d.strings.saddle_heights[2] == pytest.approx(12.5)
    s = Spreads.of_design(d)
    assert [v.string for v in s.variables(d.dimensions())] == [0, 2]
    d = from_text("\n".join(line for line in TEXT.split("\n") if not line.startswith("angle"))
                  .replace("[neck]", '[neck]\nangle = "0.2 deg ± 0.05"'))
    assert d.neck.angle == pytest.approx(math.radians(0.2))
    assert d.tolerances.spreads["neck.angle"].half == pytest.approx(math.radians(0.05))
    assert "± 0.05 deg" in str(d.tolerances)


def test_the_table():
    d = with_table(f'''
"pivot.z" = "± 0.2 mm"
tilt_screw.head_x = "+0.3 mm -0.1 mm"
"pocket.depth" = "{PLAIN.pocket.depth} mm ± 0.2"
"strings.saddle_heights" = "± 0.1 mm"
"strings.compensation" = "± 0.3 mm"
"strings.saddle_heights[2]" = "± 0.4 mm"
"heel.ball_height" = {{ measured = ["0.1 mm", "-0.1 mm", "0.3 mm"] }}
"pivot.set_bass" = "± 1/16 turn rectangular"
common = ["strings.compensation"]
[[tolerances.groups]]
names = ["pivot.z", "heel.ball_height"]
correlation = 0.5
''')
    t = d.tolerances
    assert t.groups[0].correlation[0, 1] == 0.5 and t.common == {"strings.compensation"}
    s = Spreads.of_design(d)
    dims = d.dimensions()
    found = [v.name for v in s.variables(dims)]
    heights = [n for n in found if n.startswith("strings.saddle_heights")]
    assert len(heights) == dims.strings and "strings.compensation" in found
    two = next(v for v in s.variables(dims) if v.name == "strings.saddle_heights[2]")
    assert two.spread.half == 0.4 and two.string == 1  # one string's own goes before that of the field
    # Bench errors are 0 as designed: a sample keeps its mean.
    ball = next(v for v in s.variables(dims) if v.name == "heel.ball_height")
    assert ball.spread.mean == pytest.approx(0.1) and ball.spread.standard_deviation == pytest.approx(0.2)
    built, off = s.built(dims, s.draw(dims, np.full((len(found), 5), 0.5)))
    assert built.z_joint == pytest.approx(dims.z_joint - 0.1) and off["bass"] == pytest.approx(0.0)
    for again in (pickle.loads(pickle.dumps(d)), copy.deepcopy(d), d.model_copy()):
        assert again.tolerances == t and again == d
    with pytest.raises(TypeError):
        t.spreads["pivot.z"] = None
    with pytest.raises(dataclasses.FrozenInstanceError):
        t.common = frozenset()
    assert with_table("").tolerances == Tolerances() and str(PLAIN.tolerances) == "none given"


def test_a_sample_in_a_file(tmp_path):
    sizes = [4.61, 4.55, 4.70, 4.48, 4.66]
    path = tmp_path / "own.toml"
    path.write_text(TEXT + '\n[tolerances]\n"pocket.depth" = { measured = "pockets.csv" }\n', "utf-8")
    for text in ("\n".join(f"{v} mm" for v in sizes), "depth [mm]\n# of last year's class\n" + "\n".join(map(str, sizes)),
                 "mm\n" + ",\n".join(map(str, sizes)), "\n".join(f"{v / 25.4!r} in" for v in sizes)):
        (tmp_path / "pockets.csv").write_text(text, "utf-8")
        d = lg.load(path)
        s = d.tolerances.spreads["pocket.depth"]
        assert s.mean + d.pocket.depth == pytest.approx(np.mean(sizes))
        assert s.standard_deviation == pytest.approx(np.std(sizes, ddof=1))
        assert np.array(s.limits) + d.pocket.depth == pytest.approx((min(sizes), max(sizes)))
    for text, said in (("1 mm\n2 mm", "holds 2 values; it must hold 3 or more"), ("1\n2\n3", "has no unit"),
                       ("depth [mm]\n1\nx\n3", "measured value 2: 'x'"), ("", "holds 0 values")):
        (tmp_path / "pockets.csv").write_text(text, "utf-8")
        with pytest.raises(DesignError, match=said):
            lg.load(path)
    (tmp_path / "pockets.csv").unlink()
    with pytest.raises(DesignError, match=r"tolerances.pocket.depth: measured file 'pockets.csv' cannot be read"):
        lg.load(path)


def test_a_sample_is_drawn_by_its_quantiles():
    sizes = [0.3, -0.2, 0.05, 0.0, 0.9, -0.1]
    s = Spread.measured(sizes)
    u = np.linspace(0, 1, 101)
    np.testing.assert_allclose(s.draw(u), np.quantile(sizes, u, method="hazen"), atol=1e-15)
    n = 400_000
    x = s.draw((np.arange(n) + 0.5) / n)
    assert x.mean() == pytest.approx(s.mean, abs=1e-6) and np.mean(sizes) == pytest.approx(s.mean)
    assert np.isnan(s.draw([-0.1, 1.1])).all() and s.limits == (-0.2, 0.9)
    assert str(s) == "measured, 6 pieces, -0.2 to 0.9 mm"
    for bad, said in (([1, 2], "2 values"), ([1, 2, math.nan], "finite"), ([1, 2, "x"], "must be numbers")):
        with pytest.raises(SpreadError, match=said):
            Spread.measured(bad)


@pytest.mark.parametrize(("kind", "s"), [
    ("normal", Spread.sd(0.3)), ("rectangular", Spread.plus_minus(0.3, "rectangular")),
    ("triangular", Spread("triangular", -0.1, 0.5)),
])
def test_third_and_fourth_moments(kind, s):
    n = 2_000_000
    x = s.draw((np.arange(n) + 0.5) / n) - s.mean
    third, fourth = s.skew_and_flat
    assert (x**3).mean() == pytest.approx(third, abs=1e-5) and (x**4).mean() == pytest.approx(fourth, rel=2e-3)


@pytest.mark.parametrize(("table", "said"), [
    ('"pivot.zz" = "± 0.2 mm"', "pivot.zz: no number of that name; did you mean 'pivot.z'"),
    ('"pivot.z" = "± -0.2 mm"', "tolerances.pivot.z: .*half -0.2 mm is negative.*0 mm or more"),
    ('"pivot.z" = "-19 mm to -21 mm"', "tolerances.pivot.z: .*limits crossed: lower -19 mm lies above upper -21 mm"),
    ('"pivot.z" = "-19 mm ± 0.2"', "tolerances.pivot.z: the spread is written about -19 mm, the design has -20 mm"),
    ('"pivot.z" = "-22 mm to -21 mm"', "tolerances.pivot.z: the design has -20 mm, outside -22 to -21 mm"),
    ('"pivot.z" = "± 0.2 deg"', "tolerances.pivot.z: .*does not measure a length"),
    ('"pivot.z" = 0.2', "tolerances.pivot.z: 0.2 is not a spread"),
    ('"pivot.z" = { sample = [] }', r"\['sample'\] is not known here"),
    ('"pivot.z" = { measured = 3 }', "must be a list of values or the name of a file"),
    ('"pivot.z" = { measured = ["1 mm", "2 mm"] }', "holds 2 values; it must hold 3 or more"),
    ('"pivot.z" = { measured = ["1 mm", "2 deg", "3 mm"] }', "measured value 2: .*does not measure a length"),
    ('"pivot.z" = { measured = ["1 mm", 2, "3 mm"] }', "measured value 2: 2 has no unit"),
    ('"board.last_fret" = "± 1"', "board.last_fret: is chosen, not made; it has no tolerance"),
    ('"tilt_screw.receiver" = "± 1"', "tilt_screw.receiver: is chosen, not made"),
    ('"limits.least_gap" = "± 0.1 mm"', "limits.least_gap: is wanted, not made"),
    ('"strings.saddle_heights" = "12 mm ± 0.1"', "holds one number a string; write ± and the tolerance alone"),
    ('"strings.saddle_heights[9]" = "± 0.1 mm"', "there is no 9; allowed is 1 to 6"),
    ('"pivot.z[1]" = "± 0.1 mm"', "it is one number, written 'pivot.z'"),
    ('"loads.push" = "± 1 N"', "a load is meant by its place"),
    ('common = ["pivot.z"]\n"pivot.z" = "± 1 mm"', "pivot.z: is one number anyway"),
    ('common = ["strings.compensation"]', "strings.compensation: is called common but has no tolerance"),
    ('common = "pivot.z"', "common: must be a list"),
    ('groups = 3', "groups: each needs names"),
    ('"pivot.z" = "± 1 mm"\n[[tolerances.groups]]\nnames = ["pivot.z", "pivot.x"]\ncorrelation = 0.5',
     "pivot.x: stands in a group but"),
    ('"pivot.z" = "± 1 mm"\n"pivot.x" = "± 1 mm"\n[[tolerances.groups]]\nnames = ["pivot.z", "pivot.x"]\ncorrelation = 1.5',
     "1.5 is outside -1 to 1"),
    ('"strings.compensation" = "± 1 mm"\n"pivot.x" = "± 1 mm"\n[[tolerances.groups]]\n'
     'names = ["strings.compensation", "pivot.x"]\ncorrelation = 0.5',
     "strings.compensation: errs string by string; say common before grouping it"),
])
def test_what_is_wrong_in_the_table(table, said):
    with pytest.raises(DesignError, match=said):
        with_table(table)


def test_everything_is_told_at_once():
    text = swapped('z = "-20 mm"', 'z = "-20 mm ± -0.2"').replace("last_fret = 20", 'last_fret = "20 ± 1"')
    text = text.replace('crown = "1.1 mm"', 'crown = "1.2 mm to 1.0 mm"').replace('relief = "', 'reliev = "1 mm"\nrelief = "')
    text += ('\n[tolerances]\n"tongue.gapp" = "± 1 mm"\n"board.thickness" = "± 1 kg"\n"pivot.x" = "± 0.1 mm"\n'
             '"pivot.spacing" = "± 1 mm"\n[[tolerances.groups]]\nnames = ["pivot.x", "pivot.spacing"]\n'
             "correlation = [[1, 0.5], [0.4, 1]]\n")
    with pytest.raises(DesignError) as caught:
        from_text(text)
    said = str(caught.value)
    for part in ("pivot.z: '-20 mm ± -0.2': half -0.2 mm is negative", "board.last_fret: is chosen", "not symmetric, 0.5 in",
                 "board.crown: '1.2 mm to 1.0 mm'", "board.reliev: unknown key", "did you mean 'tongue.gap'",
                 "tolerances.board.thickness"):
        assert part in said, said
    assert len(caught.value.problems) == 7
    with pytest.raises(DesignError, match="is a tolerance without its number"):
        from_text(swapped('z = "-20 mm"', 'z = "± 0.2 mm"'))
    with pytest.raises(DesignError, match=r"pivot.z: -200 mm; allowed is -80 to -3 mm"):
        from_text(swapped('z = "-20 mm"', 'z = "-200 mm ± 1"'))
    with pytest.raises(DesignError, match=r"tolerances.pivot.z: has a tolerance beside its number too"):
        from_text(swapped('z = "-20 mm"', 'z = "-20 mm ± 1"') + '\n[tolerances]\n"pivot.z" = "± 1 mm"\n')


def test_windows_are_left_alone():
    d = from_text(TEXT + '\n[limits]\naction_bass = "2.2 mm to 2.6 mm"\ncentring = "± 0.4 mm"\n')
    assert not d.tolerances and d.limits.action_bass.target == pytest.approx(2.4)


def saved(tmp_path, text, **changes):
    path = tmp_path / "own.toml"
    path.write_text(text, "utf-8")
    save_values(path, {k.replace("__", "."): v for k, v in changes.items()})
    return lg.load(path), path.read_text("utf-8")


@pytest.mark.parametrize(("stood", "new", "value", "limits"), [
    ("-20 mm ± 0.2", "-21 mm", -21, (-0.2, 0.2)),
    ("-20 mm ± 0.2 rectangular", "-0.8 in", -20.32, (-0.2, 0.2)),
    ("-20 mm +0.3 -0.1", "-0.8 in", -20.32, (-0.1, 0.3)),
    ("-20.2 mm to -19.8 mm", "-21 mm", -21, (-0.2, 0.2)),
    ("-20 mm sd 0.1", "-21 mm", -21, (-0.2, 0.2)),
    ("-20 mm ± 0.3, 3 sd", "-21 mm", -21, (-0.3, 0.3)),
    ("-20 mm ± 0.2", "-21 mm ± 0.5", -21, (-0.5, 0.5)),
    ("-20 mm", "-21 mm ± 0.5", -21, (-0.5, 0.5)),
])
def test_saving_keeps_a_tolerance(tmp_path, stood, new, value, limits):
    d, text = saved(tmp_path, swapped('z = "-20 mm"', f'z = "{stood}"  # drilled'), pivot__z=new)
    assert d.pivot.z == pytest.approx(value) and "# drilled" in text
    assert d.tolerances.spreads["pivot.z"].limits == pytest.approx(limits)
    before = parse_spread(stood if "±" in stood or "to" in stood or "+" in stood or "sd" in stood else new)
    if "±" not in new:
        now = d.tolerances.spreads["pivot.z"]
        assert (now.kind, now.sds) == (before.kind, before.sds)


def test_saving_with_the_table(tmp_path):
    for entry in ('"pivot.z" = "-20 mm ± 0.2"', 'pivot.z = "-20.2 mm to -19.8 mm"', '"pivot.z" = "± 0.2 mm"'):
        d, text = saved(tmp_path, f"{TEXT}\n[tolerances]\n{entry}  # mine\n", pivot__z="-21 mm", woods__moisture=9.0)
        assert d.pivot.z == -21 and d.tolerances.spreads["pivot.z"].limits == pytest.approx((-0.2, 0.2)) and "# mine" in text
    sample = '"pivot.z" = { measured = ["-20.1 mm", "-20.2 mm", "-20.3 mm"] }'
    d, _ = saved(tmp_path, f"{TEXT}\n[tolerances]\n{sample}\n", pivot__z="-21 mm")
    assert d.tolerances.spreads["pivot.z"].mean == pytest.approx(0.8)  # the pieces stay what they are
    d, _ = saved(tmp_path, f'{TEXT}\n[tolerances]\n"strings.saddle_heights[1]" = "12 mm ± 0.1"\n',
                 strings__saddle_heights=["13 mm"] * 6)
    assert d.strings.saddle_heights[0] == 13 and d.tolerances.spreads["strings.saddle_heights[1]"].half == pytest.approx(0.1)
    d, _ = saved(tmp_path, TEXT + '\n[woods]\nmoisture = "8.5 ± 1"\n', woods__moisture="9")
    assert d.woods.moisture == 9 and d.tolerances.spreads["woods.moisture"].half == 1
    path = tmp_path / "own.toml"
    before = path.read_text("utf-8")
    with pytest.raises(DesignError):
        save_values(path, {"pivot.z": "-21 mm ± -1"})
    assert path.read_text("utf-8") == before
    d, _ = saved(tmp_path, swapped('z = "-20 mm"', 'z = "-20 mm"'), **{"strings__compensation": ["1 mm ± 0.1"] + ["2 mm"] * 5})
    assert d.tolerances.spreads["strings.compensation[1]"].half == pytest.approx(0.1)
    save_values(path, {"strings.compensation": ["3 mm"] * 6})
    assert lg.load(path).tolerances.spreads["strings.compensation[1]"].half == pytest.approx(0.1)


def test_spread_files_know_the_design_s_numbers(tmp_path):
    path = tmp_path / "workshop.toml"
    path.write_text('[spreads]\nz_p = "± 0.2 mm"\n"pivot.x" = "-3.6 mm ± 0.2"\n"heel.yaw" = "± 0.2 deg"\n'
                    '"board.thickness" = { measured = "boards.csv" }\n[[groups]]\nnames = ["z_p", "pivot.x"]\n'
                    "correlation = 0.6\n", "utf-8")
    (tmp_path / "boards.csv").write_text("mm\n-0.1\n0.0\n0.2\n")
    s = spreads_from_toml(path)
    d = lg.load("slack_water").dimensions()
    with pytest.raises(SpreadError, match=r"board.thickness: the joint's dimensions do not tell its value"):
        s.variables(d)
    path.write_text(path.read_text("utf-8").replace('{ measured = "boards.csv" }', '"± 0.1 mm"'), "utf-8")
    s = spreads_from_toml(path)
    assert [v.name for v in s.variables(d)] == ["z_p", "pivot.x", "heel.yaw", "board.thickness"]
    assert s.correlation(d)[0, 1] == 0.6
    built, off = s.built(d, [0.1, 0.25, 0.0, 0.1])
    assert built.z_p == pytest.approx(d.z_p + 0.1) and off["bass"] == pytest.approx(-0.25 / d.pitch_pivot)
    with pytest.raises(SpreadError, match=r"pivot.x: is no dimension and may turn the screws too; use built"):
        s.moved(d, np.zeros(4))
    for name, said in (("pivot.xx", "did you mean 'pivot.x'"), ("board.last_fret", "is chosen, not made")):
        with pytest.raises(SpreadError, match=said):
            parse_spread("± 0.1 mm", name)


def test_demo_designs_have_believable_tolerances():
    for name in ("slack_water", "long_reach", "cross_tide"):
        d = lg.load(name)
        t = d.tolerances
        assert 18 <= len(t.spreads) <= 24, name
        for field, s in t.spreads.items():
            sd = s.standard_deviation
            assert {"mm": 0.02, "rad": 0.0005, "turn": 0.02}[s.unit] <= sd, field
            assert sd <= (500 if field == "body.dome_radius" else 0.3), field
        assert any(s.kind == "rectangular" for s in t.spreads.values())
    assert any(s.kind == "measured" for s in lg.load("long_reach").tolerances.spreads.values())


def test_names_and_units():
    fields = number_fields()
    assert len(fields) > 90 and not set(BENCH) & set(fields)
    assert fields["neck.angle"] == "rad" and fields["tilt_screw.spring_rate"] == "N/mm" and "limits.least_gap" not in fields
    assert unit_of_field("strings.compensation[3]") == "mm" and unit_of_field("loads[2].weights") == "times the weight"
    for name in ("loads.push", "pivot.z[1]", "strings.gauges", "board.joint_fret", "x", "", "pivot", "pivot.", "loads[1]"):
        assert unit_of_field(name) is None, name
    # Every number of the model can be given a tolerance in the table.
    written = {"mm": " mm", "rad": " deg", "N": " N"}
    lines = [f'"{n}" = "± 0.001{written.get(u, "")}"' for n, u in fields.items() if not n.startswith("loads.")]
    assert len(with_table("\n".join(lines)).tolerances.spreads) == len(lines)
    assert has_spread("18 mm +0.3/-0") and not any(map(has_spread, ("1-1/2 in", "-20 mm", "1e-3 mm", "flat", "", 3, None)))
    with pytest.raises(SpreadError, match="no number of that name"):
        Tolerances({"pivot.zz": Spread.plus_minus(1.0)})
    two = {"pivot.z": Spread.plus_minus(1.0), "pivot.x": Spread.plus_minus(1.0)}
    assert Tolerances(two, (Group(("pivot.z", "pivot.x"), 0.1),))


WRITTEN = ['± 0.2', '± 1/64 in', '+0.2 -0.1 triangular', 'sd 0.1', '± -1', '±', '+0.3 -0.1', 'to 18 mm', 'sd -1',
           '± 1e400', '± nan', '± 0.2 measured', '± 1/0 in', '+0.3',
           'normal', 'to', '± 0.2, 0 sd', '± 0.2 rectangluar', 'sd', '± 9' + '9' * 400, '± ± 1']
TABLES = ['{ measured = ["1 mm", "2 mm", "3 mm"] }', '{ measured = [] }', '"± 0.1 mm"', '"± 0.1"', '3', '[1]', 'true',
          '"± 1 turn"', '{ a = { b = 1 } }', '{ measured = "\\u0000" }', '{ measured = "/" }', '{ measured = [[1], {}, true] }',
          '1979-05-27', '"± 1/0 turn"']


@pytest.mark.parametrize("part", range(3))
def test_whatever_is_written_loads_or_is_told(part):
    """Nothing but a design or a DesignError comes out (fixed seed)."""
    rng = random.Random(part)
    texts = [(data_folder() / "designs" / f"{n}.toml").read_text("utf-8") for n in names()]
    seen = {"read": 0, "told": 0}
    for k in range(150):
        lines = rng.choice(texts).split("\n")
        for _ in range(rng.choice((0, 1, 1, 2))):
            quoted = [i for i, line in enumerate(lines) if ' mm"' in line]
            j = rng.choice(quoted)
            lines[j] = lines[j].replace(' mm"', f' mm {rng.choice(WRITTEN)}"', 1)
        if rng.random() < 0.6:
            if "[tolerances]" not in lines:
                lines.append("[tolerances]")
            at = lines.index("[tolerances]") + 1
            odd = ("groups", "common", "pivot", "loads[1].push", "strings.compensation[7]", "a.b.c", "")
            lines.insert(at, f'"{rng.choice([*number_fields(), *BENCH, *odd])}" = {rng.choice(TABLES)}')
        try:
            d = from_text("\n".join(lines))
            seen["read"] += 1
            if d.tolerances:
                s = Spreads.of_design(d)
                dims = d.dimensions()
                x = s.draw(dims, np.full((len(s.variables(dims)), 2), 0.3))
                assert np.isfinite(x).all()
        except DesignError as e:
            seen["told"] += 1
            assert all(p.sentence for p in e.problems)
        except Exception as e:
            raise AssertionError(f"text {k} of part {part}: {type(e).__name__} {e}\n" + "\n".join(lines)) from e
    assert seen["read"] > 15 and seen["told"] > 60, seen
