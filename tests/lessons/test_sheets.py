"""Sheets out, sheets in, marks: a class of twelve with slips that were planted, damaged sheets, the key, and the commands."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lutherie_geom.__main__ import main
from lutherie_geom.lessons.exercise import LessonError
from lutherie_geom.lessons.handing_out import class_of, hand_out, sheet, students_of
from lutherie_geom.lessons.marking import COLUMNS, mark, mark_text
from lutherie_geom.lessons.teachers_key import key, key_of
from lutherie_geom.show.exercise import usual_slips

CLASS = [f"{first} {last}" for first, last in zip(
    "Ada Bo Cy Dot Eli Fay Gus Hal Ida Jo Kit Lou".split(),
    "Tern Sandpiper Wrack Dulse Eddy Fathom Gull Hawser Islet Jetty Kelp Ling".split(), strict=True)]
SEED = "net loft 3"
NAMES = ["floor_for_travel", "tilt_of_a_turn", "saddle_alone", "yaw_of_a_pair", "what_one_cut_brings", "force_in_the_tilt_screw"]


def filled(one, answers, because="arm and pitch"):
    """The sheet's text with answers written behind the labels, in their order."""
    todo = iter(answers)
    text = re.sub(r"Answer \[[^\]]*\]:", lambda m: f"{m[0]} {next(todo)}".rstrip(), one.text)
    return text.replace("Because:", f"Because: {because}")


def planted(one, k):
    """Answers of the k-th student and the mark that each must get: right, usual slips, the problem's own, blank, no number."""
    answers, marks = [], []
    for j, p in enumerate(one.problems):
        own = p.wrong
        also = {s.also for s in p.exercise.slips}
        usual = [u for u in usual_slips(p.right, p.unit) if u.name not in also]
        this = own[k % len(own)]
        kinds = [("right", f"{p.right:.4g}"), (this.name, f"{this.value:.5g} {p.unit}"),
                 (usual[k % len(usual)].name, f"{usual[k % len(usual)].value:.5g}"), ("blank", ""),
                 ("unreadable", "about so much"), ("right", f"{p.right:.4g} {p.unit}")]
        name, answer = kinds[(j + k) % len(kinds)]
        answers.append(answer)
        marks.append(name)
    return answers, marks


def test_round_trip_of_a_class(tmp_path):
    sheets = class_of(CLASS, SEED, NAMES)
    places = hand_out(sheets, tmp_path / "out")
    assert len(places) == 12 and len({p.read_text("utf-8") for p in places}) == 12
    back = tmp_path / "in"
    back.mkdir()
    want = {}
    for k, one in enumerate(sheets):
        answers, want[one.student] = planted(one, k)
        (back / f"{k}_{one.file_name}").write_text(filled(one, answers), "utf-8")
    found = mark(back, SEED)
    assert [s.student for s in sorted(found.sheets, key=lambda s: CLASS.index(s.student))] == CLASS
    for s in found.sheets:
        assert s.readable and not s.odd
        assert [a.short for a in s.answers] == want[s.student], s.student
        assert s.right == want[s.student].count("right")
        assert all(a.because == "arm and pitch" for a in s.answers)
    text = str(found)
    assert "12 sheets marked" in text and all(n in text for n in (*CLASS, *NAMES))
    total = sum(m.count("right") for m in want.values())
    rows = list(csv.DictReader(io.StringIO(found.csv())))
    assert tuple(rows[0]) == COLUMNS and len(rows) == 12 * len(NAMES)
    assert sum(r["state"] == "right" for r in rows) == total
    blamed = [line for line in text.splitlines() if "about so much" in line]
    assert len(blamed) == sum(m.count("unreadable") for m in want.values())
    assert all(re.search(r"\.txt: line \d+, \w+, answer: ", line) for line in blamed)


def test_a_class_with_inch_rulers(tmp_path):
    """One answers in inches, one in mm where inches are wanted, one in mm with the unit written."""
    names = ["floor_for_travel", "saddle_alone"]
    sheets = class_of(CLASS[:3], SEED, names, units="inch")
    ways = [lambda p: f"{p.right:.4g}", lambda p: f"{25.4 * p.right:.4g}", lambda p: f"{25.4 * p.right:.4g} mm"]
    for one, way in zip(sheets, ways, strict=True):
        assert "Answer [in]:" in one.text and " in, by the saddle alone" in one.text
        (tmp_path / one.file_name).write_text(filled(one, map(way, one.problems)), "utf-8")
    found = mark(tmp_path, SEED)
    assert not any(s.odd for s in found.sheets)
    assert [[a.short for a in s.answers] for s in found.sheets] == [["right"] * 2, ["millimetres"] * 2, ["right"] * 2]
    assert {row["unit"] for row in csv.DictReader(io.StringIO(found.csv()))} == {"in"}


