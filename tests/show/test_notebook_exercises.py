"""Each notebook as a lesson: short, a caution, bench advice, open exercises and worked ones that pass their own check."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import nbformat
import pytest

from lutherie_geom.show.collection import START, WORDS

NOTEBOOKS = sorted((Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb"))
LESSONS = [path for path in NOTEBOOKS if int(path.name[:2]) not in (START, WORDS)]  # map and glossary ask for no answer


def printed(cell: Any) -> str:
    return "".join(o.get("text", "") for o in cell.get("outputs", []))


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_notebook_is_a_lesson(path: Path) -> None:
    cells = nbformat.read(path, as_version=4).cells
    words = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")
    assert len(cells) < 25
    assert "?" in cells[0].source.splitlines()[0], "the title asks no question"
    assert "## At the bench" in words and "**Caution.**" in words
    asked = [cell for cell in cells if cell.source.startswith("answer = None")]
    solved = [cell for cell in cells if "solution" in cell.metadata.get("tags", [])]
    assert 2 <= len(asked) == len(solved)
    assert all(printed(cell).strip() == "not answered yet" for cell in asked)
    assert all(printed(cell).startswith("Right: ") for cell in solved)
    assert all(cell.metadata["jupyter"]["source_hidden"] for cell in solved)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_first_picture_comes_early(path: Path) -> None:
    code = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    assert any("image/png" in o.get("data", {}) for cell in code[:2] for o in cell.outputs)
