"""A wheel carries its data, and works away from the checkout."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run([sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(ROOT)], check=True, capture_output=True)
    return next(out.glob("*.whl"))


def test_wheel_carries_data_and_templates(wheel):
    inside = zipfile.ZipFile(wheel).namelist()
    for name in ("data/designs/slack_water.toml", "data/tables/threads.toml", "show/joint_book.schema.json"):
        assert f"lutherie_geom/{name}" in inside
    assert any(n.startswith("lutherie_geom/show/templates/") for n in inside)


def test_installed_wheel_makes_a_book_far_from_the_checkout(wheel, tmp_path):
    """Unpacked where no checkout is near, run with the packages of this environment and nothing of the checkout."""
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    code = ("import sys, pathlib; sys.path.insert(0, sys.argv[1]); import lutherie_geom; "
            "assert pathlib.Path(lutherie_geom.__file__).is_relative_to(sys.argv[1]), lutherie_geom.__file__; "
            "from lutherie_geom.__main__ import main; sys.exit(main(['book', 'slack_water', '--into', sys.argv[2]]))")
    done = subprocess.run([sys.executable, "-P", "-c", code, str(site), str(tmp_path / "book")], cwd=tmp_path,
                          capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "book" / "slack_water.html").stat().st_size > 10_000
    assert (tmp_path / "book" / "slack_water.json").exists()
