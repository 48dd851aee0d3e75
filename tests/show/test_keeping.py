"""The sliders kept in a design file: comments stay, all or nothing, and the file read back shows the same joint."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels, style
from lutherie_geom.show.keeping import file_of
from lutherie_geom.show.panels_strength import preload_sheet
from lutherie_geom.show.panels_tongue import rods_sheet
from lutherie_geom.show.sheet import Control, HandSheet


def said(sheet: HandSheet) -> str:
    return str(sheet._line.value)


MOVED = {
    "travel_sheet": {"gap": 1.3, "clearance": 1.6, "pocket": 5.0, "depth": 22.0},
    "neck_set_sheet": {"angle": 0.3, "saddle": 0.4, "wood": -0.2},
    "tilt_sheet": {"pitch": 0.9, "depth": 55.0},
    "heel_sheet": {"depth": 23.0, "pivot": -3.2, "clearance": 1.5, "pocket": 5.1},
    "steer_sheet": {"spacing": 34.0},
    "sensitivity_sheet": {"depth": 22.0, "arm": 58.0, "pivot": -3.0, "pitch": 0.8, "pitch_pivot": 1.0, "spacing": 34.0},
}


@pytest.mark.parametrize("name", MOVED)
def test_what_is_kept_gives_the_same_joint_again(name: str, tmp_path: Path) -> None:
    """Read back, the file has the pose, the strings and the words that the sheet showed."""
    sheet = getattr(panels, name)(lg.load("slack_water"))
    sheet.set(**MOVED[name])
    assert sheet.keep(str(tmp_path / "mine.toml")), said(sheet)
    again = getattr(panels, name)(lg.load(tmp_path / "mine.toml"))
    assert again.text == sheet.text
    for control in again.controls:
        if control.name not in ("saddle", "wood"):  # these two say what changes against the file
            assert again.values[control.name] == pytest.approx(sheet.values[control.name], abs=1e-9)


def test_keeping_makes_a_copy_with_its_comments(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    sheet = panels.heel_sheet(lg.load("slack_water"))
    sheet.set(clearance=1.7)
    assert sheet.file_box.value == "slack_water_mine.toml"
    sheet.keep_button.click()
    line = said(sheet)
    assert "slack_water_mine.toml" in line and "heel.floor_clearance" in line and 'role="alert"' not in line
    source = file_of("Slack Water")
    assert source is not None
    old, new = source.read_text("utf-8").splitlines(), Path("slack_water_mine.toml").read_text("utf-8").splitlines()
    changed = [(a, b) for a, b in zip(old, new, strict=True) if a != b]
    assert len(changed) == 1 and changed[0][1].startswith('floor_clearance = "1.7 mm')  # what was not moved stays as written
    assert "± 0.2" in changed[0][1] and lg.load("slack_water_mine.toml").heel.floor_clearance == pytest.approx(1.7)
    sheet.set(clearance=1.1)  # a file that is there gets all of the sheet's fields
    assert "Kept in" not in said(sheet)
    sheet.keep_button.click()
    kept = tomllib.loads(Path("slack_water_mine.toml").read_text("utf-8"))
    assert kept["heel"]["floor_clearance"].startswith("1.1 mm") and kept["pocket"]["depth"] == "4.6 mm"
    assert "# axis through the centres" in Path("slack_water_mine.toml").read_text("utf-8")


def test_a_refused_value_writes_nothing(tmp_path: Path) -> None:
    sheet = panels.heel_sheet(lg.load("slack_water"))
    sheet.set(clearance=0.0, pocket=5.0)  # the design wants some clearance
    fresh = tmp_path / "fresh.toml"
    assert not sheet.keep(str(fresh)) and list(tmp_path.iterdir()) == []
    line = said(sheet)
    assert "Nothing was written" in line and "heel.floor_clearance" in line and 'role="alert"' in line and sheet.error is None
    source = file_of("slack_water")
    assert source is not None
    fresh.write_bytes(source.read_bytes())
    assert not sheet.keep(str(fresh)) and fresh.read_bytes() == source.read_bytes() and list(tmp_path.iterdir()) == [fresh]


def test_files_that_cannot_be_written_are_told_in_words(tmp_path: Path) -> None:
    sheet = panels.tilt_sheet(lg.load("slack_water"))
    sheet.file_box.value = " "
    assert not sheet.keep() and "write the name of a design file" in said(sheet)
    assert not sheet.keep(str(tmp_path / "no_folder" / "a.toml")) and "Nothing was written" in said(sheet)
    broken = tmp_path / "broken.toml"
    broken.write_text("name = ", "utf-8")
    assert not sheet.keep(str(broken)) and broken.read_text("utf-8") == "name = "
    other = lg.load("slack_water").model_copy(update={"about": "changed since"})  # the demo's file is not this design
    assert not panels.tilt_sheet(other).keep(str(tmp_path / "other.toml")) and not (tmp_path / "other.toml").exists()


def test_a_design_file_of_ones_own_is_the_one_copied(tmp_path: Path) -> None:
    source = file_of("slack_water")
    assert source is not None
    own = tmp_path / "own.toml"
    own.write_text(source.read_text("utf-8").replace("Slack Water", "Own"), "utf-8")
    assert file_of("Own") is None and file_of(str(own)) == own
    drawing, _ = style.figure("Gap 1 mm")
    bare = HandSheet(drawing, [Control("gap", "gap", 1.2, 0.2, 2.0, 0.1)], [], lambda v: "", design_name=str(own))
    assert not hasattr(bare, "keep_button")  # no slider of this sheet is a field
    drawing, _ = style.figure("Gap 1 mm")
    gap = Control("gap", "gap", 1.2, 0.2, 2.0, 0.1, field="tongue.gap")
    sheet = HandSheet(drawing, [gap], [], lambda v: f"{v['gap']:.1f} mm", design_name=str(own))
    sheet.set(gap=1.4)
    assert sheet.keep(str(tmp_path / "copy")) and lg.load(tmp_path / "copy.toml").tongue.gap == pytest.approx(1.4)


def test_forces_and_plain_numbers_are_kept_too(tmp_path: Path) -> None:
    sheet = preload_sheet(lg.load("slack_water"))
    sheet.set(preload=1000.0, pressed=2.0, washer=24.0)
    assert sheet.keep(str(tmp_path / "a.toml"))
    clamp = lg.load(tmp_path / "a.toml").clamp
    assert (clamp.preload, clamp.spring_rate, clamp.washer_diameter) == pytest.approx((1000.0, 500.0, 24.0))
    rods = rods_sheet(lg.load("slack_water"))
    rods.set(count=3, size=1.0, middle=-0.5, modulus=125.0)
    kept = rods.keep(str(tmp_path / "a.toml"))
    assert kept, said(rods)
    tongue = lg.load(tmp_path / "a.toml").tongue
    assert (tongue.rods, tongue.rod_diameter, tongue.rod_above_glue_line, tongue.rod_modulus) == (3, 1.0, -0.5, 125.0)


def test_the_pose_itself_comes_back(tmp_path: Path) -> None:
    sheet = panels.sensitivity_sheet(lg.load("slack_water"))
    sheet.set(**MOVED["sensitivity_sheet"])
    assert sheet.keep(str(tmp_path / "mine.toml")), said(sheet)
    d = lg.load("slack_water").dimensions().replaced(z_p=-22.0, x_p=-3.0, z_head=-80.0, z_receiver=-80.0, pitch_tilt=0.8,
                                                     pitch_pivot=1.0, spacing=34.0)
    kept = pose(lg.load(tmp_path / "mine.toml").dimensions(), tilt=0.5, bass=0.1)
    wanted = pose(d, tilt=0.5, bass=0.1)
    assert float(kept.theta) == pytest.approx(float(wanted.theta), rel=1e-12)
    assert float(kept.psi) == pytest.approx(float(wanted.psi), rel=1e-12)


@pytest.mark.parametrize(("name", "file"), [("Slack Water", "slack_water.toml"),
                                            ("Spring Tide, mended", "spring_tide_mended.toml")])  # fmt: skip
def test_the_demo_file_is_found_by_the_designs_own_name(name: str, file: str) -> None:
    found = file_of(name)
    assert found is not None and found.name == file and lg.load(found).name == name


def test_a_flat_top_has_no_radius_to_keep(tmp_path: Path) -> None:
    sheet = panels.dome_sheet(lg.load("flat_calm"))
    sheet.set(gap=1.5, radius=9.0)
    assert sheet.keep(str(tmp_path / "a.toml")), said(sheet)
    design = lg.load(tmp_path / "a.toml")
    assert design.body.dome_radius is None and design.tongue.gap == pytest.approx(1.5)
