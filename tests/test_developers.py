"""What DEVELOPERS.md tells a newcomer to write runs as it stands: every block, in a copy of the package."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from lutherie_geom.show.collection import read_collection
from lutherie_geom.show.collection_map import map_picture

ROOT = Path(__file__).resolve().parents[1]
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.DOTALL)


def blocks(language: str) -> dict[str, str]:
    """The blocks of a language by the file that their first line names."""
    found = {text.splitlines()[0].removeprefix("# "): text for kind, text in BLOCKS if kind == language}
    assert all(name.endswith((".py", ".toml")) for name in found), f"a block names no file in its first line: {list(found)}"
    return found


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    there = tmp_path_factory.mktemp("copy")
    for folder in ("lutherie_geom", "data"):
        shutil.copytree(ROOT / folder, there / folder, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", there)
    return there


def run(copy: Path, *words: str) -> str:
    """What a Python of its own prints that sees the copy first; fails with its error."""
    done = subprocess.run([sys.executable, *words], cwd=copy, env={**os.environ, "PYTHONPATH": str(copy)}, capture_output=True,
                          text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_every_block_is_one_that_is_run_here() -> None:
    assert {kind for kind, _ in BLOCKS} == {"python", "toml", "sh"}
    assert {Path(name).parts[0] for name in blocks("python")} == {"lutherie_geom", "tests"} and len(blocks("toml")) == 1


def test_a_relation(copy: Path) -> None:
    ((name, text),) = ((n, t) for n, t in blocks("python").items() if "/theory/" in n)
    (copy / name).write_text(text, encoding="utf-8")
    module = Path(name).stem
    listed = copy / "lutherie_geom" / "theory" / "__init__.py"
    listed.write_text(listed.read_text("utf-8").replace("MODULES = (", f'MODULES = ("{module}", '), "utf-8")
    told = run(copy, "-c", f"""
from pathlib import Path
import lutherie_geom, lutherie_geom.theory as t
from lutherie_geom.theory.write import module_text
assert Path(lutherie_geom.__file__).is_relative_to({str(copy)!r})
t.MODULES = ({module!r},)
((name, relations),) = t.relations_by_module().items()
Path(t.__file__).with_name("written").joinpath(name + ".py").write_text(module_text(name, relations))
(half,) = relations
slopes = half.slopes(action=2.4, x_fret=300.0)["half_slope"]
print(float(half(action=2.4, x_fret=300.0)), float(slopes["action"]), float(slopes["x_fret"]), half.latex() != "")
""").split()
    assert [float(v) for v in told[:3]] == pytest.approx([0.004, 1 / 600, -0.004 / 300]) and told[3] == "True"
    run(copy, "-m", "ruff", "check", "--isolated", "--line-length", "130", "--select", "E,F,I,B,UP,RUF", name)
    run(copy, "-m", "mypy", "--follow-imports=silent", name)


def test_a_published_check() -> None:
    ((name, text),) = ((n, t) for n, t in blocks("python").items() if n.startswith("tests/"))
    assert not (ROOT / name).exists(), "the recipe's file must be a new one"
    page: dict[str, Any] = {"__name__": "page"}
    exec(compile(text, name, "exec"), page)
    (check,) = (f for n, f in page.items() if n.startswith("test_"))
    check()
    page["strength_class"] = lambda _: SimpleNamespace(proof=640.0)  # the check must be able to fail
    with pytest.raises(AssertionError):
        check()


def test_a_notebook_with_the_next_number(tmp_path: Path) -> None:
    ((_, text),) = blocks("toml").items()
    for path in (ROOT / "notebooks").glob("*.ipynb"):
        (tmp_path / path.name).symlink_to(path)
    title = {"cells": [{"cell_type": "markdown", "source": ["# 28 What does a finer thread do?\n"]}]}
    (tmp_path / "28_finer_thread.ipynb").write_text(json.dumps(title))
    listed = (ROOT / "notebooks" / "collection.toml").read_text("utf-8")
    (tmp_path / "collection.toml").write_text(f"{listed}\n{text}", "utf-8")
    found = read_collection(tmp_path)
    files = [e.file for e in found.in_order]
    assert sorted(files) == sorted(p.name for p in tmp_path.glob("*.ipynb"))
    assert (files[0][:2], files[-2][:2], files[-1][:2]) == ("00", "28", "27")
    places = [e.at for e in found.entries]
    assert len(set(places)) == len(places), "the place on the map is taken"
    assert "a finer thread" in " ".join(t.get_text().replace("\n", " ") for t in map_picture(found).axes[0].texts)


def test_commands(copy: Path) -> None:
    """What makes and reads a design is run; of the long ones the files that they name must be there."""
    lines = [line for kind, text in BLOCKS if kind == "sh" for line in text.splitlines()]
    python = [line for line in lines if line.startswith((".venv/bin/python -c", "cp "))]
    assert len(python) == 2
    for line in python:
        subprocess.run(line.replace(".venv/bin/python", sys.executable), shell=True, cwd=copy, check=True, timeout=60,
                       env={**os.environ, "PYTHONPATH": str(copy)})
    assert (copy / "data" / "designs" / "neap_tide.toml").is_file()
    for word in {w for line in lines if line not in python for w in line.split() if "/" in w and not w.startswith(".venv")}:
        assert (ROOT / word).is_file(), word
