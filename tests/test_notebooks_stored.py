"""What a reader without a kernel sees: every notebook is stored with its outputs, and none of them is an error."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import nbformat
import pytest

NOTEBOOKS = sorted((Path(__file__).resolve().parents[1] / "notebooks").glob("*.ipynb"))


def code_cells(path: Path) -> list[Any]:
    """The notebook's code cells that hold any code."""
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code" and cell.source.strip()]


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS, "the folder notebooks/ holds no notebook"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_is_stored_as_it_ran(path: Path) -> None:
    nbformat.validate(nbformat.read(path, as_version=4))
    cells = code_cells(path)
    assert cells, "no code cell"
    counts = [cell.execution_count for cell in cells]
    assert None not in counts, f"code cell {counts.index(None) + 1} was stored without having run"
    assert counts == list(range(1, len(cells) + 1)), f"not run once from top to bottom: execution counts {counts}"
    outputs = [output for cell in cells for output in cell.outputs]
    errors = [f"{output.ename}: {output.evalue}" for output in outputs if output.output_type == "error"]
    assert not errors, f"stored with errors: {errors}"
    assert any("image/png" in output.get("data", {}) for output in outputs), "no picture that shows without a kernel"
