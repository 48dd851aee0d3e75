"""The joint book: complete, self-contained, the same numbers in page, file and library. Everything here is computed here."""

import html.parser
import json
import math
import re

import jsonschema
import pytest

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.design.units import format_length
from lutherie_geom.joint.reading import Reading, at_most
from lutherie_geom.joint.travel import travel
from lutherie_geom.show import book_figures
from lutherie_geom.show.book import CHAPTERS, book_json, book_page, chapter_of, schema, write_book
from lutherie_geom.show.book_text import show_table, show_value, show_words, verdict_words
from lutherie_geom.show.style import to_png

# Names that a program may rely on; the whole list is the same in every design.
PROMISED = {"set.neck_angle", "saddle.projection", "action.fret_12", "buzz.least", "gap.least", "tongue.wood_at_end",
            "tilt.raise", "travel.lowering", "travel.raising",
            "travel.stops", "heel.floor_clearance", "steer.table", "coupling.seen", "loads.tilt_screw", "loads.clamp",
            "loads.clamp_torque", "loads.table", "loads.reversal", "loads.lets_go", "strength.block.clamp_washer",
            "strength.clamp.preload_left", "strength.tilt.thread", "tongue.beam.give", "tongue.beam.touch", "tongue.rods.gain",
            "tongue.top.shift", "neck.relief"}


@pytest.fixture(scope="module")
def readings():
    return {n: lg.read(lg.load(n)) for n in names()}


@pytest.mark.parametrize("name", names())
def test_file_keeps_to_its_schema(name, readings):
    jsonschema.Draft202012Validator.check_schema(schema())
    data = json.loads(json.dumps(book_json(lg.load(name), readings[name]), allow_nan=False))
    jsonschema.Draft202012Validator(schema()).validate(data)
    keys = [r["key"] for r in data["readings"]]
    assert len(keys) == len(set(keys)) and set(keys) >= PROMISED
    assert set(data["worst_first"]) == {r["key"] for r in data["readings"] if "verdict" in r}
    for r in data["readings"]:
        assert all(len(row) == len(r["columns"]) for row in r["value"]) if "columns" in r else True, r["key"]


def test_keys_are_the_same_in_every_design(readings):
    only_rods = {"inside.receiver_line"}  # two rods stand in one bore or in two; dowels lie across
    every = {tuple(r.key for r in found if r.key not in only_rods) for found in readings.values()}
    assert len(every) == 1
    assert {name for name, found in readings.items() if only_rods & {r.key for r in found}} == {"cross_tide", "long_reach"}


def test_every_chapter_has_readings_and_none_strays(readings):
    used = {chapter_of(r.key) for r in readings["slack_water"]}
    assert used == set(range(len(CHAPTERS)))
    groups = {g.split(".")[0] for c in CHAPTERS for g in c.groups}
    assert {r.key.split(".")[0] for r in readings["slack_water"]} <= groups
    for key, title in (("tongue.taper", "Tongue and dome"), ("tongue.beam.give", "Tongue, neck and top under load"),
                       ("tongue.rods.gain", "Tongue, neck and top under load"), ("no.place", "Inside heel and block")):
        assert CHAPTERS[chapter_of(key)].title == title


def test_schema_refuses_what_is_not_a_book(readings):
    data = book_json(lg.load("slack_water"), readings["slack_water"])
    for spoil in (dict(format_version=2), dict(readings=[]), dict(extra=1)):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(data | spoil, schema())


@pytest.mark.parametrize("name", ["slack_water", "long_reach"])
def test_forces_and_strength_are_the_library_s(name, readings):
    from lutherie_geom.mechanics.forces import forces, over_travel
    from lutherie_geom.mechanics.margins import margins

    design, r = lg.load(name), readings[name]
    f, m = forces(design), margins(design, estimate=True, samples=0)
    assert r["loads.tilt_screw"].value == pytest.approx(float(f.rest.tilt))
    # The older reading of the same force, by virtual work alone.
    assert r["loads.tilt_screw"].value == pytest.approx(r["pitch.screw_force"].value, rel=5e-3)
    assert r["loads.clamp"].verdict.required == pytest.approx(over_travel(design).worst[1])
    worst = [row for row in r["loads.table"].value if row[0] == f.worst.load]
    assert worst[0][1:4] == pytest.approx([f.worst.tilt, *f.worst.seats])
    for margin in m:
        one = r[f"strength.{margin.key}"]
        assert one.value == pytest.approx(margin.ratio) and one.unit == "times"
        assert "Leaves out: " in one.definition and "Source: " in one.definition
        assert f"{margin.factor:.3g} times" in one.definition
        if margin.state in ("fails", "tight", "good") and not margin.settles:
            assert one.verdict.state == margin.state and bool(one.verdict.cure) == (margin.state != "good")
        else:
            assert one.verdict is None
    assert "Left out" in r["tongue.beam.give"].definition and r["tongue.beam.give"].value == sorted(r["tongue.beam.give"].value)


