"""Bad files: whatever the file holds, the answer is a design that reads in finite numbers, or sentences that say what is wrong.

Ten thousand files are made from the demo designs with a fixed seed (lines lost, doubled, swapped; wrong units, values and
types; unknown keys; bytes that are no text). No published source: the only law here is that nothing else may come out.
"""

import json
import math
import random

import pytest

import lutherie_geom as lg
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import DesignError, from_text, names
from lutherie_geom.joint.build import build_readings
from lutherie_geom.joint.readings import pose_readings, read_design
from lutherie_geom.joint.travel import travel
from lutherie_geom.joint.turning import turning_readings

pytestmark = pytest.mark.filterwarnings("error")  # an overflow on the way is a finding too
TEXTS = {n: (data_folder() / "designs" / f"{n}.toml").read_text("utf-8") for n in names()}
# Two more to start from: the neck angle, and the saddle heights, computed from a target.
TARGET = '[target]\nfret = 12\nbass = "2.4 mm"\ntreble = "1.8 mm"\n\n[board]'
TEXTS["angle from target"] = TEXTS["slack_water"].replace('angle = "0.20 deg"', "").replace("[board]", TARGET)
TEXTS["saddle from target"] = "\n".join(line for line in TEXTS["flat_calm"].replace("[board]", TARGET).split("\n")
                                        if not line.startswith("saddle_heights"))
VALUES = ['""', "nan", "inf", "-inf", "0", "-1", "1e400", "1e308", "true", "[]", "{}", "[1, 2]",
          '"nan mm"', '"inf mm"', '"-inf in"',
          '"1e999 mm"', '"1e300 m"', '"0 mm"', '"-0 mm"', '"mm"', '"1/0 in"', '"3 3/8 in"', '"12"', '"12 kg"',
          '"12 deg"', '"1,5 mm"',
          '"٣ mm"', '"1.5 mm mm"', '"__import__(1) mm"', '"0.001 mm"', '"-40 mm"', '"300 mm"', '"flat"', '"left"', '"sphere"',
          '"across"', '"dowel across"', '"rod along"', '"hollowed"', '"planed flat"', "1979-05-27",
          '["1 mm", "2 mm", "3 mm", "4 mm"]',
          '"\\u0000"', '"' + "9" * 400 + ' mm"',
          "99999999999999999999", "[[[]]]", '{ each = ["2 mm"] }', "8", "14", "30"]
UNITS = ["mm", "cm", "m", "in", "ft", "deg", "rad", "N", "kg", "parsec", "furlong", "", "%", "mm*mm", "°", '\\"']
LINES = ["[neck]", "[target]\nfret = 12\nbass = \"2.4 mm\"\ntreble = \"1.8 mm\"", "[target]", "[[strings]]",
         "[board.fall_away]\ndrop = \"0.3 mm\"",
         "[board.fall_away]\nshape = \"radius\"\ndrop = \"1 mm\"",
         "[clamp]\nbelow_axis = \"3 mm\"", "pich = \"1 mm\"", "x = ", "= 3", "[", "a.b.c = 1", "\x07",
         "[block]\ndepth = \"40 mm\"", "[block]\nfoot_z = \"-90 mm\"", "name = 3", "unicorn = \"1 mm\"", "\u202e", "[pivot.x]"]


def mutated(rng, text):
    """One to four random slips in a design's text."""
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        kind, k = rng.random(), rng.randrange(len(lines))
        keyed = [i for i, line in enumerate(lines) if " = " in line]
        j = rng.choice(keyed) if keyed else k
        key, _, value = lines[j].partition(" = ")
        if kind < 0.10:
            del lines[k]
        elif kind < 0.16:
            lines.insert(k, lines[rng.randrange(len(lines))])
        elif kind < 0.22:
            lines.insert(k, rng.choice(LINES))
        elif kind < 0.40:
            lines[j] = f"{key} = {rng.choice(VALUES)}"
        elif kind < 0.50:
            lines[j] = lines[j].replace(" mm", " " + rng.choice(UNITS))
        elif kind < 0.55:
            lines[j] = f"{key[:-1]}{rng.choice('aeiou_')} = {value}"
        elif kind < 0.60:
            other = rng.choice(keyed) if keyed else k
            lines[j] = f"{key} = {lines[other].partition(' = ')[2]}"
        elif kind < 0.95:
            size = rng.choice((rng.uniform(-3, 3), rng.uniform(-150, 150), rng.lognormvariate(0, 6), rng.uniform(0, 100)))
            lines[j] = (f"{key} = {rng.choice((rng.randrange(-2, 40), size))}" if value[:1].isdigit() else
                        f'{key} = "{size:.4g} {rng.choice(("mm", "mm", "mm", "in", "deg"))}"')
        else:
            where = rng.randrange(len(lines[k]) + 1)
            letter = chr(rng.choice((0, 34, 39, 61, 91, 93, 0x1F600, rng.randrange(32, 0x2FFF))))
            lines[k] = lines[k][:where] + letter + lines[k][where:]
        lines = lines or [""]
    return "\n".join(lines)


