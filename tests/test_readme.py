"""The README says only what works: its Python runs, its files exist, its design snippet is read."""

import re
import tomllib
from pathlib import Path

from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import from_values

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.S)


def test_python_blocks_run_in_order(capsys):
    names = {}
    for block in blocks("python"):
        exec(compile(block, "README.md", "exec"), names)
    said = capsys.readouterr().out
    assert "least gap under the tongue" in said and re.search(r"^0\.\d+ 0\.\d+$", said, flags=re.M)
    assert "95 in 100" in said


def test_toml_block_completes_a_design_without_neck_angle():
    values = tomllib.loads((data_folder() / "designs" / "slack_water.toml").read_text("utf-8"))
    del values["neck"]
    values |= tomllib.loads(blocks("toml")[0])
    assert from_values(values).dimensions().alpha > -0.02


def test_named_files_exist():
    for name in [*re.findall(r"\]\(([^)]+)\)", README), *re.findall(r"`((?:lutherie_geom|data|tests)/[\w./]+)`", README)]:
        assert (ROOT / name).exists(), name


def test_opens_with_the_job_and_two_commands():
    first, second = blocks("sh")[:2]
    assert "lutherie_geom book slack_water" in first and second.strip() == "bash tests/run"
