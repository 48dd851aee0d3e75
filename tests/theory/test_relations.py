"""Every relation: written function against its derivation, slopes against differences, units, source, LaTeX."""

from __future__ import annotations

import importlib

import numpy as np
import pytest
from matplotlib.mathtext import MathTextParser

from lutherie_geom.theory import MODULES, Relation, all_relations, relations_by_module
from lutherie_geom.theory.words import WORDS

from .points import bounds, draw

RELATIONS = all_relations()
each = pytest.mark.parametrize("name", RELATIONS)
UNITS = {"mm", "rad", "turn", "mm/turn", "mm/rad", "1/mm", "1", "N", "MPa", "Hz", "kg/m", "cent", "mm^2", "mm^3", "mm^4", "N mm",
         "N/mm", "N mm^2", "1/in", "degC", "g/cm^3", "kg/m^3", "%", "1/%", "Pa", "day"}


def fresh(relation: Relation):
    """Outputs and slopes lambdified now, from the outputs with all steps put in: not the writer's way through the steps."""
    import sympy as sp

    builder, _ = relation.derivation
    inputs = [builder.symbols[q.name] for q in relation.inputs]
    signs: dict = {}
    # A sign is a choice of branch: it has no slope, so it stands still while the rest is differentiated.
    outputs = [e.replace(sp.sign, lambda a: signs.setdefault(a, sp.Dummy(real=True))) for e in relation.expressions]
    slopes = [sp.diff(e, x) for e in outputs for x in inputs]
    back = {held: sp.sign(a) for a, held in signs.items()}
    return sp.lambdify(inputs, [e.xreplace(back) for e in outputs + slopes], "numpy", cse=True)


@each
def test_written_function_is_fresh(name):
    relation = RELATIONS[name]
    values = list(draw(relation, 12).values())
    found = [np.broadcast_to(v, 12) for v in fresh(relation)(*values)]
    n_out, n_in = len(relation.outputs), len(relation.inputs)
    written, slopes = relation.raw(*values), relation.raw_slopes(*values)
    assert len(written) == n_out and len(slopes) == n_out * n_in
    for w, f in zip(written, found[:n_out], strict=True):
        assert np.all(np.isfinite(w))
        np.testing.assert_allclose(np.broadcast_to(w, 12), f, rtol=1e-9, atol=1e-10)
    for w, f in zip(slopes, found[n_out:], strict=True):
        np.testing.assert_allclose(np.broadcast_to(w, 12), f, rtol=1e-8, atol=1e-9 * (1 + np.max(np.abs(f))))


@each
def test_slopes_against_differences(name):
    relation = RELATIONS[name]
    n = 8
    values = draw(relation, n, seed=3)
    exact = relation.slopes(**values)
    first = relation(**values)
    first = first if isinstance(first, tuple) else (first,)
    for q in relation.inputs:
        low, high = bounds(q)
        step = 2e-4 * (high - low)
        at = []
        for k in (-2, -1, 1, 2):
            found = relation(**(values | {q.name: values[q.name] + k * step}))
            at.append(found if isinstance(found, tuple) else (found,))
        for i, o in enumerate(relation.outputs):
            by_difference = (8 * (at[2][i] - at[1][i]) - (at[3][i] - at[0][i])) / (12 * step)
            slope = exact[o.name][q.name]
            room = 1e-6 * np.abs(slope * (high - low)) + 1e-9 * (1 + np.abs(first[i]))
            assert np.all(np.abs(by_difference - slope) * (high - low) <= room), (o.name, q.name, by_difference, slope)


@each
def test_nan_in_nan_out_and_broadcast(name):
    relation = RELATIONS[name]
    values = {k: v[0] for k, v in draw(relation, 1).items()}
    first = relation.inputs[0].name
    found = relation(**(values | {first: np.full((2, 1), np.nan)}))
    found = found if isinstance(found, tuple) else (found,)
    assert all(np.shape(f) == (2, 1) for f in found)
    assert any(np.all(np.isnan(f)) for f in found)


@each
def test_units_source_and_latex(name):
    relation = RELATIONS[name]
    assert getattr(importlib.import_module(f"lutherie_geom.theory.{relation.module}"), name) is relation
    assert relation.source and relation.title and relation.module in MODULES
    for q in (*relation.inputs, *relation.outputs):
        assert q.unit in UNITS, q
        assert q.meaning and q.latex and q.low < q.high
    text = relation.latex()
    assert text.count("{") == text.count("}") and text.count(r"\left") == text.count(r"\right")
    lines = relation.latex_steps()
    assert lines
    parser = MathTextParser("agg")
    for line, _ in lines:
        parser.parse(f"${line}$")
    for q in (*relation.inputs, *relation.outputs):
        parser.parse(f"${q.latex}$")
        assert q.meaning in str(relation) and q.meaning in relation._repr_markdown_()


def test_names_are_unique_and_nothing_is_left_out():
    assert sum(len(rs) for rs in relations_by_module().values()) == len(RELATIONS)
    for name, q in WORDS.items():
        assert q.name == name and q.unit in UNITS


def test_slip_is_said():
    said = RELATIONS["tilt_rule"].implausible(tilt=1.0, pitch_tilt=1.25, arm=900.0)
    assert len(said) == 1 and "900" in said[0]
    assert "degrees" in RELATIONS["straightedge"].implausible(alpha=1.5)[0]
    with pytest.raises(TypeError, match="missing"):
        RELATIONS["tilt_rule"](tilt=1.0)
    with pytest.raises(TypeError, match="unknown"):
        RELATIONS["tilt_rule"](tilt=1.0, pitch_tilt=1.25, arm=90.0, pitch=1.0)
