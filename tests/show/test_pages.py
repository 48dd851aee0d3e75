"""Pages of notebooks: handouts and site. Formulas need no network, answers stay with the teacher, every link leads somewhere."""

from __future__ import annotations

import base64
import io
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbformat import v4
from PIL import Image

from lutherie_geom.__main__ import main
from lutherie_geom.show import handouts as made
from lutherie_geom.show import printing
from lutherie_geom.show.collection import CollectionError, read_collection
from lutherie_geom.show.pages import Reading, body, formula, inline, look
from lutherie_geom.show.site import site

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"


def dots() -> str:
    page = io.BytesIO()
    Image.new("RGB", (20, 10), "red").save(page, format="png")
    return base64.b64encode(page.getvalue()).decode()


def show(data: dict[str, Any], **metadata: Any) -> Any:
    return v4.new_output("display_data", data=data, metadata=metadata)


def lesson() -> Any:
    """A notebook with one of everything."""
    picture = {"image/png": dots(), "text/plain": "<Image>"}
    sheet = {"application/vnd.jupyter.widget-view+json": {"model_id": "x"}, "text/plain": "Action 2.3 mm & rising"}
    latex = {"text/latex": r"$\displaystyle \begin{aligned}a &= b \\ c &= d\end{aligned}$"}
    cells = [
        v4.new_markdown_cell("# 04 Why?\n\nSee [next](05_b.ipynb#place), [gone](99_z.ipynb) and $z_p$.\n\n> **Caution.** Hot."),
        v4.new_code_cell("secret = 1", outputs=[show(picture, **{"image/png": {"alt": 'It says "so"', "width": 20}})]),
        v4.new_code_cell("sheet.show()", outputs=[show(sheet), show(picture)]),
        v4.new_markdown_cell("(`sheet` is a `HandSheet`: `sheet.set(a=1)` moves a slider from code.) Left out: wind."),
        v4.new_code_cell("Math()", outputs=[show(latex)]),
        v4.new_code_cell("print(1)", outputs=[v4.new_output("stream", text="1 < 2\n"),
                                              v4.new_output("stream", name="stderr", text="noise")]),
        v4.new_markdown_cell("## Exercises\nPut a number in place of `None` and run the cell.\n\n**1.** How much?"),
        v4.new_code_cell("need = 42.7", metadata={"tags": ["right-answers"]}),
        v4.new_code_cell("answer = None\ncheck(answer, need)", outputs=[v4.new_output("stream", text="not answered yet")]),
        v4.new_markdown_cell("**2.** Own numbers. Put a name for the seed, your answer for `None`; `one.hint()` helps. Draw it."),
        v4.new_code_cell("one = problem('x')\none.show()\none.try_(None)",
                         outputs=[v4.new_output("stream", text="The arm is 60 mm. How deep?\nnot answered yet\n")]),
        v4.new_code_cell("answer = 41.7 + 1", metadata={"tags": ["solution"]},
                         outputs=[v4.new_output("stream", text="Right: 42.7")]),
    ]
    return v4.new_notebook(cells=cells)


def read(code: Any = "none", answers: bool = False) -> str:
    return body(lesson(), Reading(code=code, answers=answers, place=inline, link=lambda u: u if u.startswith("05") else None))


class Page(HTMLParser):
    """What a page refers to, what it calls its places, and whether every tag is closed."""

    EMPTY = frozenset({"meta", "link", "img", "br", "hr", "mspace", "none", "mprescripts"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.sources: list[str] = []
        self.ids: set[str] = set()
        self.without_words = 0
        self.open: list[str] = []
        self.feed(text)
        assert not self.open, f"not closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        a = dict(attrs)
        self.links += [a["href"]] if tag == "a" else []
        self.sources += [a[k] for k in ("src", "href") if k in a and tag != "a"]
        self.ids |= {a["id"]} if "id" in a else set()
        self.without_words += tag == "img" and not a.get("alt")
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.EMPTY:
            assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-1:]}"
            self.open.pop()


# -------------------------------------------------------------------------------------------------------------- a page
def test_a_handout_leaves_code_and_answers_out_and_gives_room_to_write() -> None:
    page = read()
    for word in ("secret", "42.7", "41.7", "not answered", "place of", "noise", "HandSheet", "Right"):
        assert word not in page, word
    assert "<h2" in page and "Exercises" in page and "How much?" in page and page.count('class="answer"') == 2
    assert "Own numbers. Draw it." in page and page.index("How deep?") < page.rindex("Answer:")
    assert "Left out: wind." in page and "1 &lt; 2" in page


