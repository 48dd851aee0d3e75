"""A test of the test: nbval, run as in tests/run, passes a true notebook and fails each wrong stored output."""

from __future__ import annotations

import base64
import io
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import pytest
import test_notebooks_stored as stored
from nbformat import v4
from PIL import Image

HERE = Path(__file__).resolve().parent
TRUE = HERE.parent / "notebooks" / "04_tilt_what_a_turn_does.ipynb"

SHOW = "panels.show(panels.heel_picture(design))"
SAY = 'print(f"arm {float(arm(design.dimensions())):.2f} mm")'
TABLE = 'display(Markdown("| a |\\n|---|\\n| 1.25 mm |"))'


def put(kind: str, old: str, new: str) -> Callable[[Any], None]:
    """One stored word in place of another, in an output of this kind."""
    def change(cell: Any) -> None:
        (output,) = cell.outputs
        held = output if kind == "text" else output.data
        assert old in held[kind], "nothing would be changed, so nothing would be proved"
        held[kind] = held[kind].replace(old, new)
    return change


def nothing(cell: Any) -> None:
    """The output is not stored."""
    cell.outputs = []


def too_much(cell: Any) -> None:
    """An output is stored that the cell no longer gives."""
    cell.outputs = [v4.new_output("stream", text="left over\n")]


# Each cell, and what is done to what is stored of it; None is left as it ran.
CELLS: list[tuple[str, str, Callable[[Any], None] | None]] = [
    ("imports", "from IPython.display import Markdown\nimport lutherie_geom as lg\nfrom lutherie_geom.show import panels\n"
                "from lutherie_geom.joint.pose import arm", None),
    ("an output too many", 'design = lg.load("slack_water")', too_much),
    ("a digit of a reading", SAY, put("text", "60.00", "60.01")),
    ("a reading that is missing", SAY, nothing),
    ("a number of a table", TABLE, put("text/markdown", "1.25", "1.26")),
    ("the finding in a picture's title", SHOW, put("text/plain", "1.33", "1.34")),
    ("a picture that is missing", SHOW, nothing),
    ("left as it ran", SAY, None),
]


def holds(notebook: Path) -> subprocess.CompletedProcess[str]:
    """nbval on one notebook, with the words of tests/run."""
    return subprocess.run([sys.executable, "-m", "pytest", "--nbval", "--nbval-current-env", "-p", "no:cacheprovider",
                           "--nbval-sanitize-with", str(HERE / "nbval.cfg"), "-rf", str(notebook)],
                          capture_output=True, text=True, cwd=notebook.parent, timeout=300, check=False)  # fmt: skip


@pytest.fixture(scope="module")
def control(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small notebook, run and stored."""
    from nbclient import NotebookClient

    path = tmp_path_factory.mktemp("nbval") / "control.ipynb"
    book = v4.new_notebook(cells=[v4.new_code_cell(source) for _, source, _ in CELLS])
    book.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    NotebookClient(book, kernel_name="python3").execute()
    nbformat.write(book, path)
    return path


def test_a_true_notebook_passes(control: Path) -> None:
    found = holds(control)
    assert found.returncode == 0 and f"{len(CELLS)} passed" in found.stdout, found.stdout[-2000:]


def test_each_wrong_stored_output_fails_and_no_other(control: Path, tmp_path: Path) -> None:
    book = nbformat.read(control, as_version=4)
    for cell, (_, _, change) in zip(book.cells, CELLS, strict=True):
        if change:
            change(cell)
    wrong = tmp_path / "wrong.ipynb"
    nbformat.write(book, wrong)
    found = holds(wrong)
    failed = {int(k) for k in re.findall(r"^FAILED .*::Cell (\d+)", found.stdout, re.M)}
    expected = {k for k, (_, _, change) in enumerate(CELLS) if change}
    assert found.returncode == 1
    assert failed == expected, [CELLS[k][0] for k in failed ^ expected]


def test_a_wrong_digit_in_a_notebook_of_the_class_fails(tmp_path: Path) -> None:
    """The first printed digit of a real notebook, one higher: exactly that cell fails."""
    path = tmp_path / TRUE.name
    shutil.copy(TRUE, path)
    book = nbformat.read(path, as_version=4)
    out = next(o for c in book.cells if c.cell_type == "code" and "nbval-ignore-output" not in c.metadata.get("tags", [])
               for o in c.outputs if o.output_type == "stream" and any(d.isdigit() for d in o.text))
    k = next(i for i, letter in enumerate(out.text) if letter.isdigit())
    out.text = out.text[:k] + str((int(out.text[k]) + 1) % 10) + out.text[k + 1 :]
    nbformat.write(book, path)
    found = holds(path)
    assert found.returncode == 1 and "1 failed" in found.stdout, found.stdout[-2000:]


@pytest.mark.parametrize("wrong", ["blank", "missing", "without words"])
def test_a_wrong_picture_fails_where_nbval_does_not_look(tmp_path: Path, wrong: str) -> None:
    """nbval leaves out pictures; the check of stored notebooks does not."""
    book = nbformat.read(TRUE, as_version=4)
    output = next(o for c in book.cells if c.cell_type == "code" for o in c.outputs if "image/png" in o.get("data", {}))
    path = tmp_path / TRUE.name
    nbformat.write(book, path)
    stored.test_every_picture_is_there_and_can_be_seen(path)
    if wrong == "missing":
        del output.data["image/png"]
    elif wrong == "without words":
        output.metadata["image/png"]["alt"] = ""
    else:
        page = io.BytesIO()
        Image.new("RGB", (600, 300), "white").save(page, format="png")
        output.data["image/png"] = base64.b64encode(page.getvalue()).decode()
    nbformat.write(book, path)
    with pytest.raises(AssertionError, match=r"hardly anything|not stored|without words"):
        stored.test_every_picture_is_there_and_can_be_seen(path)
