"""A notebook as a page to read without Python and without a network: words, pictures, formulas; code when it is wanted.

Made from the notebook's outputs, as they are stored or as they have just been computed. Formulas become MathML, which browsers
draw themselves.
"""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from lutherie_geom.filling import filled

__all__ = ["Picture", "Reading", "body", "inline", "look", "render"]

TEMPLATES = Path(__file__).parent / "templates"
KINDS = {"image/svg+xml": "svg", "image/png": "png"}


@dataclass(frozen=True)
class Picture:
    """One picture of a page: its bytes, its kind (svg or png), and its words for a reader who does not see it."""

    data: bytes
    kind: str
    words: str


@dataclass(frozen=True)
class Reading:
    """How a page is to be read: code left out, folded or open; worked answers folded in, or a line to write on; where pictures
    and links go."""

    code: Literal["none", "folded", "open"]
    answers: bool
    place: Callable[[Picture], str]
    link: Callable[[str], str | None]


def inline(picture: Picture) -> str:
    """The picture within the page itself, so that the page is one file."""
    kind = "svg+xml" if picture.kind == "svg" else "png"
    return f"data:image/{kind};base64,{base64.b64encode(picture.data).decode('ascii')}"


@cache
def look(paper: str = "A4") -> str:
    """The style sheet of all pages, for paper of this size when they are printed (A4 or Letter)."""
    return (TEMPLATES / "page.css").read_text(encoding="utf-8").replace("size: A4;", f"size: {paper};")


def render(template: str, **values: Any) -> str:
    """Fill in a template of this room; a value that is missing is an error."""
    return filled("lutherie_geom.show", "templates", template, **values)


def body(notebook: Any, reading: Reading) -> str:
    """The page's inside (HTML) from a notebook (nbformat 4)."""
    words = _words(reading)
    parts: list[str] = []
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            parts.append(words(_for_readers(cell.source, reading)))
        elif cell.cell_type == "code" and cell.source.strip():
            parts.append(_code_cell(cell, reading, words))
    return "\n".join(p for p in parts if p)


# --------------------------------------------------------------------------------------------------------------- words
_AT_KEYBOARD = re.compile(r"\((?=`)(?:`[^`]*`|[^`()])*\bfrom code\b(?:`[^`]*`|[^`()])*\)[ \n]*")


# A sentence on what to type in a cell; the full stops within its code end no sentence.
_TYPED = re.compile(r"(?:`[^`]*`|[^`.?!\n])*`(?:None|one\.[^`]*)`(?:`[^`]*`|[^`.?!])*[.?!][ \n]*")
UNANSWERED = "not answered yet"
"""What a cell prints whose answer is still open."""
ANSWER = '<p class="answer">Answer:</p>'


def _for_readers(source: str, reading: Reading) -> str:
    """Without what is only of use at the keyboard: how to move a slider from code, where to type an answer."""
    if reading.code != "open":
        source = _AT_KEYBOARD.sub("", source)
    lines = "\n".join(line for line in source.splitlines() if "in place of `None`" not in line)
    return _TYPED.sub(lambda found: " " if found[0].startswith(" ") else "", lines)


def formula(latex: str, *, block: bool) -> str:
    """A formula as MathML; what cannot be read as one stays as it was written."""
    from latex2mathml.converter import convert

    latex = latex.strip().removeprefix("$").removesuffix("$").strip().strip("$").removeprefix(r"\displaystyle").strip()
    latex = latex.replace("{aligned}", "{align*}")  # the same to a reader; the library knows only this one
    try:
        return convert(latex, display="block" if block else "inline")
    except Exception:  # the library raises many kinds; a reader is better served by the source than by nothing
        return f"<code>{html.escape(latex)}</code>"


