"""Set-up log: a plain text beside the design, one block for each day at the bench; blocks are only ever added.

A block reads like a note, and ends with a check on its own text, so that whatever was torn or changed is found::

    lutherie_geom set-up log, version 1

    == 2026-11-25 19:30:00+00:00, evening class
    turns: tilt +1/8, bass 0, treble 0
    air: 45 % RH, 20.5 degC
    read: action.12.bass 2.35 mm, sd 0.05 mm
    words: Strung up for the first time.
    -- end, check 1a2b3c4d

Whoever adds holds a lock file beside the log, writes the whole block at once at the end of the file and asks the disk to keep it
(fsync) before :func:`add` returns. A crash in mid-write leaves a torn block: it is kept and reported, and the next one starts on
a line of its own. On a network drive all this is only as good as the drive's own locks.

Turns are counted from the nominal place of each screw [turn]; lengths in mm; humidity inside is a fraction, in the text per cent.
"""

from __future__ import annotations

import os
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass, field
from pathlib import Path

from lutherie_geom.shop.log.entry import Entry, LogError, LogReading, entry_from, entry_text, turn_text

__all__ = ["Damage", "Entry", "HEADER", "Log", "LogError", "LogReading", "add", "log_place", "read_log", "turn_text"]

HEADER = "lutherie_geom set-up log, version 1\n"
WAIT = 30.0
"""Seconds for which a writer waits for another one."""
_FLAGS = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)


# --------------------------------------------------------------------------------------------------------- writing
def log_place(source: str | Path) -> Path:
    """Where the log of a design lies: beside its file; of a demo design, in the folder in which one works."""
    path = Path(source)
    if path.suffix == ".toml":
        return path.with_name(f"{path.stem}.log.txt")
    return Path(f"{str(source).strip().lower().replace(' ', '_').replace('-', '_')}.log.txt")


def _block(e: Entry) -> bytes:
    body = entry_text(e).encode("utf-8")
    return b"\n" + body + b"-- end, check %08x\n" % zlib.crc32(body)


@contextmanager
def _held(path: Path, wait: float) -> Iterator[None]:
    from filelock import FileLock, Timeout

    try:
        with FileLock(path.with_name(f".{path.name}.lock"), timeout=wait):
            yield
    except Timeout:
        raise LogError([f"another program has held it for {wait:g} s; try again when that is done"], path.name) from None


def add(path: str | Path, entry: Entry, *, wait: float = WAIT) -> None:
    """Add one entry; when this returns, the disk has it. Waits up to ``wait`` [s] for another writer.

    Raises :class:`LogError` if the file is no log of this kind, OSError if it cannot be written; both leave it as it was.
    """
    path, block = Path(path), _block(entry)
    with _held(path, wait):
        handle = os.open(path, _FLAGS, 0o644)
        try:
            size = os.fstat(handle).st_size
            _put(handle, _lead(handle, size, path) + block, size)
        finally:
            os.close(handle)
        if size == 0 and hasattr(os, "O_DIRECTORY"):  # a new name must be kept too
            with suppress(OSError):
                folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
                os.fsync(folder)
                os.close(folder)


def _lead(handle: int, size: int, path: Path) -> bytes:
    """What must stand between the file as it is and a new block."""
    header = HEADER.encode()
    os.lseek(handle, 0, os.SEEK_SET)
    start = os.read(handle, len(header))
    if size == len(start) and header.startswith(start):  # new, or torn within its first line
        return header[len(start):]
    _check_header(start, path)
    os.lseek(handle, -1, os.SEEK_END)
    return b"" if os.read(handle, 1) == b"\n" else b"\n"


def _check_header(start: bytes, path: Path) -> None:
    if start.startswith(HEADER.encode()):
        return
    first = start.split(b"\n")[0].decode("utf-8", "replace")
    other = re.match(r"lutherie_geom set-up log, version (\S*)", first)
    said = f"version {other[1]} is not known here, only version 1" if other else f"a log begins with {HEADER.strip()!r}"
    raise LogError([f"its first line is {first!r}; {said}"], path.name)