def test_a_weak_part_shows_up_with_its_cure():
    g = lg.load("slack_water")
    weak = g.model_copy(update={"clamp": g.clamp.model_copy(update={"preload": 300.0, "washer_diameter": 12.0})})
    failing = {r.key: r.verdict.cure for r in lg.read(weak).failing}
    assert "clamp.preload" in failing["loads.clamp"] and "clamp" in failing["strength.clamp.preload_left"]


def test_what_cannot_be_worked_out_is_told_and_the_book_stands():
    g = lg.load("slack_water")
    flat = g.model_copy(update={"tongue": g.tongue.model_copy(update={"rod_shape": "flat", "rod_diameter": 1.0, "rods": 2})})
    found = lg.read(flat)
    assert "tongue.rod_width" in found["tongue.beam.not_told"].verdict.cure and found["loads.tilt_screw"].value > 0
    jsonschema.validate(json.loads(json.dumps(book_json(flat, found), allow_nan=False)), schema())


class Page(html.parser.HTMLParser):
    """Ids, links, tags and visible text of a page; complains of tags that do not close in order."""

    EMPTY = ("meta", "br", "link", "img")

    def __init__(self, text):
        super().__init__()
        self.ids, self.links, self.tags, self.open, self.words = [], [], set(), [], []
        self.feed(text)
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        for key, value in attrs:
            if key == "id":
                self.ids.append(value)
            if key in ("href", "src", "xlink:href"):
                self.links.append(value)
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.EMPTY:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


@pytest.mark.parametrize("name,system", [("slack_water", "mm"), ("cross_tide", "inch"), ("spring_tide", "mm")])
def test_page_is_whole_and_asks_nothing_of_the_network(name, system, readings):
    text = book_page(lg.load(name), readings[name], system)
    page = Page(text)
    assert not page.tags & {"script", "iframe", "link", "img", "object"}
    assert all(link.startswith("#") for link in page.links)
    assert len(page.ids) == len(set(page.ids)), "an id stands twice"
    assert {link[1:] for link in page.links} <= set(page.ids)
    assert "@import" not in text and not re.search(r"url\((?!#)", text)
    assert text.count("<svg") == sum(len(c.figures) for c in CHAPTERS)
    assert set(page.ids) >= {r.key for r in readings[name]}
    words = " ".join(" ".join(page.words).split())
    assert "nan" not in words.lower().split() and "-0.00 " not in words
    for said in ("slacken all strings at once", "ask a trained repairer", "mask, goggles and gloves", "Slacken all strings",
                 "Slacken the clamp screw before you turn a pivot screw", "eye protection", "What this leaves out", "licence"):
        assert said in words, said
    assert ("\u2717 fails" in words) == bool(readings[name].failing)
    a = readings[name]["action.fret_12"].value
    assert (format_length(a[0], "inch", 3) if system == "inch" else f"{a[0]:.2f}") in words
    assert system == "mm" or not re.search(r"\d mm\b", words), re.findall(r".{30}\d mm\b", words)[:3]


def test_strength_stands_worst_first_and_sources_are_folded(readings):
    r = readings["spring_tide"]
    text = book_page(lg.load("spring_tide"), r, "mm")
    ids = [i for i in Page(text).ids if i.startswith("strength.")]
    judged = [k for k in ids if r[k].verdict]
    assert ids[:len(judged)] == judged == [x.key for x in r.worst_first if x.key.startswith("strength.")]
    assert r[ids[0]].verdict.state == "fails"
    folded = re.findall(r"<details><summary>Formula and sources</summary>(.*?)</details>", text, flags=re.DOTALL)
    assert len(folded) >= len(ids) and all("Source: " in x or len(x) > 10 for x in folded)
    assert "Leaves out: " not in " ".join(folded), "what a margin leaves out must not be folded away"


