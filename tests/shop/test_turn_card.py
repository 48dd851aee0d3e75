"""The turn card: one page, text that is text, ways and numbers that agree with the joint."""

import io
import re
from dataclasses import replace

import pdfplumber
import pytest

from lutherie_geom.design.load import load, names
from lutherie_geom.joint.body import least_gap
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.joint.turning import way
from lutherie_geom.shop.hardware import chosen_screws
from lutherie_geom.shop.setup.card_numbers import CAUTIONS, CardError, card, keys_of, length, right_is
from lutherie_geom.shop.setup.turn_card import PAPERS, card_pdf, write_card

POINTS = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}


def page_of(data):
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 1
        page = pdf.pages[0]
        return page.width, page.height, " ".join(page.extract_text().split()), page.chars


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_one_page_and_all_on_it(name, paper, units):
    design = load(name)
    wide, high, text, chars = page_of(card_pdf(card(design, units=units), paper))
    assert (wide, high) == pytest.approx(POINTS[paper], abs=0.1)
    c = card(design, units=units)
    for said in (f"Turn card: {design.name}", "Raise the action", *c.ways[0][2].split(", "), f"{c.low:+.2f}", f"{c.high:+.2f}",
                 *(r[0] for r in c.changes[1:]), "eye protection", "slacken the strings, then the clamp screw", "Hex keys",
                 "RH ______"):
        assert " ".join(said.split()) in text, said
    assert min(c["x0"] for c in chars) > 30 and max(c["x1"] for c in chars) < wide - 30
    assert min(c["top"] for c in chars) > 30 and max(c["bottom"] for c in chars) < high - 30
    assert min(c["size"] for c in chars) > 5.5  # not shrunk to nothing
    assert {c["fontname"].split("+")[-1] for c in chars} == {"DejaVuSans", "DejaVuSans-Bold"}


def test_longest_texts_still_fit_on_one_page():
    design = load("slack_water").model_copy(update={"name": "W" * 80, "about": "many words " * 60})
    for paper in PAPERS:
        page_of(card_pdf(card(design, units="inch"), paper))


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_numbers_are_those_of_the_joint(name):
    design = load(name)
    c, d = card(design, units="mm"), design.dimensions()
    up = action(pose(d, tilt=1 / 8), 12)[:, 0] - action(pose(d), 12)[:, 0]
    assert c.tilt_steps[1][1:3] == (f"{up[0]:+.2f} mm", f"{up[-1]:+.2f} mm")
    for said, turns, *_, gap in c.changes[1:]:
        p = pose(d, tilt=float(turns))
        assert float(action(p, 12).mean() - action(pose(d), 12).mean()) == pytest.approx(float(said.split()[0]), abs=0.003)
        if gap != "past the stop":
            assert float(gap.split()[0]) == pytest.approx(float(least_gap(p).gap), abs=0.006)
    t = travel(design)
    assert (c.low, c.high) == (t.low, t.high)
    # steering: the nut end goes where the neck's own point goes
    nut = [float(pose(d, bass=b, treble=-b).to_body(d.x_nut, 0.0, 0.0).y) for b in (0.0, 1 / 16)]
    assert c.steer_steps[1][1] == f"{abs(nut[1] - nut[0]):.2f} mm to {'treble' if nut[1] > nut[0] else 'bass'}"
    assert 0 < float(c.steer_steps[1][2].split()[0]) < 5


def test_ways_are_those_of_the_screw_and_left_handed_is_mirrored():
    right, left = load("slack_water"), load("slack_water").model_copy(update={"handed": "left"})
    a, b = card(right), card(left)
    assert a.ways[0][2] == b.ways[0][2] == way("right", "soundhole", True, "tilt")  # the hand of a thread is not mirrored
    assert a.right == "treble" and b.right == "bass"
    assert "(right," in a.ways[2][0] and "(left," in b.ways[2][0]
    assert a.tilt_steps == b.tilt_steps and a.changes == b.changes
    screw = right.tilt_screw.model_copy(update={"hand": "left", "key_from": "heel"})
    c = card(right.model_copy(update={"tilt_screw": screw}))
    assert c.ways[0][2].split(",")[0] == a.ways[0][2].split(",")[0] and c.ways[0][2].endswith("heel") and c.right == "bass"
    assert right_is("left", "heel") == "treble"


