"""What a reader without a kernel sees: every notebook is stored with its outputs, and none of them is an error."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from PIL import Image

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


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_every_picture_is_there_and_can_be_seen(path: Path) -> None:
    """nbval does not compare pictures: so each must be stored, open, hold more than bare paper, and have its words."""
    shown = re.compile(r"panels\.show\(|sheet\w*\.show\(\)")
    for cell in code_cells(path):
        pictures = [o for o in cell.outputs if "image/png" in o.get("data", {})]
        wanted = len(shown.findall(cell.source))
        assert len(pictures) >= wanted, f"{wanted - len(pictures)} pictures are not stored: {cell.source.splitlines()[-1]}"
        for output in pictures:
            picture = Image.open(io.BytesIO(base64.b64decode(output.data["image/png"])))
            assert picture.width >= 300 and picture.height >= 150
            colours = picture.convert("RGB").getcolors(1 << 24)
            assert colours and len(colours) > 20, "a picture of hardly anything"
            how = output.metadata.get("image/png", {})
            assert len(how.get("alt", "")) > 10, f"a picture without words: {cell.source.splitlines()[-1]}"
            assert 300 <= how.get("width", 0) <= picture.width + 1
        for before, after in zip(cell.outputs, cell.outputs[1:], strict=False):
            if "application/vnd.jupyter.widget-view+json" in before.get("data", {}) and after in pictures:
                assert after.metadata["image/png"]["alt"] == before.data["text/plain"], "not the sheet's own reading"