def test_code_and_folded_answers_when_they_are_wanted() -> None:
    page = read("folded", answers=True)
    assert "secret = 1" in page and "<details><summary>Code" in page and "HandSheet" not in page
    assert "<details><summary>A worked way</summary>" in page and "Right: 42.7" in page
    assert 'class="answer"' not in page and "need = 42.7" not in page and "not answered" not in page
    assert "<details open><summary>Code" in read("open") and "HandSheet" in read("open")


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.ipynb")), ids=lambda path: path.stem)
def test_no_handout_asks_for_what_only_a_keyboard_can_do(path: Path) -> None:
    book = made.stored(path)
    page = body(book, Reading(code="none", answers=False, place=lambda _: "", link=lambda url: url))
    for typed in (r"\bone\.\w+\(", r"None\b(?=</code>|`)", "not answered yet", r"\.try_"):
        assert not re.search(typed, page), typed
    blanks = [c for c in book.cells if ".try_(None)" in c.source or c.source.startswith("answer = None")]
    assert page.count("Answer:") >= len(blanks)


def test_a_hand_sheet_is_its_picture_and_its_words() -> None:
    page = read()
    assert '<figure class="sheet"><img src="data:image/png;base64,' in page
    assert "<figcaption>Action 2.3 mm &amp; rising" in page and 'alt="Action 2.3 mm &amp; rising"' in page
    assert 'alt="It says &quot;so&quot;" width="20"' in page


def test_words_links_and_cautions() -> None:
    page = read()
    assert '<a href="05_b.ipynb#place">next</a>' in page and "gone" in page and "99_z" not in page
    assert '<blockquote class="caution">' in page
    Page(f"<main>{page}</main>")


def test_formulas_are_drawn_without_a_network() -> None:
    page = read()
    assert page.count("<math") == 2 and page.count("<mtr>") == 2 and "&amp;=" not in page and "$" not in page
    assert "<msub><mi>z</mi><mi>p</mi></msub>" in formula("z_p", block=False)
    assert formula(r"\frac{a", block=True).startswith(("<code>", "<math"))


def test_every_formula_of_the_library_can_be_drawn() -> None:
    from importlib import import_module

    from lutherie_geom.theory import MODULES
    from lutherie_geom.theory.relation import Relation

    seen = 0
    for name in MODULES:
        for relation in vars(import_module(f"lutherie_geom.theory.{name}")).values():
            if isinstance(relation, Relation):
                drawn = formula(relation.latex(), block=True)
                assert drawn.startswith("<math") and "<mi>&</mi>" not in drawn and "\\" not in drawn, relation.name
                seen += 1
    assert seen > 50


def test_paper() -> None:
    assert "size: A4;" in look() and "size: Letter;" in look("Letter")


# ------------------------------------------------------------------------------------------------------------ the site
@cache
def the_site(into: Path) -> list[Path]:
    return site(FOLDER, into)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Page]:
    made_there = the_site(tmp_path_factory.mktemp("site"))
    assert made_there[0].name == "index.html" and len(made_there) == len(list(FOLDER.glob("*.ipynb")))
    return {str(p): Page(p.read_text(encoding="utf-8")) for p in made_there}


def test_every_link_of_the_site_leads_somewhere(pages: dict[str, Page]) -> None:
    for path, page in pages.items():
        assert page.links
        for link in page.links:
            file, _, place = link.partition("#")
            there = str(Path(path).parent / file) if file else path
            assert there in pages, f"{Path(path).name} links to {link}"
            assert not place or place in pages[there].ids


def test_the_site_needs_no_network_and_every_picture_is_there_with_its_words(pages: dict[str, Page]) -> None:
    for path, page in pages.items():
        assert page.without_words == 0
        for source in page.sources:
            assert (Path(path).parent / source).is_file(), f"{Path(path).name}: {source}"
        text = Path(path).read_text(encoding="utf-8").replace('xmlns="http://www.w3.org/1998/Math/MathML"', "")
        assert "from code" not in text and "in place of <code>None" not in text  # of use at the keyboard only
        assert "http" not in text and "<script" not in text and "$" not in text.replace("$ ", "")


def test_forward_through_the_site_meets_every_page_once(pages: dict[str, Page]) -> None:
    order = [Path(p).name for p in pages]
    for k, page in enumerate(pages.values()):
        if k + 1 < len(order):
            assert page.links[-1] == order[k + 1], "the last link is the next page"
        if k:
            assert page.links[0] == order[k - 1], "the first link is the page before"
    assert sum("27_glossary.html" in p.links for p in pages.values()) == len(pages)


