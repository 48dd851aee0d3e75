"""What the table of woods holds, that every number names source and edition, and what it says when it has nothing."""

from __future__ import annotations

import dataclasses

import pytest

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.woods import creep_factor, creep_names, wood, wood_names

RANGES = {"specific_gravity": (0.25, 1.0), "bending_strength": (40, 200), "modulus": (5000, 20000), "compression_along": (20, 90),
          "compression_across": (1, 20), "shear_strength": (4, 20)}


@pytest.mark.parametrize("name", wood_names())
def test_every_number_is_plausible_and_names_its_source(name):
    w = wood(name)
    assert w.numbers and str(w)
    for key, n in w.numbers.items():
        assert len(n.source) > 10 and n.edition and n.unit in ("MPa", "%", "1"), key
        assert n.mark.startswith(("read in", "from memory", "computed here")), key
        low, high = RANGES.get(key, (0.5, 16) if key.startswith("shrinkage") else (0.001, 1))
        assert low <= n.value <= high, (key, n.value)


def test_two_editions_stand_side_by_side():
    new, old = wood("Sitka Spruce"), wood("sitka spruce 1987")
    assert new.modulus == 9900 and old.modulus == 10800
    assert new["modulus"].edition != old["modulus"].edition and "1987" in old["modulus"].edition
    assert "1987" in new.caution and "editions" in old.caution


def test_radial_is_less_than_tangential():
    for name in wood_names():
        w = wood(name)
        if "shrinkage_radial" in w:
            assert w.swelling("radial") < w.swelling("tangential") < 0.004
            assert w.value("shrinkage_tangential") < w.value("shrinkage_volume")


def test_density_at_a_moisture_content():
    assert wood("yellow-poplar").density(0) == pytest.approx(420)
    assert wood("yellow-poplar").density() == pytest.approx(470.4)


@pytest.mark.parametrize(("ask", "said"), [
    (lambda: wood("sitka sprcue"), "did you mean sitka spruce"), (lambda: wood("zzz"), "it has"), (lambda: wood(7), "it has"),
    (lambda: wood("khaya")["modulos"], "did you mean modulus"),
    (lambda: wood("khaya").value("compression_across"), "not found in a source"),
    (lambda: wood("khaya").swelling("sideways"), "radial"),
    (lambda: wood("sitka spruce 1987").swelling("radial"), "it has"),
    (lambda: creep_factor("servise class 1"), "did you mean service class 1"),
])
def test_what_is_not_there_is_said(ask, said):
    with pytest.raises(CatalogueError, match=said):
        ask()


def test_a_wood_cannot_be_changed():
    w = wood("khaya")
    with pytest.raises(dataclasses.FrozenInstanceError):
        w.name = "other"
    with pytest.raises(TypeError):
        w.numbers["modulus"] = 1


@pytest.mark.parametrize("name", creep_names())
def test_creep_names_its_source(name):
    n = creep_factor(name)
    assert n.source and n.note and n.mark.startswith(("read in", "from memory")) and 0.4 < n.value <= 3