def test_names_with_angle_brackets_are_escaped(readings):
    design = lg.load("slack_water").model_copy(update={"name": "<script>alert(1)</script>", "about": "a & b"})
    text = book_page(design, readings["slack_water"], "mm")
    assert "<script>" not in text and "&lt;script&gt;" in text and "A &amp; b" in text


def test_numbers_as_text():
    assert show_value(2.3849, "mm") == "2.38 mm"
    assert show_value(-0.0001, "turn") == "0.000 turns"
    assert show_value(25.4 * 3 / 32, "mm", "inch") == "3/32 in"
    assert show_value(0.0254, "mm", "inch") == "0.0010 in"
    assert show_value([1, 12, 20], "") == "1, 12, 20"
    assert show_words("make tongue.gap 0.80 mm larger", "inch") == "make tongue.gap 1/32 in (0.0315) larger"
    table = Reading("a.b", "a", [["advance [mm]", 25.4], ["yaw [deg]", 25.4]], "", "d", columns=(("m", ""), ("tilt", "per turn")))
    assert show_table(table, "inch")[1] == [["advance [in]", "1.0000"], ["yaw [deg]", "25.4000"]]
    r = Reading("a.b", "a", 1.8, "mm", "d", at_most(1.8, 2.0, 0.5, "less"))
    assert verdict_words(r, "mm") == "1.80 mm; must be at most 2.00 mm; in hand: 0.20 mm of the 0.50 mm wanted"
    assert show_value(1.9412, "times") == "1.94 times" and show_value([0.775, 1.354], "N m") == "0.78, 1.35 N m"
    r = Reading("a.b", "a", 3.0, "mm", "d", at_most(3.0, 2.0, 0.5, "less"))
    assert verdict_words(r, "mm") == "3.00 mm; must be at most 2.00 mm; missing: 1.00 mm"


@pytest.mark.parametrize("name", names())
def test_figures_have_findings_and_units(name):
    design = lg.load(name)
    t = travel(design)
    for system, unit in (("mm", "mm"), ("inch", "in")):
        drawn = {"side": book_figures.side_view(design, system), "action": book_figures.action_by_turns(design, t, system),
                 "gap": book_figures.gap_along_tongue(design, t, system), "stops": book_figures.stops_of_travel(t),
                 "heel": book_figures.heel_in_pocket(design, t, system), "plan": book_figures.plan_of_steering(design, system)}
        for which, figure in drawn.items():
            axes = figure.axes[0]
            assert re.search(r"\d", axes.get_title(loc="left")), which
            assert "[" in axes.get_xlabel(), which
            assert which == "stops" or f"[{unit}]" in axes.get_ylabel(), which
            if which in ("side", "plan"):
                assert axes.get_aspect() == 1.0
    assert to_png(drawn["side"])[:4] == b"\x89PNG"


def test_action_curve_is_the_action():
    design = lg.load("slack_water")
    line = book_figures.action_by_turns(design, travel(design)).axes[0].get_lines()[0]
    turns, seen = line.get_data()
    k = len(turns) // 3
    from lutherie_geom.joint.strings import action
    assert seen[k] == pytest.approx(float(action(design.pose(tilt=float(turns[k])), 12)[0, 0]), abs=1e-12)


def test_plan_is_mirrored_for_left_handed():
    def nut(handed):
        design = lg.load("cross_tide").model_copy(update={"handed": handed})
        return book_figures.plan_of_steering(design).axes[0].patches[1].get_xy()[:4, 1]

    assert nut("left") == pytest.approx(-nut("right"))


def test_nothing_is_left_behind_when_writing_fails(tmp_path, monkeypatch, readings):
    design = lg.load("slack_water")
    first = write_book(design, tmp_path, "b", readings=readings["slack_water"])
    before = [p.read_bytes() for p in first]
    assert all(math.isfinite(r["value"]) for r in json.loads(before[1])["readings"] if isinstance(r["value"], float))

    def broken(*_):
        raise OSError("disk full")

    monkeypatch.setattr("lutherie_geom.show.book.os.replace", broken)
    with pytest.raises(OSError):
        write_book(design, tmp_path, "b", "inch", readings["slack_water"])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.html", "b.json"]
    assert [p.read_bytes() for p in first] == before


def test_the_same_design_makes_the_same_files(tmp_path, readings):
    design = lg.load("slack_water")
    a = write_book(design, tmp_path / "a", "b", readings=readings["slack_water"])
    b = write_book(design, tmp_path / "b", "b", readings=readings["slack_water"])
    assert [p.read_bytes() for p in a] == [p.read_bytes() for p in b]