def test_the_command_hands_out_in_inches_and_the_key_is_in_inches(tmp_path, capsys):
    ask = ["--class", SEED, "--student", "Ada", "--problems", "saddle_alone", "--units", "inch"]
    assert main(["sheet", *ask, "--into", str(tmp_path / "out")]) == 0
    assert "Answer [in]:" in (tmp_path / "out" / "ada.txt").read_text("utf-8")
    capsys.readouterr()
    assert main(["key", *ask]) == 0
    assert re.search(r"Right: -?0\.0\d+ in", capsys.readouterr().out)


def test_the_same_seed_gives_the_same_sheet_to_anybody():
    a, b = sheet("Ada Tern", "tuesday", problems=NAMES), sheet("Bo Sandpiper", "tuesday", problems=NAMES)
    assert a.text.replace("Ada Tern", "Bo Sandpiper") == b.text
    assert sheet("Ada Tern", "wednesday", problems=NAMES).text != a.text
    alike = class_of(CLASS, SEED, NAMES, alike=True)
    assert len({s.text.partition("Seed:")[2] for s in alike}) == 1
    own = class_of(CLASS, SEED, NAMES)
    assert len({"".join(p.text for p in s.problems) for s in own}) == 12
    assert own[0].text == sheet("Ada Tern", class_seed=SEED, problems=NAMES).text


ONE = sheet("Ada Tern", class_seed=SEED, problems=NAMES)
RIGHT = [f"{p.right:.4g}" for p in ONE.problems]
GOOD = filled(ONE, RIGHT)


def states(text, class_seed=None):
    found = mark_text(text, "ada.txt", class_seed)
    return [a.state for a in found.answers], "\n".join(found.odd), found


def test_a_good_sheet():
    assert states(GOOD, SEED)[:2] == (["right"] * 6, "")


@pytest.mark.parametrize(("harm", "expected", "words"), [
    (lambda t: t.replace("\n", "\r\n"), ["right"] * 6, ""),
    (lambda t: re.sub(r"(?m)^ +", "", t), ["right"] * 6, ""),  # indents lost in a mail
    (lambda t: re.sub(r"Answer \[[^\]]*\]: ", "ANSWER = ".replace("=", ":"), t), ["right"] * 6, ""),
    (lambda t: re.sub(r"(Answer \[[^\]]*\]:) ", r"\1\n      ", t), ["right"] * 6, ""),  # on the line below
    (lambda t: t[: t.index("5. what_one")], ["right"] * 4 + ["cut out"] * 2,
     "problem what_one_cut_brings: it is not on the sheet"),
    (lambda t: t.replace("Student: Ada Tern\n", ""), ["right"] * 6, "student: no name"),
    (lambda t: t.replace("/ ada tern", "/ bo sandpiper"), ["altered"] * 6, "line 10, floor_for"),
    (lambda t: t.replace("3. saddle_alone", "3. sadle_alone"), ["right"] * 2 + ["cut out"] + ["right"] * 3,
     "'sadle_alone' is no problem that is known"),
    (lambda t: t + t[t.index("6. force"):].replace(RIGHT[5], "1"), ["right"] * 6, "stands here twice, here with the answer '1"),
    (lambda t: t.replace("Because: arm", "Because: arm\nAnswer: 3\nBecause: arm", 1), ["right"] * 6, "a second answer, '3'"),
    (lambda t: t.replace(RIGHT[2], RIGHT[2].replace(".", ",")), ["right"] * 6, ""),
    (lambda t: re.sub(r"(Answer \[[^\]]*\]: \S+)", r"\1.", t), ["right"] * 6, ""),  # a full stop, as after a sentence
    (lambda t: re.sub(r"shall go down by \S+", "shall go down by 7/16", t), ["altered"] + ["right"] * 5,
     "line 10, floor_for_travel: the text is not the one"),
    (lambda t: t.replace("shall go down", "should go down"), ["right"] * 6,
     "line 10, floor_for_travel: words of the text were changed"),
    (lambda t: t.replace("   Answer", "   3 x 4 = 12\n   Answer", 1), ["right"] * 6, "'3 x 4 = 12' stands between"),
    (lambda t: "\ufeff" + t + "\x07\x1b[31m", ["right"] * 6, ""),
])
def test_damage_stays_where_it_is(harm, expected, words):
    got, odd, found = states(harm(GOOD))
    assert got == expected
    assert words in odd and (words or not odd)
    assert "\x1b" not in found.answers[-1].because