def test_the_site_says_what_a_notebook_says(pages: dict[str, Page]) -> None:
    """Words of the first cell and every printed reading stand on the page."""
    import html

    path = next(p for p in pages if "05_heel" in p)
    text = html.unescape(Path(path).read_text(encoding="utf-8"))
    book = nbformat.read(FOLDER / "05_heel_arc_and_pocket.ipynb", as_version=4)
    printed = [o.text.strip() for c in book.cells if c.cell_type == "code" and "right-answers" not in c.metadata.get("tags", [])
               and not c.source.startswith("answer = None") for o in c.outputs if o.output_type == "stream"]
    assert len(printed) >= 5 and all(words in text for words in printed)
    pictures = sum("image/png" in o.get("data", {}) for c in book.cells if c.cell_type == "code" for o in c.outputs)
    assert text.count("<img ") == pictures


# -------------------------------------------------------------------------------------------------------- the handouts
def small(tmp_path: Path, source: str) -> Path:
    folder = tmp_path / "class"
    folder.mkdir()
    (folder / "collection.toml").write_bytes((FOLDER / "collection.toml").read_bytes())
    book = v4.new_notebook(cells=[v4.new_markdown_cell("# 04 Why?"), v4.new_code_cell(source)])
    book.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(book, folder / "04_why.ipynb")
    return folder


def test_run_again_the_pictures_are_vectors_and_the_notebook_stays_as_it_was(tmp_path: Path) -> None:
    folder = small(tmp_path, "import lutherie_geom as lg\nfrom lutherie_geom.show import panels\nd = lg.load('slack_water')\n"
                             "panels.show(panels.heel_picture(d))\npanels.heel_sheet(d).show()")
    before = (folder / "04_why.ipynb").read_bytes()
    (one,) = made.handouts(folder, tmp_path / "out", pdf=False, tell=lambda _: None)
    page = one.html.read_text(encoding="utf-8")
    assert page.count("data:image/svg+xml;base64,") == 2 and "data:image/png" not in page and 'class="sheet"' in page
    for part in page.split("data:image/svg+xml;base64,")[1:]:
        drawing = base64.b64decode(part.split('"')[0]).decode()
        assert drawing.count("<path") > 50 and "<text" not in drawing  # letters are outlines: no font is needed
    assert (folder / "04_why.ipynb").read_bytes() == before


def test_a_cell_that_stops_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = small(tmp_path, "1 / 0")
    with pytest.raises(CollectionError, match=r"04_why\.ipynb: a cell stopped with ZeroDivisionError"):
        made.computed(folder / "04_why.ipynb")
    assert main(["handouts", "--from", str(tmp_path / "nowhere")]) == 2
    assert "no collection of notebooks here" in capsys.readouterr().err
    assert main(["handouts", "--from", str(FOLDER), "--only", "99", "--into", str(tmp_path / "x")]) == 2
    assert "no notebook with the number 99" in capsys.readouterr().err


def test_without_a_browser_the_pages_are_there_and_it_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                              monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUTHERIE_BROWSER", "no-such-browser")
    assert printing.find_browser() is None
    out = tmp_path / "out"
    assert main(["handouts", "--from", str(FOLDER), "--only", "4", "--stored", "--into", str(out)]) == 0
    said = capsys.readouterr()
    assert "no PDF pages" in said.err and "1 notebooks" in said.out
    assert [p.suffix for p in out.iterdir()] == [".html"]


def test_a_browser_that_fails_is_reported(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text("<p>x</p>")
    with pytest.raises(printing.PrintError, match=r"page\.html: the browser did not print it"):
        printing.to_pdf(page, tmp_path / "page.pdf", browser="false")
    with pytest.raises(printing.PrintError, match="did not print it"):
        printing.to_pdf(page, tmp_path / "page.pdf", browser=str(tmp_path / "none"))


@pytest.mark.skipif(printing.find_browser() is None, reason="no Chromium on this machine")
def test_the_pdf_has_the_words_on_paper_of_the_size_asked(tmp_path: Path) -> None:
    import pdfplumber

    (one,) = made.handouts(FOLDER, tmp_path, only=[4], rerun=False, paper="Letter", tell=lambda _: None)
    assert one.pdf
    with pdfplumber.open(one.pdf) as paper:
        assert 2 <= len(paper.pages) <= 6
        assert (round(paper.pages[0].width), round(paper.pages[0].height)) == (612, 792)
        words = " ".join(page.extract_text() for page in paper.pages)
    assert read_collection(FOLDER).entry(4).question.split("?")[0] in words.replace("\n", " ")
    assert "Exercises" in words and "Answer:" in words and "import" not in words and "Right:" not in words
