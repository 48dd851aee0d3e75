"""The collection of notebooks: which question leads to which, and the three routes through it; read from its own folder.

    >>> from lutherie_geom.show.collection import read_collection
    >>> print(read_collection("notebooks").entry(1).question)             # doctest: +SKIP
    How do I get a joint with enough travel, in ten minutes?

``collection.toml`` in the folder says what follows what; titles and files are read from the notebooks, so that neither can
drift. A notebook that is listed and does not exist yet is left out.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Collection", "CollectionError", "Entry", "Evening", "Route", "list_words", "read_collection", "route_words",
           "title_of"]

LIST = "collection.toml"
START, WORDS = 0, 27
"""Numbers of the two notebooks that are no lessons: this map, and the glossary."""


class CollectionError(ValueError):
    """The folder holds no collection, or its list cannot be read. The message names file and field."""


@dataclass(frozen=True)
class Entry:
    """One notebook: its number, file and question; minutes planned; what to know before."""

    number: int
    file: str
    question: str
    short: str = ""
    group: int = 0
    at: tuple[float, ...] = ()
    minutes: int = 0
    before: tuple[int, ...] = ()
    know: str = ""

    @property
    def link(self) -> str:
        """The question as a link, in Markdown."""
        return f"[{self.number:02d} {self.question}]({self.file})"


@dataclass(frozen=True)
class Evening:
    """One evening of the course: its title, its notebooks and what to bring."""

    title: str
    notebooks: tuple[int, ...]
    bring: str


@dataclass(frozen=True)
class Route:
    """A way through the collection. A course has evenings; their notebooks, in order, are its notebooks."""

    name: str
    words: str
    know: str
    notebooks: tuple[int, ...]
    evenings: tuple[Evening, ...] = ()


@dataclass(frozen=True)
class Collection:
    """All notebooks that exist, in the order of the list; start and glossary apart."""

    folder: Path
    groups: tuple[str, ...]
    entries: tuple[Entry, ...]
    routes: tuple[Route, ...]
    start: Entry | None
    words: Entry | None
    missing: tuple[int, ...]

    def entry(self, number: int) -> Entry:
        """The notebook with this number; raises CollectionError when there is none."""
        for e in self.in_order:
            if e.number == number:
                return e
        raise CollectionError(f"{self.folder}: there is no notebook with the number {number}")

    @property
    def in_order(self) -> tuple[Entry, ...]:
        """Start, notebooks by number, glossary."""
        every = (self.start, *sorted(self.entries, key=lambda e: e.number), self.words)
        return tuple(e for e in every if e)

    def minutes(self, numbers: Sequence[int]) -> int:
        """Minutes planned for these notebooks together."""
        return sum(self.entry(n).minutes for n in numbers)


def title_of(notebook: Path) -> str:
    """The notebook's title: the first heading in it, without ``#``."""
    for cell in json.loads(notebook.read_text(encoding="utf-8"))["cells"]:
        for line in "".join(cell["source"]).splitlines():
            if cell["cell_type"] == "markdown" and line.startswith("# "):
                return line[2:].strip()
    raise CollectionError(f"{notebook}: no title (a line that begins with '# ')")


def read_collection(folder: str | Path) -> Collection:
    """Read a folder of notebooks and its list ``collection.toml``; raises CollectionError."""
    folder = Path(folder)
    try:
        listed = tomllib.loads((folder / LIST).read_text(encoding="utf-8"))
    except OSError as e:
        raise CollectionError(f"{folder}: no collection of notebooks here ({LIST} cannot be read); "
                              "name the folder of the notebooks with --from") from e
    except tomllib.TOMLDecodeError as e:
        raise CollectionError(f"{folder / LIST}: {e}") from e
    files = {int(p.name[:2]): p for p in sorted(folder.glob("[0-9][0-9]_*.ipynb"))}
    try:
        rows = {row["number"]: row for row in listed["notebook"]}
        there = {n: _entry(files[n], row, len(listed["group"])) for n, row in rows.items() if n in files}
        routes = tuple(_route(row, set(there)) for row in listed["route"])
        groups = tuple(g["title"] for g in listed["group"])
    except KeyError as e:
        raise CollectionError(f"{folder / LIST}: the field {e} is missing") from e
    unlisted = sorted(set(files) - set(rows) - {START, WORDS})
    if unlisted:
        raise CollectionError(f"{folder / LIST}: not listed: " + ", ".join(files[n].name for n in unlisted)
                              + ". Give each a [[notebook]] with number, group, at, short, minutes, before and know")
    start, words = (_entry(files[n], {"number": n}, 0) if n in files else None for n in (START, WORDS))
    return Collection(folder, groups, tuple(there.values()), routes, start, words, tuple(n for n in rows if n not in files))


def _entry(path: Path, row: dict, groups: int) -> Entry:
    number, title = row["number"], title_of(path)
    if not title.startswith(f"{number:02d} "):
        raise CollectionError(f"{path}: its title {title!r} does not begin with its number {number:02d}")
    row = {k: tuple(v) if isinstance(v, list) else v for k, v in row.items()}
    if groups and not 1 <= row["group"] <= groups:
        raise CollectionError(f"{path.parent / LIST}: notebook {number}: group {row['group']}; allowed is 1 to {groups}")
    return Entry(file=path.name, question=title[3:], **row)


def _route(row: dict, there: set[int]) -> Route:
    evenings = tuple(Evening(e["title"], tuple(n for n in e["notebooks"] if n in there), e["bring"])
                     for e in row.get("evenings", ()))
    numbers = [n for e in evenings for n in e.notebooks] if evenings else row["notebooks"]
    return Route(row["name"], row["words"], row["know"], tuple(n for n in numbers if n in there), evenings)


# --------------------------------------------------------------------------------------------------------------- shown
def route_words(found: Collection, route: Route) -> str:
    """The route as Markdown: what it is for, time, what to know, and a table of linked questions."""
    total = found.minutes(route.notebooks)
    lines = [f"{route.words} About {total / 60:.0f} hours.", "", f"*Know before:* {route.know}", ""]
    if route.evenings:
        lines += ["| evening | notebooks | minutes | bring |", "|---|---|---|---|"]
        for k, evening in enumerate(route.evenings, 1):
            links = "<br>".join(found.entry(n).link + _left_out(found, route, found.entry(n)) for n in evening.notebooks)
            lines.append(f"| **{k}** {evening.title} | {links} | {found.minutes(evening.notebooks)} | {evening.bring} |")
    else:
        lines += ["| | question | minutes | know before |", "|---|---|---|---|"]
        for k, n in enumerate(route.notebooks, 1):
            e = found.entry(n)
            lines.append(f"| {k} | {e.link} | {e.minutes} | {e.know}{_left_out(found, route, e)} |")
    return "\n".join(lines)


def _left_out(found: Collection, route: Route, e: Entry) -> str:
    """What a notebook uses of those that the route leaves out."""
    used = [b for b in found.entries if b.number in e.before and b.number not in route.notebooks]
    return "".join(f"; uses [{b.number:02d}]({b.file}): read its bench section" for b in used)


def list_words(found: Collection) -> str:
    """All notebooks by number, as a table in Markdown: question, minutes, what to know, what comes before."""
    lines = ["| question | minutes | know before | after |", "|---|---|---|---|"]
    for e in sorted(found.entries, key=lambda e: e.number):
        lines.append(f"| {e.link} | {e.minutes} | {e.know} | {', '.join(f'{n:02d}' for n in e.before) or '-'} |")
    return "\n".join(lines)
