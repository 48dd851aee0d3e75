"""The words of the joint: each drawn once, from the library's own geometry, with definition, unit and sign.

    >>> from lutherie_geom.show.glossary import word
    >>> print(word("advance"))
    advance [mm]: shift of the pivot axis out of the body; positive: away from the tail

Every word belongs to one picture; ``show("joint")`` shows the picture and, under it, its words. Units and symbols of words that
are also quantities of the theory are read from there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lutherie_geom.show.glossary_words import TITLES, VIEWS
from lutherie_geom.theory.words import WORDS as QUANTITIES

__all__ = ["WORDS", "Word", "show", "table", "word", "words_of"]


@dataclass(frozen=True)
class Word:
    """One word: the picture it stands in, what it says, and for a measured one its symbol, unit and sign."""

    name: str
    view: str
    says: str
    unit: str = ""
    sign: str = ""
    symbol: str = ""

    def __str__(self) -> str:
        unit = f" [{self.unit}]" if self.unit else ""
        return f"{self.name}{unit}: {self.says}" + (f"; {self.sign}" if self.sign else "")


def _made(view: str, row: tuple[str, ...]) -> Word:
    name, of, says, sign = (*row, "")[:4]
    quantity = QUANTITIES.get(of)
    return Word(name, view, says, quantity.unit if quantity else of, sign, quantity.latex if quantity else "")


WORDS: dict[str, Word] = {row[0]: _made(view, row) for view, rows in VIEWS.items() for row in rows}


def word(name: str) -> Word:
    """The word with this name; raises KeyError that lists the words there are."""
    if name not in WORDS:
        raise KeyError(f"{name!r} is not in the glossary; it has {', '.join(sorted(WORDS))}")
    return WORDS[name]


def words_of(view: str) -> tuple[Word, ...]:
    """The words drawn in one picture, in alphabetical order."""
    return tuple(sorted((w for w in WORDS.values() if w.view == view), key=lambda w: w.name))


def table(words: tuple[Word, ...]) -> str:
    """Words as a table in Markdown: name and symbol, what it is, unit, sign."""
    lines = ["| word | what it is | unit | sign |", "|:---|:---|:---|:---|"]
    for w in words:
        symbol = f" ${w.symbol}$" if w.symbol else ""
        lines.append(f"| **{w.name}**{symbol} | {w.says} | {'mm per mm' if w.unit == '1' else w.unit} | {w.sign} |")
    return "\n".join(lines)


def show(view: str, design: Any) -> None:
    """Show one picture of a design and its words, in a notebook; raises KeyError for an unknown picture."""
    from IPython import display as notebook

    from lutherie_geom.show import panels
    from lutherie_geom.show.glossary_pictures import picture

    if view not in TITLES:
        raise KeyError(f"{view!r} is no picture of the glossary; there are {', '.join(TITLES)}")
    display: Any = notebook.display
    markdown: Any = notebook.Markdown
    panels.show(picture(view, design))
    display(markdown(table(words_of(view))))