def test_a_lost_or_wrong_seed_is_found_again_through_the_class():
    lost = re.sub(r"Seed:.*\n", "", GOOD)
    got, odd, found = states(lost)
    assert not found.readable and "seed: it is missing" in odd and f"answer {RIGHT[0]!r} kept" in odd
    assert states(lost, SEED)[0] == ["right"] * 6
    got, odd, _ = states(GOOD.replace("Seed: net loft 3 / ada tern", "Seed: net"), SEED)
    assert got == ["right"] * 6 and "'net' does not give these numbers" in odd
    other = filled(sheet("Ada Tern", "at home", problems=NAMES), RIGHT)
    assert "is not that of this student in this class" in states(other, SEED)[1]
    copied = filled(sheet("Bo Sandpiper", class_seed=SEED, problems=NAMES), RIGHT).replace("Student: Bo Sandpiper",
                                                                                           "Student: Ada Tern")
    assert "is not that of this student in this class" in states(copied, SEED)[1]


def test_what_is_no_sheet_is_named_and_the_rest_is_marked(tmp_path):
    (tmp_path / "a.txt").write_text(GOOD, "utf-8")
    (tmp_path / "b.txt").write_text(GOOD, "utf-8")
    (tmp_path / "c.txt").write_bytes(GOOD.encode("utf-16"))
    (tmp_path / "d.txt").write_bytes(GOOD.replace("arm and pitch", "wie ± geübt").encode("cp1252"))
    (tmp_path / "e.docx").write_bytes(b"PK\3\4\0\0")
    (tmp_path / "f.txt").write_bytes(b"")
    (tmp_path / "g.txt").write_text("bread, milk", "utf-8")
    (tmp_path / "h.txt").write_bytes(b"x" * 1_000_001)
    (tmp_path / "i").mkdir()
    (tmp_path / ".hidden").write_text("x")
    found = mark(tmp_path)
    assert [s.readable for s in found.sheets] == [True] * 4 + [False] * 5
    text = str(found)
    for words in ("4 sheets marked, 5 not readable", "a.txt: Ada Tern handed in 4 sheets", "d.txt: not saved in UTF-8",
                  "e.docx: is no text", "f.txt: is empty", "g.txt: no problem was found", "h.txt: 1000001 bytes",
                  "i: is a folder"):
        assert words in text, words
    rows = list(csv.DictReader(io.StringIO(found.csv())))
    assert len(rows) == 4 * 6 + 5 and rows[-1]["state"] == "unreadable" and "wie ± geübt" in found.csv()


def test_a_spreadsheet_takes_nothing_for_a_formula():
    found = mark_text(filled(ONE, ["-0.3", "=1+1", "@x", "+cmd", "- 2", "5"], because="=HYPERLINK(1)"), "ada.txt")
    from lutherie_geom.lessons.marking import ClassMarks
    rows = list(csv.DictReader(io.StringIO(ClassMarks("x", (found,)).csv())))
    assert [r["answer"] for r in rows] == ["-0.3", "'=1+1", "'@x", "'+cmd", "- 2", "5"]
    assert all(r["because"] == "'=HYPERLINK(1)" for r in rows)


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_no_damage_raises_and_untouched_answers_stay(data):
    """Some lines of the sheet are cut, doubled or overwritten: nothing raises, and problems that were not touched are right."""
    lines = GOOD.splitlines()
    start = lines.index("4. yaw_of_a_pair (notebook 06)")
    for _ in range(data.draw(st.integers(1, 6))):
        k = data.draw(st.integers(start, len(lines) - 1))
        how = data.draw(st.sampled_from(["cut", "double", "write"]))
        lines[k:k + 1] = {"cut": [], "double": [lines[k]] * 2, "write": [data.draw(st.text(max_size=40))]}[how]
        lines.append("")
    found = mark_text("\n".join(lines), "ada.txt", SEED)
    assert found.readable and [a.problem for a in found.answers][:6] == NAMES
    assert [a.state for a in found.answers[:3]] == ["right"] * 3


