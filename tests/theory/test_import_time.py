"""Importing the package must cost next to nothing: no numpy, sympy, matplotlib or pydantic until they are asked for."""

from __future__ import annotations

import subprocess
import sys
from statistics import median


def run(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()


def seconds(module: str) -> float:
    """Time of one import in a fresh interpreter, taken inside it [s]."""
    return float(run(f"import time; t = time.perf_counter(); import {module}; print(time.perf_counter() - t)"))


def test_nothing_heavy_is_imported():
    loaded = run("import sys, lutherie_geom; print(*sorted({m.split('.')[0] for m in sys.modules}))").split()
    assert not {"numpy", "scipy", "sympy", "matplotlib", "pydantic", "pint", "ipywidgets", "jinja2"} & set(loaded)


def test_evaluating_a_relation_needs_no_sympy():
    code = ("import sys; from lutherie_geom.theory.dome import dome_height as h; "
            "h(x=1.0, y=0.0, curvature=0.0, x_apex=9.0, along=1, across=1); print('sympy' in sys.modules)")
    assert run(code) == "False"


def test_import_is_quicker_than_half_again_numpy():
    pairs = [(seconds("lutherie_geom"), seconds("numpy")) for _ in range(5)]
    assert median(ours for ours, _ in pairs) < 1.5 * median(theirs for _, theirs in pairs)
