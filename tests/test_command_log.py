"""The log on the command line: the sense of the last turn, readings withdrawn, bench work, and where the screws stand."""

import pytest

from lutherie_geom.__main__ import main
from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.log.log import read_log

DESIGN = load("slack_water")
PLAY = 0.12  # mm of dead band in the instrument's thread, of 1 mm pitch


@pytest.fixture
def log(tmp_path):
    """Adds an entry: the action as read at a turn, its last sense known; and what it says."""
    place = tmp_path / "neck.log.txt"

    def add(when, tilt, last, slip=0.0, more=()):
        lag = PLAY / 2 * (1 if last == "lowering" else -1) / float(DESIGN.tilt_screw.pitch)
        bass, treble = action(pose(DESIGN.dimensions(), tilt=tilt + lag), 12)[[0, -1], 0]
        return main(["log", "slack_water", "add", "--log", str(place), "--who", "class", "--when", f"{when}+00:00",
                     "--last", last, f"--tilt={tilt}", "--read", f"action.12.bass={bass + slip:.3f} mm",
                     "--read", f"action.12.treble={treble:.3f} mm", *more])

    add.place = place
    return add


SIX = [("2024-01-01 12:30", 0, "lowering"), ("2024-01-01 12:40", 0.5, "raising"), ("2024-01-01 12:50", 0.5, "lowering"),
       ("2024-01-01 13:00", -0.4, "lowering"), ("2024-01-01 13:10", 0, "raising"), ("2024-01-01 13:20", -0.4, "raising")]


def learned(log, capsys, tmp_path):
    capsys.readouterr()
    code = main(["card", "slack_water", "--log", str(log.place), "--learn", "--into", str(tmp_path / "card.pdf")])
    told = capsys.readouterr()
    return code, told.out + told.err


def test_the_sense_of_the_last_turn_teaches_the_dead_band(log, capsys, tmp_path):
    assert [log(*e) for e in SIX] == [0] * 6
    assert log.place.read_text("utf-8").count("last turn: raising") == 3
    code, said = learned(log, capsys, tmp_path)
    assert code == 0 and "CONTRADICTION" not in said
    band = next(line for line in said.splitlines() if line.startswith("dead band of the tilt screw, thread play and friction"))
    assert float(band.split("+")[1].split(" mm")[0]) == pytest.approx(PLAY, abs=0.011)


def test_a_slip_is_withdrawn_and_stays_in_the_log(log, capsys, tmp_path):
    for k, e in enumerate(SIX):
        log(*e, slip=0.9 if k == 3 else 0.0)
    code, said = learned(log, capsys, tmp_path)
    assert code == 2 and "2024-01-01 13:00" in said  # no card can rest on it
    before = log.place.read_bytes()
    withdraw = ["log", "slack_water", "add", "--log", str(log.place), "--who", "class", "--withdraw"]
    for ref, words, wrong in (("2024-01-01 13:00 action.12.bass", "", "write why"),
                              ("2024-01-01 13:01 action.12.bass", "x", "no reading"),
                              ("2024-01-01 13:00 gap.end", "x", "no reading"),
                              ("yesterday", "x", "write date, time and reading")):
        assert main([*withdraw, ref, "--words", words]) == 2 and wrong in capsys.readouterr().err
    assert log.place.read_bytes() == before
    assert main([*withdraw, "2024-01-01 13:00 action.12.bass", "--words", "3.28 written for 2.38"]) == 0
    assert log.place.read_bytes().startswith(before)  # nothing is deleted
    assert "withdrawn: 2024-01-01 13:00 action.12.bass" in capsys.readouterr().out
    code, said = learned(log, capsys, tmp_path)
    assert code == 0 and "CONTRADICTION" not in said
    assert main([*withdraw, "2024-01-01 13:00 action.12.bass", "--words", "again"]) == 2  # it does not stand any more
    # The right reading is written once more, at the same time, and stands.
    assert log("2024-01-01 13:00", -0.4, "lowering") == 0
    code, said = learned(log, capsys, tmp_path)
    assert code == 0 and "CONTRADICTION" not in said
    assert len(read_log(log.place)) == 8


def test_bad_senses_and_bench_work_are_named(log, capsys):
    assert log("2024-01-01 12:30", 0, "lowering", more=["--last", "down", "--changed", "sadle"]) == 2
    said = capsys.readouterr().err
    assert "last: 'down'; allowed is raising or lowering" in said and "changed: 'sadle'; allowed is saddle, nut" in said


def test_set_up_day_takes_the_screws_from_the_log(log, capsys, tmp_path):
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[action.12]\nbass = "2.80 mm"\ntreble = "2.20 mm"\n')
    ask = ["setup", "slack_water", "--log", str(log.place), "--readings", str(sheet)]
    assert main(ask) == 0
    bare = capsys.readouterr().out
    log("2024-01-01 12:30", -0.3, "lowering")
    log("2023-06-01 12:30", 0.25, "lowering")  # written later, of an earlier day
    capsys.readouterr()
    assert main(ask) == 0
    told = capsys.readouterr().out
    assert "As the log has it on 2024-01-01 12:30: tilt -0.3, bass 0, treble 0." in told and "As the log" not in bare
    assert main([*ask, "--tilt=-0.3", "--bass", "0", "--treble", "0"]) == 0
    assert told.endswith(capsys.readouterr().out)  # the very same advice
    assert main([*ask, "--tilt", "0"]) == 0
    assert "bass 0, treble 0" in (said := capsys.readouterr().out) and "tilt -0.3" not in said