def _words(reading: Reading) -> Callable[[str], str]:
    import mistune

    class Words(mistune.HTMLRenderer):
        def inline_math(self, text: str) -> str:
            return formula(text, block=False)

        def block_math(self, text: str) -> str:
            return f'<div class="formula">{formula(text, block=True)}</div>\n'

        def block_quote(self, text: str) -> str:
            kind = ' class="caution"' if "<strong>Caution" in text else ""
            return f"<blockquote{kind}>{text}</blockquote>\n"

        def heading(self, text: str, level: int, **attrs: Any) -> str:
            name = re.sub(r"[^a-z0-9]+", "-", re.sub(r"<[^>]*>", "", text).lower()).strip("-")
            return f'<h{level} id="{name}">{text}</h{level}>\n'

        def link(self, text: str, url: str, title: str | None = None) -> str:
            there = reading.link(url)
            return text if there is None else f'<a href="{html.escape(there)}">{text}</a>'

        def table(self, text: str) -> str:
            return f'<div class="wide"><table>{text}</table></div>\n'

    made: Any = mistune.create_markdown(escape=False, renderer=Words(escape=False), plugins=["table", "math", "strikethrough"])
    return lambda source: str(made(source))


# ---------------------------------------------------------------------------------------------------------- code cells
def _code_cell(cell: Any, reading: Reading, words: Callable[[str], str]) -> str:
    tags = cell.metadata.get("tags", [])
    if cell.source.startswith("answer = None"):
        return "" if reading.answers else ANSWER
    if "right-answers" in tags:
        return ""
    shown = _outputs(cell, reading, words)
    if ".try_(None)" in cell.source and not reading.answers:  # a problem with numbers of its own, to be worked on paper
        return f"{shown}\n{ANSWER}"
    code = f"<pre><code>{html.escape(cell.source)}</code></pre>"
    if "solution" in tags:
        return f"<details><summary>A worked way</summary>{code}{shown}</details>" if reading.answers else ""
    if reading.code == "none":
        return shown
    return f'<details{" open" if reading.code == "open" else ""}><summary>Code</summary>{code}</details>\n{shown}'


def _outputs(cell: Any, reading: Reading, words: Callable[[str], str]) -> str:
    parts: list[str] = []
    sheet = ""  # what a hand sheet reads, until its picture comes
    for output in cell.outputs:
        if output.output_type == "stream":
            if output.get("name") == "stdout":
                parts.append(f'<pre class="read">{html.escape(output.text.rstrip().removesuffix(UNANSWERED).rstrip())}</pre>')
            continue
        data = output.get("data", {})
        kind = next((k for k in KINDS if k in data), None)
        if "application/vnd.jupyter.widget-view+json" in data:
            sheet = "".join(data.get("text/plain", ""))
        elif kind:
            parts.append(_figure(output, kind, sheet, reading))
            sheet = ""
        elif "text/markdown" in data:
            parts.append(words("".join(data["text/markdown"])))
        elif "text/latex" in data:
            parts.append(f'<div class="formula">{formula("".join(data["text/latex"]), block=True)}</div>')
        elif "text/plain" in data:
            parts.append(f'<pre class="read">{html.escape("".join(data["text/plain"]))}</pre>')
    if sheet:
        parts.append(f"<p>{html.escape(sheet)}</p>")
    return "\n".join(parts)


def _figure(output: Any, kind: str, sheet: str, reading: Reading) -> str:
    raw = "".join(output.data[kind])
    said = output.get("metadata", {}).get(kind, {}).get("alt") or sheet or "".join(output.data.get("text/plain", ""))
    picture = Picture(raw.encode("utf-8") if kind == "image/svg+xml" else base64.b64decode(raw), KINDS[kind], said)
    width = output.get("metadata", {}).get(kind, {}).get("width")
    size = f' width="{int(width)}"' if width else ""
    shown = f'<img src="{html.escape(reading.place(picture))}" alt="{html.escape(said)}"{size}>'
    if not sheet:
        return f"<figure>{shown}</figure>"
    return (f'<figure class="sheet">{shown}<figcaption>{html.escape(sheet)} '
            '<span class="soft">(In the notebook, sliders move this picture.)</span></figcaption></figure>')