def test_last_turn_keys_clamp_and_learned():
    design = load("slack_water")
    c = card(design)
    assert "by lowering (clockwise)" in c.last_turn and "past the mark" in c.last_turn
    assert dict(keys_of(design))["tilt screw"].startswith("5 mm (M6")
    assert "stays tight" in c.clamp
    off = design.model_copy(update={"clamp": design.clamp.model_copy(update={"below_axis": 6.0})})
    said = card(off).clamp
    assert "stays tight" not in said
    assert said.index("slacken the strings") < said.index("ease the clamp screw") < said.index("before you tune up")


@pytest.mark.parametrize("name", names())
def test_card_and_cut_list_name_the_same_keys(name):
    design = load(name)
    bought = {re.match("tilt|clamp|pivot", c.where).group(): c.key for c in chosen_screws(design)
              if re.match("tilt|clamp|pivot", c.where)}
    said = {screw.split()[0]: key for screw, key in keys_of(design)}
    assert set(said) == set(bought) == {"tilt", "clamp", "pivot"}
    for screw, key in bought.items():
        assert said[screw].startswith(key), screw


def test_a_key_that_no_table_knows_is_a_line_to_write_on():
    design = load("slack_water")
    odd = design.model_copy(update={"tilt_screw": design.tilt_screw.model_copy(update={"pitch": 0.61, "diameter": 7.3})})
    assert "write it here" in dict(keys_of(odd))["tilt screw"]


class Instrument:
    """What was learned of one instrument: its tilt screw lies 20 mm lower, its thread has twice the play."""

    trusted, suspects = True, ("string 3 at the first reading",)

    def applied(self, d):
        return d.replaced(z_head=d.z_head - 20, z_receiver=d.z_receiver - 20)

    def hands(self, h):
        return replace(h, play=0.3)


def test_card_of_one_instrument():
    design = load("slack_water")
    own, plain = card(design, learned=Instrument()), card(design)
    assert own.learned and own.tilt_steps != plain.tilt_steps and own.low != plain.low
    assert "go 3/8 turn past the mark" in own.last_turn or "go 1/2 turn past the mark" in own.last_turn
    ratio = float(own.tilt_steps[1][1].split()[0]) / float(plain.tilt_steps[1][1].split()[0])
    assert ratio == pytest.approx(60 / 80, abs=0.03)  # a longer arm turns the neck less: 80 mm below the pivot for 60 mm
    assert "learned on this instrument" in page_of(card_pdf(own))[2]
    doubtful = Instrument()
    doubtful.trusted = False
    with pytest.raises(CardError, match=r"contradict each other.*string 3"):
        card(design, learned=doubtful)


def test_the_same_card_is_the_same_file_and_is_put_in_place_whole(tmp_path):
    design = load("flat_calm")
    place = write_card(design, tmp_path / "new" / "card.pdf")
    assert place.read_bytes() == card_pdf(card(design)) and [p.name for p in place.parent.iterdir()] == ["card.pdf"]
    with pytest.raises(CardError, match="'B5'; allowed is A4 or Letter"):
        write_card(design, tmp_path / "other.pdf", paper="B5")
    with pytest.raises(CardError, match="'cm'; allowed is mm or inch"):
        write_card(design, tmp_path / "other.pdf", units="cm")
    assert not (tmp_path / "other.pdf").exists()


def test_lengths_and_text():
    assert [length(v, s, g) for v, s, g in ((1.2, "mm", False), (-0.001, "mm", True), (25.4, "inch", True), (-1.0, "inch", False))
            ] == ["1.20 mm", "0.00 mm", "+1.000 in", "-0.039 in"]
    assert all(s in str(card(load("slack_water"))) for s in CAUTIONS)