def settled(rng, text):
    """Several fields of a good design changed a little: most of these can be built."""
    lines = text.split("\n")
    for _ in range(rng.randrange(1, 6)):
        j = rng.randrange(len(lines))
        head, mark, tail = lines[j].partition('= "')
        number = tail.split(" ")[0]
        if mark and "/" not in tail.split('"')[0]:
            try:
                lines[j] = f"{head}{mark}{float(number) * rng.uniform(0.4, 1.8):.5g}{tail[len(number):]}"
            except ValueError:
                continue
    return "\n".join(lines)


def flat(value):
    if isinstance(value, list | tuple):
        for v in value:
            yield from flat(v)
    else:
        yield value


def assert_finite(readings):
    for r in readings:
        for v in flat(r.value):
            assert not isinstance(v, float) or math.isfinite(v), r
        if r.verdict:
            assert all(map(math.isfinite, (r.verdict.provided, r.verdict.required, r.verdict.margin, r.verdict.room))), r
            assert r.verdict.ok or r.verdict.cure, f"{r.key} fails and names no cure"


def most(design):
    return [*build_readings(design), *pose_readings(design.pose()), *turning_readings(design, travel(design))]


def depth_of(k):
    """Every sixth file that reads gets all readings of geometry, every sixtieth those of forces and strength as well."""
    return "book" if k % 60 == 0 else {0: "whole", 3: "most"}.get(k % 6, "build")


def judge(text, depth):
    """'refused' or 'read'; anything else fails the test."""
    try:
        design = from_text(text)
    except DesignError as e:
        assert e.problems and all(p.sentence.strip() for p in e.problems)
        return "refused"
    assert_finite({"book": lg.read, "whole": read_design, "most": most}.get(depth, build_readings)(design))
    return "read"


@pytest.mark.parametrize("part", range(10))
def test_mutated_files(part):
    rng = random.Random(1000 + part)
    seen = {"refused": 0, "read": 0}
    for k in range(960):
        text = TEXTS[rng.choice(sorted(TEXTS))]
        text = settled(rng, text) if k % 3 == 0 else mutated(rng, text)
        try:
            seen[judge(text, depth_of(seen["read"]))] += 1
        except Exception as e:
            raise AssertionError(f"file {k} of part {part} gives {type(e).__name__}: {e}\n{text}") from e
    assert seen["read"] > 100 and seen["refused"] > 300, seen


def test_arbitrary_bytes(tmp_path):
    rng = random.Random(7)
    path = tmp_path / "bad.toml"
    good = TEXTS["slack_water"].encode()
    for k in range(400):
        if k % 2:
            data = bytearray(good)
            for _ in range(rng.randrange(1, 5)):
                data[rng.randrange(len(data))] = rng.randrange(256)
        else:
            data = rng.randbytes(rng.randrange(0, 300))
        path.write_bytes(bytes(data))
        try:
            assert_finite(build_readings(lg.load(path)))
        except DesignError as e:
            assert "bad.toml" in str(e) and e.problems


def test_deep_nesting_and_a_folder(tmp_path):
    for text in ("a = " + "[" * 5000, "x." * 3000 + "y = 1", "[" + "a." * 2000 + "b]", "a = " + "9" * 6000):
        with pytest.raises(DesignError):
            from_text(text)
    with pytest.raises(DesignError, match="cannot be opened"):
        lg.load(tmp_path)
    with pytest.raises(DesignError, match="slack_water"):
        lg.load("slack_watr")
    with pytest.raises(DesignError):
        lg.load("a\0b")


def changed(field, value, base="slack_water"):
    """The text of a demo design with one field set (written into its table)."""
    table, _, key = field.rpartition(".")
    lines, out, here, done = TEXTS[base].split("\n"), [], "", False
    for line in lines:
        if line.startswith("["):
            here = line[1 : line.index("]")]
        if here == table and line.split(" = ")[0] == key:
            continue
        out.append(line)
        if line.startswith("[") and here == table:
            out.append(f"{key} = {json.dumps(value)}")
            done = True
    if not done:
        out += [f"[{table}]", f"{key} = {json.dumps(value)}"]
    return "\n".join(out)


