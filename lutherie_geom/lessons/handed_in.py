"""Reading a sheet that was handed in, whatever happened to it: each line is put where it belongs, or named by its number."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from lutherie_geom.lessons.exercise import LessonError
from lutherie_geom.lessons.one_problem import exercises

__all__ = ["Block", "HandedIn", "read_sheet", "read_text"]

LARGEST = 1_000_000
"""Largest file that is looked into [bytes]."""
_TOP = re.compile(r"\s*(?P<field>student|seed|problems)\s*:\s*(?P<rest>.*)", re.IGNORECASE)
_BLOCK = re.compile(r"\s*(?P<number>\d{1,3})\s*[.)]\s+(?P<name>[A-Za-z0-9_]+)(?P<notebook>\s*\(notebook\b.*)?\s*$")
_FIELD = re.compile(r"\s*(?P<field>answer\b\s*(?:\[[^\]]*\]?)?|because\b)\s*:?\s*(?P<rest>.*)", re.IGNORECASE)


@dataclass
class Block:
    """One problem of a sheet as it came back: its name, where it stands, the text that was asked, what was filled in."""

    name: str
    line: int
    asked: str = ""
    answer: str = ""
    answer_line: int = 0
    because: str = ""


@dataclass
class HandedIn:
    """A sheet as it came back: what stands at its head, its blocks, and what is odd about it (line and field named)."""

    student: str = ""
    seed: str = ""
    names: tuple[str, ...] = ()
    blocks: list[Block] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)


def read_text(place: Path) -> tuple[str, list[str]]:
    """The text of a file, and what is odd about it. Raises :class:`LessonError` if it holds none."""
    try:
        size = place.stat().st_size
        data = place.read_bytes() if size <= LARGEST else b""
    except OSError as e:
        raise LessonError([f"cannot be read ({(e.strerror or str(e)).lower()})"], place.name) from None
    if size > LARGEST:
        raise LessonError([f"{size} bytes; a sheet has at most {LARGEST}"], place.name)
    if not data.strip():
        raise LessonError(["is empty"], place.name)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace"), []
    if b"\0" in data:
        raise LessonError(["is no text (a word processor's file or a picture?); it must be saved as plain text"], place.name)
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace"), ["not saved in UTF-8; read as an old Windows text, so signs may be wrong"]


def read_sheet(text: str) -> HandedIn:
    """A sheet out of its text. Never raises: what cannot be placed is kept in ``odd`` with its line."""
    found = HandedIn()
    into, block = "", None  # the field that the next lines belong to, and the problem
    for number, line in enumerate(text.splitlines(), 1):
        line = "".join(c if c.isprintable() else " " for c in line).rstrip()
        if begun := _begins(line):
            block, into = Block(begun, number), "asked"
            found.blocks.append(block)
            if begun not in exercises():
                found.odd.append(f"line {number}: {begun!r} is no problem that is known")
        elif block is None:
            into = _at_the_head(found, line, number, into)
        else:
            into = _in_a_block(found, block, line, number, into)
    found.names = tuple(n for n in re.split(r"[,\s]+", " ".join(found.names)) if n)
    return found


def _begins(line: str) -> str:
    """Name of the problem that begins on this line, if one does."""
    begun = _BLOCK.fullmatch(line)
    return begun["name"] if begun and (begun["notebook"] or begun["name"] in exercises()) else ""


def _at_the_head(found: HandedIn, line: str, number: int, into: str) -> str:
    if top := _TOP.fullmatch(line):
        into, rest = top["field"].lower(), top["rest"].strip()
        if into == "problems":
            found.names += (rest,)
        elif getattr(found, into):
            found.odd.append(f"line {number}: {into} stands here a second time, as {rest!r}; the first is taken")
        else:
            setattr(found, into, rest)
        return into
    if into == "problems" and line.strip():
        found.names += (line.strip(),)
        return into
    return ""


def _in_a_block(found: HandedIn, block: Block, line: str, number: int, into: str) -> str:
    said = line.strip()
    labelled = _FIELD.fullmatch(line)
    if labelled and (into != "because" or labelled["field"].lower().startswith("answer")):
        kind = "because" if labelled["field"].lower().startswith("because") else "answer"
        rest = labelled["rest"].strip()
        if kind == "answer" and block.answer_line:
            if rest:
                found.odd.append(f"line {number}, {block.name}: a second answer, {rest!r}; the first is taken")
            return "because"
        if kind == "answer":
            block.answer, block.answer_line = rest, number
        else:
            block.because = rest
        return kind
    if said and into == "asked":
        block.asked += f" {said}"
    elif said and into == "answer":  # written on the line below
        if not block.answer:
            block.answer_line = number
        block.answer = f"{block.answer} {said}".strip()
    elif said:
        block.because = f"{block.because} {said}".strip()
    return into


def merged(found: HandedIn) -> Iterator[Block]:
    """The blocks, each problem once: of two the one that was filled in; what the other said is kept in ``odd``."""
    kept: dict[str, Block] = {}
    for block in found.blocks:
        first = kept.setdefault(block.name, block)
        if first is block:
            continue
        taken, other = (block, first) if block.answer and not first.answer else (first, block)
        kept[block.name] = taken
        if other.answer and other.answer != taken.answer:
            found.odd.append(f"line {other.line}, {block.name}: stands here twice, here with the answer {other.answer!r}; "
                             f"{taken.answer!r} is taken")
    yield from kept.values()