def _put(handle: int, data: bytes, size: int) -> None:
    try:
        left = memoryview(data)
        while left:
            left = left[os.write(handle, left):]
        os.fsync(handle)
    except OSError:
        with suppress(OSError):  # a full disk must not leave half a block
            os.ftruncate(handle, size)
        raise


# --------------------------------------------------------------------------------------------------------- reading
@dataclass(frozen=True)
class Damage:
    """Something in the log that is no whole entry: first and last line (from 1), what is wrong, and the text as it stands."""

    line: int
    last: int
    what: str
    text: str = field(repr=False)

    def __str__(self) -> str:
        where = f"line {self.line}" if self.line == self.last else f"lines {self.line} to {self.last}"
        return f"{where}: {self.what}"


@dataclass(frozen=True)
class Log:
    """Whole entries in the order in which they stand in the file, and all damage."""

    name: str
    entries: tuple[Entry, ...]
    damages: tuple[Damage, ...] = ()

    def __len__(self) -> int:
        return len(self.entries)

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries)

    def __str__(self) -> str:
        n, m = len(self.entries), len(self.damages)
        hurt = f", {m} damaged place{'s' if m > 1 else ''}" if m else ""
        head = f"{self.name}: {n} {'entry' if n == 1 else 'entries'}{hurt}"
        return "\n".join([head, *(f"  damaged, {d}" for d in self.damages), *(f"\n{e}" for e in self.entries)])

    __repr__ = __str__


def read_log(path: str | Path) -> Log:
    """All whole entries, and every damage with its lines. Raises :class:`LogError` for what is no log, OSError if unreadable."""
    path = Path(path)
    lock = path.with_name(f".{path.name}.lock")
    # While a writer is at work a block could be seen half-way; where nobody ever wrote there is no lock.
    with _held(path, WAIT) if os.access(lock, os.W_OK) else nullcontext():
        data = path.read_bytes()
    if not HEADER.encode().startswith(data):
        _check_header(data[:200], path)
    elif 0 < len(data) < len(HEADER):
        said = "the first line was torn off in mid-write; the next entry will make it whole"
        return Log(path.name, (), (Damage(1, 1, said, data.decode()),))
    entries: list[Entry] = []
    damages: list[Damage] = []
    for line, part in _parts(data):
        found = _whole(part)
        if isinstance(found, Entry):
            entries.append(found)
        elif found:
            text = part.decode("utf-8", "replace").rstrip("\n")
            damages.append(Damage(line, line + text.count("\n"), found, text))
    return Log(path.name, tuple(entries), tuple(damages))


def _parts(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Pieces of the file that hold together, each with the number of its first line: blocks, and what stands between them."""
    part, start = b"", 2
    for number, line in enumerate(re.findall(rb"[^\n]*\n|[^\n]+$", data[len(HEADER):]), 2):
        if line.startswith(b"== ") or not part.strip():
            if part.strip():
                yield start, part
            part, start = b"", number
        part += line
        if line.startswith(b"-- end"):
            yield start, part
            part = b""
    yield start, part


def _whole(part: bytes) -> Entry | str:
    """The entry in a piece of the file; otherwise what is wrong with it, or nothing to say."""
    if not part.startswith(b"== "):
        remarks = all(line.startswith(b"#") for line in part.splitlines() if line.strip())
        return "" if remarks else "no whole entry: torn off in mid-write, or written by another hand; kept but not used"
    body, mark, tail = part.rpartition(b"-- end, check ")
    if not mark or not re.fullmatch(rb"[0-9a-f]{8}\n?", tail):
        return "an entry torn off in mid-write; it is kept here but not used"
    if int(tail, 16) != zlib.crc32(body):
        return "an entry changed or damaged since it was written; it is not used (write a new one instead)"
    try:
        return entry_from(body.decode("utf-8"))
    except (ValueError, KeyError, TypeError) as e:
        return f"an entry that this version cannot read ({str(e).splitlines()[-1].strip(' -')})"
