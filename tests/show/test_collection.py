"""The collection: its list is that of the notebooks, the map shows each question, every notebook leads to the glossary."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from matplotlib.patches import FancyArrowPatch, FancyBboxPatch

from lutherie_geom.show.collection import START, WORDS, CollectionError, list_words, read_collection, route_words, title_of
from lutherie_geom.show.collection_map import map_picture

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
FOUND = read_collection(FOLDER)


def test_the_list_holds_exactly_the_notebooks_there_are() -> None:
    files = [e.file for e in FOUND.in_order]
    assert sorted(files) == [p.name for p in NOTEBOOKS]
    assert (files[0], files[-1]) == ("00_start_here.ipynb", "27_glossary.ipynb")  # whatever numbers come after the glossary's
    assert FOUND.missing == (), f"listed in collection.toml, but there is no notebook: {FOUND.missing}"
    assert FOUND.start and FOUND.words


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_every_notebook_has_its_number_and_a_question_in_its_title(path: Path) -> None:
    title = title_of(path)
    assert title.startswith(path.name[:2] + " ") and title.endswith("?")


@pytest.mark.parametrize("path", [p for p in NOTEBOOKS if int(p.name[:2]) != WORDS], ids=lambda path: path.stem)
def test_every_notebook_leads_to_the_glossary(path: Path) -> None:
    first = json.loads(path.read_text(encoding="utf-8"))["cells"][0]
    assert "[glossary](27_glossary.ipynb)" in "".join(first["source"])


def test_every_link_between_notebooks_leads_somewhere() -> None:
    names = {p.name for p in NOTEBOOKS}
    for path in NOTEBOOKS:
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            for part in "".join(cell["source"]).split("](")[1:]:
                target = part.split(")")[0].split("#")[0]
                assert not target.endswith(".ipynb") or target in names, f"{path.name} links to {target}"


def test_arrows_lead_from_earlier_rows_and_in_no_circle() -> None:
    for e in FOUND.entries:
        for n in e.before:
            if n in {x.number for x in FOUND.entries}:
                before = FOUND.entry(n)
                assert before.at[1] < e.at[1] or (before.at[1] == e.at[1] and before.at[0] != e.at[0])
    behind: dict[int, set[int]] = {}

    def all_before(n: int, path: tuple[int, ...] = ()) -> set[int]:
        assert n not in path, f"in a circle: {path}"
        if n not in behind:
            steps = [b for b in FOUND.entry(n).before if b not in FOUND.missing]
            behind[n] = set(steps).union(*(all_before(b, (*path, n)) for b in steps))
        return behind[n]

    for e in FOUND.entries:
        all_before(e.number)
        for b in e.before:  # an arrow that others already stand for makes the map harder to read
            assert not any(b in all_before(c) for c in e.before if c != b and c not in FOUND.missing)


def test_no_two_boxes_of_the_map_meet_and_every_question_is_on_it() -> None:
    drawing = map_picture(FOUND)
    drawing.draw_without_rendering()
    (axes,) = drawing.axes
    boxes = [p.get_window_extent() for p in axes.patches if isinstance(p, FancyBboxPatch)]
    assert not any(a.overlaps(b) for k, a in enumerate(boxes) for b in boxes[:k])
    arrows = [p for p in axes.patches if isinstance(p, FancyArrowPatch)]
    there = {e.number for e in FOUND.entries}
    assert len(arrows) == sum(len(there.intersection(e.before)) for e in FOUND.entries)
    words = " ".join(t.get_text().replace("\n", " ") for t in axes.texts)
    for e in FOUND.entries:
        assert f"{e.number:02d}" in words and e.short in words
    for text in axes.texts:
        box = text.get_window_extent()
        inside = [b for b in boxes if b.x0 <= box.x0 and box.x1 <= b.x1 and b.y0 <= box.y0 and box.y1 <= b.y1]
        assert inside or not any(box.overlaps(b) for b in boxes), f"{text.get_text()!r} stands over the edge of its box"


def test_routes_lead_through_notebooks_that_come_in_an_order_that_works() -> None:
    assert len(FOUND.routes) == 3
    for route in FOUND.routes:
        assert len(set(route.notebooks)) == len(route.notebooks) >= 6
        assert all(n in {e.number for e in FOUND.entries} for n in route.notebooks)
        words = route_words(FOUND, route)
        assert all(f"({FOUND.entry(n).file})" in words for n in route.notebooks)
        place = {n: k for k, n in enumerate(route.notebooks)}
        for n in route.notebooks:
            assert all(place[b] < place[n] for b in FOUND.entry(n).before if b in place), f"{route.name}: {n} comes too early"
    (course,) = (r for r in FOUND.routes if r.evenings)
    assert len(course.evenings) == 6
    assert all(60 <= FOUND.minutes(e.notebooks) <= 165 and e.bring for e in course.evenings)
    assert list_words(FOUND).count("\n") == len(FOUND.entries) + 1


def test_a_route_that_skips_what_a_notebook_uses_says_so() -> None:
    said = {r.name: route_words(FOUND, r) for r in FOUND.routes}
    study, course, explore = (next(words for name, words in said.items() if name.startswith(w)) for w in ("Stu", "Teach", "Exp"))

    def row(words: str, file: str) -> str:
        return next(line for line in words.splitlines() if file in line)

    for words, file, used in ((study, "(07_", "06"), (study, "(23_", "06"), (study, "(24_", "08"), (explore, "(04_", "01"),
                              (explore, "(18_", "17"), (explore, "(20_", "19"), (explore, "(25_", "24")):
        assert f"uses [{used}]({used}_" in row(words, file) and "read its bench section" in row(words, file), file
    assert "uses" not in row(study, "(04_") and "uses [23]" not in row(study, "(24_")
    assert "read its bench section" not in course and "(21_templates.ipynb)" in course


def test_a_folder_that_is_no_collection_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(CollectionError, match="name the folder of the notebooks with --from"):
        read_collection(tmp_path)
    with pytest.raises(CollectionError, match="no notebook with the number 99"):
        FOUND.entry(99)


def test_an_unlisted_notebook_and_a_wrong_title_are_named(tmp_path: Path) -> None:
    shutil.copy(FOLDER / "collection.toml", tmp_path)
    page = {"cells": [{"cell_type": "markdown", "source": ["# 40 Why?\n", "More."]}]}
    (tmp_path / "40_why.ipynb").write_text(json.dumps(page))
    with pytest.raises(CollectionError, match=r"not listed: 40_why\.ipynb"):
        read_collection(tmp_path)
    (tmp_path / "40_why.ipynb").rename(tmp_path / "04_why.ipynb")
    with pytest.raises(CollectionError, match="does not begin with its number 04"):
        read_collection(tmp_path)
    (tmp_path / "04_why.ipynb").write_text(json.dumps({"cells": []}))
    with pytest.raises(CollectionError, match="no title"):
        read_collection(tmp_path)
    (tmp_path / "collection.toml").write_text("[[group]\n")
    with pytest.raises(CollectionError, match=r"collection\.toml: .*line 1"):
        read_collection(tmp_path)


def test_a_listed_notebook_that_is_not_there_is_left_out(tmp_path: Path) -> None:
    for name in ("collection.toml", "04_tilt_what_a_turn_does.ipynb"):
        shutil.copy(FOLDER / name, tmp_path)
    found = read_collection(tmp_path)
    assert [e.number for e in found.entries] == [4] and 5 in found.missing and START not in found.missing
    assert all(set(r.notebooks) <= {4} for r in found.routes)
