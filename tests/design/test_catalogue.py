"""What the catalogue holds, that every entry names its source, and what it says when it has nothing."""

from __future__ import annotations

import math

import pytest

from lutherie_geom.design import catalogue as c
from lutherie_geom.design.files import data_folder
from lutherie_geom.theory.intonation import string_tension


def every_entry():
    yield from (c.thread(n) for n in c.names())
    yield from (c.screw(s, size) for s in c.names("screws") for size in ("M4", "M5", "M6"))
    yield from (c.strength_class(n) for n in c.names("classes"))
    yield from (s for n in c.names("string sets") for s in c.string_set(n))


@pytest.mark.parametrize("entry", list(every_entry()), ids=lambda e: getattr(e, "name", None) or f"{e.standard} {e.thread}")
def test_every_entry_names_its_source_and_mark(entry):
    assert len(entry.source) > 10
    assert entry.mark.startswith(("read in", "from memory", "computed here", "common practice", "invented"))
    assert str(entry)


@pytest.mark.parametrize(("written", "found"), [("m6", "M6"), (" M6 x 1 ", "M6"), ("M6×1.0", "M6"), ("M8x1.25", "M8"),
                                                ("1/4-28 UNF", "1/4-28"), ("#10 - 32", "#10-32")])
def test_a_thread_is_found_however_it_is_written(written, found):
    assert c.thread(written).name == found


@pytest.mark.parametrize(("ask", "said"), [
    (lambda: c.thread("M7"), "did you mean"), (lambda: c.thread("1/4-24"), "1/4-2"), (lambda: c.thread("zzz"), "it has M3"),
    (lambda: c.thread("M6x0.75"), "has a pitch of 1 mm"), (lambda: c.thread(6), "it has"), (lambda: c.names("wood"), "shelf"),
    (lambda: c.screw("ISO 4762", "M12"), "M"), (lambda: c.screw("ISO 4726", "M5"), "ISO 4762"),
    (lambda: c.strength_class("8.9"), "8.8"), (lambda: c.string_set("morning"), "evening"),
    (lambda: c.thread("1/4-20x1"), "20 threads"), (lambda: c.usual_range("releif"), "relief"),
])
def test_what_is_not_there_is_said_with_a_suggestion(ask, said):
    with pytest.raises(c.CatalogueError) as caught:
        ask()
    assert said in str(caught.value)
    assert isinstance(caught.value, LookupError)


def test_entries_cannot_be_changed():
    with pytest.raises(AttributeError):
        c.thread("M6").pitch = 2


def test_demo_set_pulls_what_its_sheet_says():
    pull = [string_tension(mass=s.mass, length=645.0, frequency=s.pitch) for s in c.string_set()]
    assert sum(pull) == pytest.approx(720, abs=3)
    usual = c.usual_range("tension-steel")
    assert usual.low < sum(pull) < usual.high


def test_core_stress_of_the_demo_set_is_bearable():
    # 2450 MPa: tensile strength of music wire, one typical value (makeitfrom.com ASTM A228 music wire page, read).
    for s in c.string_set():
        stress = string_tension(mass=s.mass, length=645.0, frequency=s.pitch) / (math.pi / 4 * s.core_diameter**2)
        assert stress < 0.75 * 2450, s.name


def test_plain_strings_weigh_what_solid_steel_of_that_diameter_weighs():
    for s in c.string_set():
        solid = math.pi / 4 * (s.core_diameter / 1000) ** 2 * 7850  # kg/m3, usual handbook value
        assert s.mass == pytest.approx(solid, rel=1e-3) if not s.wound else s.mass > 2 * solid


def test_data_folder_has_the_tables():
    found = {p.stem for p in (data_folder() / "tables").glob("*.toml")}
    assert found >= {"threads", "screws", "strings", "practice"}
