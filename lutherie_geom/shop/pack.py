"""The shop pack: one folder to take to the bench, made whole or not at all.

    >>> from lutherie_geom.shop.pack import write_pack
    >>> write_pack(design, "slack-water-pack", paper="A4")              # doctest: +SKIP

Everything is made in memory first, then written to a folder beside the wanted one, which takes its place in one move.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lutherie_geom.design.catalogue import read_table
from lutherie_geom.design.load import Problem
from lutherie_geom.design.units import UnitsError, parse_length
from lutherie_geom.filling import filled
from lutherie_geom.shop.cut_list import CAUTIONS as CUT_CAUTIONS
from lutherie_geom.shop.cut_list import cut_list
from lutherie_geom.shop.order.access import Cutter
from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.title_block import Finish, Job
from lutherie_geom.shop.paper.write_dxf import dxf_text
from lutherie_geom.shop.paper.write_pdf import pdf_bytes
from lutherie_geom.shop.paper.write_svg import svg_text
from lutherie_geom.shop.templates.refusals import ShopError
from lutherie_geom.shop.templates.templates import templates

__all__ = ["CAUTIONS", "PAPERS", "job_from_text", "pack_files", "write_pack"]

PAPERS = ("A4", "Letter", "one")
CAUTIONS = (
    "Measure both bars on every printed sheet before you cut: a printer that scales spoils the joint.",
    "Router, drill and saw: guards, clamps, eye, ear and dust protection. Carbon and rosewood dust harm lungs and skin.",
    "The joint carries the strings' pull. Prove it on the bench while the box is open, and do not string up what creaks or "
    "slips.",
    "These sheets do not know your wood, your tools or your local rules: those come first.",
)
_MARK = '<meta name="generator" content="lutherie_geom shop pack">'
_WORDS = {"A4": "on A4, larger sheets in tiles", "Letter": "on Letter, larger sheets in tiles",
          "one": "on one large sheet for a plotter"}


def _paper(paper: str) -> str:
    known = {p.lower(): p for p in PAPERS}
    if str(paper).lower() not in known:
        raise ShopError([Problem("paper", f"{paper!r}; allowed is {', '.join(PAPERS)}")], "pack")
    return known[str(paper).lower()]


def job_from_text(*, bush: str | None = None, bit: str | None = None, film: str | None = None, units: Any = None) -> Job:
    """A job from what a builder writes: diameters of ``bush`` and ``bit``, the ``film`` of finish everywhere, each with its unit.

    Raises :class:`ShopError` naming every one that is no good.
    """
    read: dict[str, float] = {}
    wrong: list[Problem] = []
    for name, text in (("bush", bush), ("bit", bit), ("film", film)):
        if text is not None:
            try:
                read[name] = parse_length(text)
            except UnitsError as e:
                wrong.append(Problem(name, str(e)))
    if not wrong:
        try:
            cutter = Cutter(bit=read.get("bit", Cutter.bit), bush=read.get("bush", Cutter.bush))
            finish = Finish(*[read["film"]] * 3) if "film" in read else Finish()
            return Job(cutter=cutter, finish=finish, units=units)
        except ValueError as e:
            wrong.append(Problem("", str(e)))
    raise ShopError(wrong, "pack")


def _order(design: Any, job: Job) -> dict[str, Any]:
    """Steps with their reasons, points of no return and ways of the keys, in words. Raises ShopError when no order works."""
    from lutherie_geom.shop.order.order import Impossible, plan

    try:
        found = plan(design, cutter=job.cutter)
    except (Impossible, ValueError) as e:
        raise ShopError([Problem("order of work", str(e))], design.name) from None
    steps = [{"words": found.words(name), "caution": found.work.operations[name].caution, "why": found.why(name)}
             for name in found.order]
    ends = [f"{n.part}: once step {n.step} ({found.words(n.operation)}) is done it cannot be taken out. Before that: "
            + ("; ".join(dict.fromkeys(found.words(r.first) for r in n.by_then)) or "nothing in particular")
            for n in found.no_return()]
    return {"steps": steps, "no_return": ends, "keys": [str(k) for k in found.keys.values()]}


def _page(page: str, title: str, design: Any, job: Job, **more: Any) -> bytes:
    made = filled("lutherie_geom.shop", "pages", "pack.html", page=page, title=title, design=design, job=job,
                  made=job.made.isoformat(), **more)
    return made.encode("utf-8")


def pack_files(design: Any, *, paper: str = "A4", job: Job | None = None, solids: bool = False) -> Mapping[str, bytes]:
    """Every file of the pack by its name in the folder; ``solids``: STEP and STL as well (an extra).

    Raises :class:`ShopError` with all that is wrong.
    """
    from lutherie_geom.shop.setup.card_numbers import card
    from lutherie_geom.shop.setup.turn_card import card_pdf

    paper, job = _paper(paper), job or Job()
    sheets = templates(design, job)
    try:
        cuts = cut_list(design, job)
    except LookupError as e:
        raise ShopError([Problem("cut list", str(e))], design.name) from None
    stems: list[tuple[Drawing, str]] = [(d, f"{n:02d}-{d.key}") for n, d in enumerate(sheets, 1)]
    pdf = f"templates-{paper}.pdf"
    files = {pdf: pdf_bytes(sheets, paper),
             "turn-card.pdf": card_pdf(card(design, units=job.units), "A4" if paper == "one" else paper)}
    for d, stem in stems:
        files[f"svg/{stem}.svg"] = svg_text(d).encode("utf-8")
        files[f"dxf/{stem}.dxf"] = dxf_text(d).encode("utf-8")
    mark = read_table("screw_lengths")["lengths"]["cap screw, metric"]["mark"]
    files["cut-list.html"] = _page("cut", "Cut list", design, job, list=cuts, cautions=CUT_CAUTIONS, lengths_mark=mark)
    files["cut-list.txt"] = (str(cuts) + "\n").encode("utf-8")
    files["order-of-work.html"] = _page("order", "Order of work", design, job, cautions=CAUTIONS[1:3], **_order(design, job))
    if solids:
        from lutherie_geom.shop.templates.solids import solid_files

        files |= {f"solids/{name}": data for name, data in solid_files(design).items()}
    files["index.html"] = _page("index", f"Shop pack: {design.name}", design, job, cautions=CAUTIONS, pdf=pdf, drawings=stems,
                                paper_words=_WORDS[paper],
                                solids=sorted(name for name in files if name.startswith("solids/")))
    return files


def _is_pack(folder: Path) -> bool:
    try:
        return _MARK in (folder / "index.html").read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return False


def write_pack(design: Any, into: str | Path, *, paper: str = "A4", job: Job | None = None, solids: bool = False) -> Path:
    """Make the pack of a design in the folder ``into``; a pack that is there already is replaced whole. ``solids``: with STEP and
    STL of block, heel and tongue, which need the extra ``solids``.

    Raises :class:`ShopError` when the joint cannot be cut, for a wrong paper, or when ``into`` holds something else: then nothing
    is written, and what was there stays.
    """
    into = Path(into)
    files = pack_files(design, paper=paper, job=job, solids=solids)
    if into.exists() and not (into.is_dir() and (_is_pack(into) or not any(into.iterdir()))):
        raise ShopError([Problem("into", f"{into} is there already and is no pack; give another folder")], "pack")
    into.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(dir=into.parent, prefix=f".{into.name}.", suffix=".part"))
    old = fresh.with_suffix(".old")
    try:
        for name, data in files.items():
            (fresh / name).parent.mkdir(parents=True, exist_ok=True)
            (fresh / name).write_bytes(data)
        fresh.chmod(0o755)
        if into.exists():
            into.rename(old)
        try:
            fresh.rename(into)
        except OSError:
            if old.exists():
                old.rename(into)
            raise
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
        shutil.rmtree(old, ignore_errors=True)
    return into