IMPOSSIBLE = {
    "seat behind the block": ("pivot.x", "15 mm", {"block.depth": "10 mm"}),
    "seat outside the pocket": ("pivot.x", "-20 mm", {}),
    "pocket deeper than the heel": ("pocket.depth", "12 mm", {"heel.length": "10 mm"}),
    "no floor clearance": ("heel.floor_clearance", "0 mm", {}),
    "heel stands outside its pocket": ("heel.floor_clearance", "5 mm", {}),
    "saddle in front of the tongue's end": ("tongue.length", "90 mm", {"strings.scale": "300 mm", "board.joint_fret": 20,
                                                                        "board.joint_fret_x": "-15 mm"}),
    "tongue reaches to the saddle": ("tongue.length", "200 mm", {"strings.scale": "320 mm", "body.soundhole_near": "210 mm",
                                                                "body.soundhole_far": "300 mm"}),
    "tongue over the soundhole": ("tongue.length", "99 mm", {}),
    "soundhole inside out": ("body.soundhole_far", "90 mm", {}),
    "strings wider than the board": ("strings.nut_spread", "45 mm", {}),
    "ball falls through the rim": ("pivot.rim_radius", "4.5 mm", {}),
    "balls past the heel's side": ("pivot.spacing", "60 mm", {}),
    "no room for the clamp screw": ("pivot.spacing", "13 mm", {}),
    "head in front of the receiver": ("tilt_screw.head_x", "-5 mm", {"tilt_screw.receiver_x": "-3 mm"}),
    "tilt screw at the pivot": ("tilt_screw.head_z", "-30 mm", {"tilt_screw.receiver_z": "-30 mm"}),
    "steep tilt screw": ("tilt_screw.receiver_z", "-50 mm", {}),
    "heel too short for the screw": ("heel.foot_z", "-70 mm", {}),
    "heel wider at the foot": ("heel.half_width_foot", "30 mm", {}),
    "head outside the block": ("tilt_screw.head_x", "60 mm", {}),
    "block too short for the head": ("block.foot_z", "-82 mm", {}),
    "dome too tight": ("body.dome_radius", "1500 mm", {"body.apex_x": "800 mm"}),
    "last fret before the joint": ("board.last_fret", 12, {}),
}


@pytest.mark.parametrize("what", IMPOSSIBLE)
def test_impossible_geometry(what):
    field, value, also = IMPOSSIBLE[what]
    text = changed(field, value)
    for key, v in also.items():
        TEXTS["_"] = text
        text = changed(key, v, "_")
    TEXTS.pop("_", None)
    with pytest.raises(DesignError) as caught:
        from_text(text)
    told = {p.field for p in caught.value.problems}
    assert field in told, (what, str(caught.value))
    assert all(any(c.isdigit() for c in p.sentence) or "leaves" in p.sentence for p in caught.value.problems), str(caught.value)


def test_a_range_is_told_with_value_unit_and_limits():
    with pytest.raises(DesignError) as caught:
        from_text(changed("tilt_screw.pitch", "14 in"))
    (problem,) = caught.value.problems
    assert problem.field == "tilt_screw.pitch"
    assert problem.sentence == "14 in is 355.6 mm; allowed is 0.2 to 4 mm"


@pytest.mark.parametrize("field,value,sentence", [
    ("board.joint_fret", 50, "50; allowed is 8 to 20"),
    ("strings.compensation", ["1 mm"], "holds 1; allowed is 4 to 8, one for each string"),
    ("strings.saddle_heights", "3 mm", "'3 mm' is not a list: write one value for each string, bass to treble, in [ ]"),
    ("strings.saddle_heights", ["9 mm"] * 9, "holds 9; allowed is 4 to 8, one for each string"),
    ("pocket.depth", "60 mm", "60 mm; allowed is 0.5 to 20 mm"),
    ("pocket.depth", "3 in", "3 in is 76.2 mm; allowed is 0.5 to 20 mm"),
    ("tilt_screw.hole_in_block", "5 mm", "5 mm is smaller than its screw, 6 mm; allowed is 6 to 25 mm"),
    ("clamp.hole_in_block", "5 mm", "5 mm is smaller than its screw, 6 mm; allowed is 6 to 25 mm"),
    ("neck.angle", "20 deg", "20 deg; allowed is -3 to 6 deg"),
    ("board.radius_nut", "10 mm", "10 mm; allowed is 200 to 1000000 mm, or 'flat'"),
    ("body.dome", "spheer", "'spheer': input should be 'sphere', 'along', 'across' or 'flat'"),
])
def test_sentences(field, value, sentence):
    with pytest.raises(DesignError) as caught:
        from_text(changed(field, value))
    assert [(p.field, p.sentence) for p in caught.value.problems] == [(field, sentence)]


def test_everything_is_told_at_once():
    text = TEXTS["slack_water"].replace('pitch = "1.25 mm"', 'pich = "1.25 mm"').replace('depth = "4.6 mm"', "depth = 4.6")
    text = text.replace('wood = "3.2 mm"', 'wood = "3.2 kg"').replace("joint_fret = 14", 'joint_fret = "fourteen"')
    with pytest.raises(DesignError) as caught:
        from_text(text)
    told = {p.field: p.sentence for p in caught.value.problems}
    assert {"pivot.pitch", "pivot.pich", "pocket.depth", "tongue.wood", "board.joint_fret"} <= set(told)
    assert "did you mean 'pitch'?" in told["pivot.pich"] and "say the unit" in told["pocket.depth"]


def test_bad_demo_loads_and_its_wood_fails():
    """Wrong on purpose: tongue wood that runs out is told by the readings, not by the loader."""
    assert any("tongue.wood" in r.verdict.cure for r in lg.read(lg.load("spring_tide")).failing)
