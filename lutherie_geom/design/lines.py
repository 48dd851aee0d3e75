"""Lines of a printed report: sentences that run too long are broken, each at its own indent."""

from __future__ import annotations

import textwrap

__all__ = ["WIDTH", "folded"]

WIDTH = 100
"""Characters in a line of a report, at the most: what a page or a notebook shows without a scroll bar."""


def folded(*lines: str, width: int = WIDTH) -> str:
    """The lines with none wider than ``width`` characters; what is broken goes on four blanks further in.

    For sentences: rows of a table keep their columns only if they are narrow enough. A single word is never broken.
    """
    found: list[str] = []
    for line in "\n".join(lines).split("\n"):
        indent = " " * (len(line) - len(line.lstrip()) + 4)
        found += textwrap.wrap(line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False) or [""]
    return "\n".join(found)
