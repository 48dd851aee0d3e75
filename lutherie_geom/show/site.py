"""The collection as a site of static pages, from the stored outputs: read without Python and without a network."""

from __future__ import annotations

import hashlib
from functools import partial
from pathlib import Path

from lutherie_geom.show.collection import START as START_NUMBER
from lutherie_geom.show.collection import WORDS as WORDS_NUMBER
from lutherie_geom.show.collection import Collection, Entry, read_collection
from lutherie_geom.show.handouts import link_to_page, stored
from lutherie_geom.show.pages import Picture, Reading, body, look, render

__all__ = ["site"]

START = "index.html"


def site(folder: str | Path, into: str | Path) -> list[Path]:
    """Write the site of a folder of notebooks into another folder; the pages' paths, the first is the one to open.

    Code and worked answers are there, folded. Raises CollectionError when the folder holds no collection.
    """
    found = read_collection(folder)
    into = Path(into)
    (into / "pictures").mkdir(parents=True, exist_ok=True)
    (into / "page.css").write_text(look(), encoding="utf-8")
    link = partial(link_to_page, found, start=START)
    pages = []
    order = found.in_order
    for k, entry in enumerate(order):
        reading = Reading(code="folded", answers=True, place=partial(_put, into), link=link)
        inside = body(stored(found.folder / entry.file), reading)
        way = _way(found, order[k - 1] if k else None, order[k + 1] if k + 1 < len(order) else None)
        page = into / str(link(entry.file))
        page.write_text(render("page.html", title=f"{entry.number:02d} {entry.question}", style="", way=way, body=inside,
                               foot=f"Made by lutherie_geom from {entry.file}, with the outputs stored in it."), encoding="utf-8")
        pages.append(page)
    return pages


def _put(into: Path, picture: Picture) -> str:
    """Write a picture once, under a name that its content gives, and say where it is."""
    name = f"pictures/{hashlib.sha256(picture.data).hexdigest()[:16]}.{picture.kind}"
    (into / name).write_bytes(picture.data)
    return name


def _way(found: Collection, before: Entry | None, after: Entry | None) -> list[dict[str, str]]:
    def step(entry: Entry | None, before: str, words: str = "") -> dict[str, str]:
        if entry is None:
            return {"href": "", "before": "", "words": ""}
        said = words or f"{entry.number:02d} {entry.short or entry.question}"
        return {"href": str(link_to_page(found, entry.file, start=START)), "before": before, "words": said}

    ends = {START_NUMBER: "map", WORDS_NUMBER: "glossary"}
    return [step(before, "←", ends.get(before.number, "") if before else ""), step(found.start, "", "map"),
            step(found.words, "", "glossary"), step(after, "→", ends.get(after.number, "") if after else "")]
