"""Handouts: each notebook as one HTML page and one PDF, figures in vectors, formulas that need no network, code only if wanted.

Exercises stand with a line to write on; the worked answers stay with the teacher. To have vectors, a notebook is run again, in
a kernel of its own, with its pictures asked for as SVG; its stored outputs are not touched.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from lutherie_geom.show.collection import Collection, CollectionError, Entry, read_collection
from lutherie_geom.show.pages import Reading, body, inline, look, render
from lutherie_geom.show.printing import find_browser, to_pdf

__all__ = ["Handout", "computed", "handouts", "link_to_page", "stored"]

SECONDS = 600
"""A cell that runs longer than this is given up [s]."""


@dataclass(frozen=True)
class Handout:
    """The files of one notebook; ``pdf`` is None when no browser was found."""

    entry: Entry
    html: Path
    pdf: Path | None


def stored(notebook: Path) -> Any:
    """The notebook with the outputs that are stored in it."""
    import nbformat

    return nbformat.read(notebook, as_version=4)


def computed(notebook: Path) -> Any:
    """The notebook run again, pictures as vectors; raises CollectionError with the cell's own error."""
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError

    book = stored(notebook)
    run = NotebookClient(book, timeout=SECONDS, kernel_name="python3", record_timing=False,
                         resources={"metadata": {"path": str(notebook.parent)}})
    try:
        run.execute(env={**os.environ, "LUTHERIE_FIGURES": "svg"})
    except CellExecutionError as e:
        raise CollectionError(f"{notebook}: a cell stopped with {e.ename}: {e.evalue}") from e
    return book


def link_to_page(found: Collection, url: str, *, start: str | None = None) -> str | None:
    """Where a notebook's link leads on a page: notebooks to their pages, a place on the page stays; None: it leads nowhere."""
    file, _, place = url.partition("#")
    if not file:
        return url
    for e in found.in_order:
        if e.file == file:
            page = start if start and e is found.start else f"{Path(file).stem}.html"
            return f"{page}#{place}" if place else page
    return None


def handouts(folder: str | Path, into: str | Path, *, code: bool = False, only: Sequence[int] = (), rerun: bool = True,
             pdf: bool = True, paper: str = "A4", tell: Callable[[str], None] = print) -> list[Handout]:
    """Write the handouts of a folder of notebooks into another folder, and say what was made.

    code   the code is printed too; without it the pages are for readers at the bench
    only   numbers of the notebooks wanted; all when empty
    rerun  run the notebooks, for figures in vectors; else the stored pictures, which are made of dots
    pdf    print the pages, when a Chromium is found
    paper  A4 or Letter
    Raises CollectionError (no such notebook, a cell that stops) and PrintError; then the pages made so far are there.
    """
    found = read_collection(folder)
    chosen = [found.entry(n) for n in only] if only else list(found.in_order)
    into = Path(into)
    into.mkdir(parents=True, exist_ok=True)
    browser = find_browser() if pdf else None
    made = []
    for entry, book in _books(found, chosen, rerun):
        page = into / f"{Path(entry.file).stem}.html"
        reading = Reading(code="open" if code else "none", answers=False, place=inline, link=partial(link_to_page, found))
        page.write_text(render("page.html", title=f"{entry.number:02d} {entry.question}", style=look(paper), way=(),
                               body=body(book, reading), foot=f"Made by lutherie_geom from {entry.file}."), encoding="utf-8")
        printed = to_pdf(page, page.with_suffix(".pdf"), browser=browser) if browser else None
        tell(f"{page}" + (f" and {printed.name}" if printed else ""))
        made.append(Handout(entry, page, printed))
    return made


def _books(found: Collection, chosen: Sequence[Entry], rerun: bool) -> Iterator[tuple[Entry, Any]]:
    paths = [found.folder / e.file for e in chosen]
    if not rerun:
        yield from zip(chosen, map(stored, paths), strict=True)
        return
    with ProcessPoolExecutor(max_workers=max(1, (os.cpu_count() or 2) // 2)) as workers:
        yield from zip(chosen, workers.map(computed, paths), strict=True)