# ------------------------------------------------------------------------------------------------------- the key
def test_key_holds_what_marks_as_right():
    text = key_of(ONE)
    right = re.findall(r"Right: (\S+)", text)
    assert states(filled(ONE, right))[0] == ["right"] * 6
    p = ONE.problems[1]
    assert f"{p.given.turns * p.given.pitch / p.given.arm:.3g} rad" in text  # the working, by hand
    assert key(class_of(CLASS, SEED, NAMES)).count("Key: ") == 12


# ------------------------------------------------------------------------------------------------- the commands
def test_commands_from_sheet_to_mark(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "names.txt").write_text("Ada Tern\n\nBo Sandpiper  # comes late\n", "utf-8")
    ask = ["--class", SEED, "--students", "names.txt", "--problems", "04", "off_the_saddle"]
    assert main(["sheet", *ask, "--into", "out"]) == 0
    assert main(["key", *ask]) == 0
    out = capsys.readouterr().out
    assert "2 sheets to hand out" in out and out.count("Right: ") == 8
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["ada_tern.txt", "bo_sandpiper.txt"]
    before = (tmp_path / "out" / "ada_tern.txt").read_text("utf-8")
    answers = re.findall(r"Right: (\S+)", out)[:4]
    todo = iter(answers)
    (tmp_path / "out" / "ada_tern.txt").write_text(re.sub(r"(Answer .*)", lambda m: f"{m[0]} {next(todo)}", before), "utf-8")
    assert main(["mark", "out", "--class", SEED, "--each"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"Ada Tern +4 +4\n", out) and re.search(r"Bo Sandpiper +0 +4 +blank: tilt", out)
    assert "off_the_saddle: Right" in out
    assert (tmp_path / "out-marks.csv").read_text("utf-8-sig").count("\n") == 9
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["ada_tern.txt", "bo_sandpiper.txt"]
    assert main(["sheet", "--list"]) == 0
    assert "tilt_of_a_turn" in capsys.readouterr().out


@pytest.mark.parametrize(("ask", "words"), [
    (["sheet", "--student", "Ada"], "--class: missing"),
    (["sheet", "--class", "x"], "--student: missing"),
    (["sheet", "--class", "x", "--students", "none.txt"], "none.txt"),
    (["sheet", "--class", "x", "--student", "Ada", "--problems", "77"], "problems: '77' is none"),
    (["sheet", "--class", "x", "--student", "Ada", "--student", "ada!"], "would get the same file, ada.txt"),
    (["key", "--class", " ", "--student", "Ada"], "class: ' '"),
    (["mark", "nowhere"], "nowhere: 1 problem"),
    (["mark", "."], "the folder is empty"),
])
def test_commands_told_wrongly_write_nothing(ask, words, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(ask) == 2
    said = capsys.readouterr()
    assert words in said.err and not said.out and not list(tmp_path.iterdir())


def test_nothing_handed_out_is_overwritten(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ask = ["sheet", "--class", "x", "--problems", "04", "--into", "out"]
    assert main([*ask, "--student", "Bo"]) == 0
    kept = (tmp_path / "out" / "bo.txt").read_text("utf-8")
    assert main([*ask, "--student", "Ada", "--student", "Bo"]) == 2
    assert "bo.txt: is there already" in capsys.readouterr().err
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["bo.txt"]
    assert (tmp_path / "out" / "bo.txt").read_text("utf-8") == kept
    assert main(["mark", "out", "--csv", "out/bo.txt"]) == 2
    assert "lies among the sheets" in capsys.readouterr().err


def test_names_that_are_odd(tmp_path):
    made = class_of(["Zoë O'Reef-Øy", "李", "../../x"], SEED, ["04"])
    assert [s.file_name for s in made] == ["zoe_o_reef_y.txt", "sheet.txt", "x.txt"]
    for s in made:
        assert mark_text(filled(s, [f"{p.right:.4g}" for p in s.problems]), "s", SEED).right == 3
    (tmp_path / "n.txt").write_bytes(b"\xff\xfe\xff")
    with pytest.raises(LessonError, match="no plain text"):
        students_of(tmp_path / "n.txt")
