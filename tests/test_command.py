"""The command line: what it makes, what it says, and that a bad design leaves nothing behind."""

import json
import subprocess
import sys
from fractions import Fraction

import pytest

from lutherie_geom.__main__ import main
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import names


def test_book_of_a_demo_design(tmp_path):
    done = subprocess.run([sys.executable, "-m", "lutherie_geom", "book", "slack_water", "--into", str(tmp_path / "out")],
                          capture_output=True, text=True, timeout=60)
    assert done.returncode == 0 and not done.stderr, done.stderr
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


def own_design(tmp_path):
    own = tmp_path / "My Neck.toml"
    own.write_text((data_folder() / "designs" / "slack_water.toml").read_text("utf-8"), "utf-8")
    return str(own)


def test_card(tmp_path, capsys):
    place = tmp_path / "cards" / "card.pdf"
    assert main(["card", "cross_tide", "--into", str(place), "--paper", "Letter", "--units", "mm"]) == 0
    assert place.read_bytes().startswith(b"%PDF") and "Turn card: Cross Tide" in capsys.readouterr().out


def test_proof_sheet_blank_and_verdict(tmp_path, capsys):
    own, page, blank = own_design(tmp_path), tmp_path / "proof.html", tmp_path / "read.toml"
    assert main(["proof", own, "--page", str(page), "--blank", str(blank)]) == 0
    assert "Now or never" in capsys.readouterr().out and "<h2>Now or never" in page.read_text("utf-8")
    assert main(["proof", own, "--blank", str(blank)]) == 2  # a filled-in sheet is not written over
    assert "is there already" in capsys.readouterr().err
    blank.write_text('[[turned]]\ntilt = "0"\n"floor.foot_bass" = "0.2 mm"\n[feel]\ntilt = "free"\n')
    assert main(["proof", own, "--readings", str(blank)]) == 1
    assert "mend this first" in capsys.readouterr().out
    blank.write_text('[[turned]]\ntilt = "0"\n"floor.foot_bass" = "0.2"\n')
    assert main(["proof", own, "--readings", str(blank), "--page", str(tmp_path / "other.html")]) == 2
    assert "no unit" in capsys.readouterr().err and not (tmp_path / "other.html").exists()


def test_log_is_kept_and_shown(tmp_path, capsys):
    own, log = own_design(tmp_path), tmp_path / "My Neck.log.txt"
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[action.12]\nbass = "2.40 mm"\ntreble = "1.75 mm ± 0.06 mm"\n')
    assert main(["log", own, "show"]) == 2 and "no log yet" in capsys.readouterr().err
    assert main(["log", own, "add", "--who", "class", "--tilt", "-1/8", "--rh", "45 %", "--temperature", "20.5", "--readings",
                 str(sheet), "--read", "straightedge.bridge=11.8 mm ± 0.3", "--words", "first", "--when",
                 "2026-11-25 19:30+00:00"]) == 0
    assert main(["log", own, "show", "--trend"]) == 0
    said = capsys.readouterr().out
    for words in ("tilt -1/8", "45 % RH, 20.5 degC", "action.12.treble 1.75 mm, sd 0.03 mm",
                  "straightedge.bridge 11.8 mm, sd 0.15", "Too little for a trend"):
        assert words in said
    before = log.read_bytes()
    assert main(["log", own, "add", "--who", "", "--tilt", "x", "--rh", "damp", "--temperature", "80", "--when", "soon",
                 "--read", "gap.end=1", "--read", "no"]) == 2
    said = capsys.readouterr().err
    for words in ("tilt: 'x'", "rh: 'damp'", "temperature: 80.0 degC; allowed is -30 to 60", "when: 'soon'", "gap.end",
                  "'no' is no", "who: is empty"):
        assert words in said
    assert log.read_bytes() == before


def test_card_and_advice_of_the_instrument_itself(tmp_path, capsys):
    from lutherie_geom.design.load import load
    from lutherie_geom.joint.pose import pose
    from lutherie_geom.joint.strings import action

    own, d = own_design(tmp_path), load("slack_water").dimensions()
    higher = d.replaced(h_saddle=d.h_saddle + 0.5)
    assert main(["card", own, "--learn", "--into", str(tmp_path / "card.pdf")]) == 2  # nothing to learn from yet
    assert "no log yet" in capsys.readouterr().err
    for tilt in ("-1/2", "-1/4", "0", "1/4", "1/2"):
        bass, treble = action(pose(higher, tilt=float(Fraction(tilt))), 12)[[0, -1], 0]
        assert main(["log", own, "add", "--who", "class", f"--tilt={tilt}", "--read", f"action.12.bass={bass:.3f} mm", "--read",
                     f"action.12.treble={treble:.3f} mm"]) == 0
    capsys.readouterr()
    assert main(["card", own, "--learn", "--into", str(tmp_path / "card.pdf")]) == 0
    said = capsys.readouterr().out
    assert "Learned from the log" in said and (tmp_path / "card.pdf").exists()
    lower = next(line for line in said.splitlines() if line.startswith("as designed (0)"))
    nominal = action(pose(d), 12)[0, 0]
    assert float(lower.split("mm")[0].split()[-1]) == pytest.approx(float(nominal) + 0.25, abs=0.06)
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[action.12]\nbass = "2.80 mm"\ntreble = "2.20 mm"\n')
    assert main(["setup", own, "--learn", "--readings", str(sheet)]) == 0


def test_bad_entry_makes_no_log(tmp_path, capsys):
    assert main(["log", own_design(tmp_path), "add", "--who", "class", "--rh", "300"]) == 2
    assert "0 to 100 % RH" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["My Neck.toml"]
    assert main(["log", "slack_watr", "add", "--who", "class"]) == 2
    assert "did you mean" in capsys.readouterr().err


def test_set_up_day(tmp_path, capsys):
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[action.12]\nbass = "2.80 mm"\ntreble = "2.20 mm"\n')
    assert main(["setup", "slack_water", "--readings", str(sheet), "--action", "2.4 mm", "1.8 mm", "--tilt", "-1/8"]) == 0
    assert "clockwise" in capsys.readouterr().out
    assert main(["setup", "slack_water", "--readings", str(sheet), "--tilt", "13"]) == 2
    assert "tilt: 13 turns; allowed is -12 to 12 turns" in capsys.readouterr().err
    sheet.write_text("[action.12]\nbass = 3\n")
    assert main(["setup", "slack_water", "--readings", str(sheet)]) == 2
    assert "action.12.bass" in capsys.readouterr().err


def test_a_design_that_is_bad_makes_nothing_in_any_job(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bad.toml").write_text("name = 3")
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[action.12]\nbass = "2.80 mm"\n')
    for job in (["card", "bad.toml"], ["proof", "bad.toml", "--page", "p.html"], ["log", "bad.toml", "add", "--who", "class"],
                ["setup", "bad.toml", "--readings", str(sheet)]):
        assert main(job) == 2
        assert "bad.toml" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.toml", "sheet.toml"]
