"""The command line: what it makes, what it says, and that a bad design leaves nothing behind."""

import json
import subprocess
import sys
import time

import pytest

from lutherie_geom.__main__ import main
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import names


def test_book_of_a_demo_design(tmp_path):
    begun = time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "lutherie_geom", "book", "slack_water", "--into", str(tmp_path / "out")],
                          capture_output=True, text=True, timeout=60)
    assert done.returncode == 0 and not done.stderr, done.stderr
    assert time.perf_counter() - begun < 10
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["slack_water.html", "slack_water.json"]
    for said in ("Slack Water", "action at fret 12", "travel lowering", "travel raising", "slack_water.html", "jupyter lab"):
        assert said in done.stdout
    assert json.loads((tmp_path / "out" / "slack_water.json").read_text("utf-8"))["design"]["name"] == "Slack Water"


def test_own_file_and_units(tmp_path, capsys):
    own = tmp_path / "My Neck.toml"
    own.write_text((data_folder() / "designs" / "spring_tide.toml").read_text("utf-8"), "utf-8")
    assert main(["book", str(own), "--into", str(tmp_path / "out"), "--units", "inch"]) == 0
    said = capsys.readouterr().out
    assert said.index("fails") < said.index("tight") and " in (" in said
    assert (tmp_path / "out" / "my_neck.html").exists()
    data = json.loads((tmp_path / "out" / "my_neck.json").read_text("utf-8"))
    assert data["units"]["length"] == "mm"  # programs always get millimetres
    assert data["readings"][0]["unit"] == "deg"


def test_worst_stands_first(tmp_path, capsys):
    main(["book", "spring_tide", "--into", str(tmp_path)])
    said = capsys.readouterr().out
    data = json.loads((tmp_path / "spring_tide.json").read_text("utf-8"))
    words = {r["key"]: r["words"] for r in data["readings"]}
    bad = [words[k] for k in data["worst_first"][:3]]
    assert [said.index(w) for w in bad] == sorted(said.index(w) for w in bad)


@pytest.mark.parametrize("text", ["name = 3", "= = =", 'name = "x"\n[strings]\nscale = "14 kg"'])
def test_bad_design_is_told_plainly_and_nothing_is_written(text, tmp_path, capsys):
    bad = tmp_path / "bad.toml"
    bad.write_text(text)
    assert main(["book", str(bad), "--into", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert not said.out and "bad.toml" in said.err and "Traceback" not in said.err
    assert not (tmp_path / "out").exists()


def test_unknown_name_and_blocked_folder(tmp_path, capsys):
    assert main(["book", "slack_watr", "--into", str(tmp_path / "out")]) == 2
    assert "did you mean the demo design 'slack_water'" in capsys.readouterr().err
    (tmp_path / "taken").write_text("a file, not a folder")
    assert main(["book", "slack_water", "--into", str(tmp_path / "taken")]) == 2
    assert "cannot write" in capsys.readouterr().err


def test_designs_are_listed(capsys):
    assert main(["designs"]) == 0
    said = capsys.readouterr().out
    assert all(n in said for n in names())
