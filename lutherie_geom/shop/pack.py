"""The shop pack: one folder to take to the bench, made whole or not at all.

    >>> from lutherie_geom.shop.pack import write_pack
    >>> write_pack(design, "slack-water-pack", paper="A4")              # doctest: +SKIP

Everything is made in memory first, then written to a folder beside the wanted one, which takes its place in one move.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from lutherie_geom.design.catalogue import read_table
from lutherie_geom.design.load import Problem
from lutherie_geom.filling import filled
from lutherie_geom.shop.cut_list import CAUTIONS as CUT_CAUTIONS
from lutherie_geom.shop.cut_list import cut_list
from lutherie_geom.shop.order.access import Box
from lutherie_geom.shop.order.keys import Hand
from lutherie_geom.shop.order.order import Plan, plan
from lutherie_geom.shop.order.order_file import Work
from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.shop.paper.write_dxf import dxf_text
from lutherie_geom.shop.paper.write_pdf import pdf_bytes
from lutherie_geom.shop.paper.write_svg import svg_text
from lutherie_geom.shop.templates.refusals import ShopError
from lutherie_geom.shop.templates.templates import templates

__all__ = ["CAUTIONS", "PAPERS", "pack_files", "shop_plan", "write_pack"]

PAPERS = ("A4", "Letter", "one")
CAUTIONS = (
    "Measure the bars on every printed page before you cut: a printer that scales spoils the joint.",
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


def shop_plan(design: Any, job: Job, *, work: Work | None = None, box: Box | None = None, hand: Hand | None = None) -> Plan:
    """The order of work with the job's cutter, and a builder's own operations, box and hand. Raises ShopError when no order
    works."""
    try:
        return plan(design, work, cutter=job.cutter, box=box, hand=hand)
    except ValueError as e:
        raise ShopError([Problem("order of work", str(e))], design.name) from None


def _order(found: Plan, own: Sequence[str] | None, name: str) -> dict[str, Any]:
    """Steps with their reasons, points of no return and ways of the keys, in words; in a builder's ``own`` order if it can be
    done. Raises ShopError with the first step that cannot, and the least change."""
    order = found.order if own is None else tuple(own)
    if fault := found.check(order):
        least = "; ".join(m.words for m in found.mend(order).moves)
        raise ShopError([Problem("order of work", f"{fault}. The least change: {least}")], name)
    steps = [{"words": found.words(name), "caution": found.work.operations[name].caution, "why": found.why(name)}
             for name in order]
    ends = [f"{n.part}: once step {n.step} ({found.words(n.operation)}) is done it cannot be taken out. Before that: "
            + ("; ".join(dict.fromkeys(found.words(r.first) for r in n.by_then)) or "nothing in particular")
            for n in found.no_return(order)]
    return {"steps": steps, "no_return": ends, "keys": [str(k) for k in found.keys.values()]}


def _page(page: str, title: str, design: Any, job: Job, **more: Any) -> bytes:
    made = filled("lutherie_geom.shop", "pages", "pack.html", page=page, title=title, design=design, job=job,
                  made=job.made.isoformat(), **more)
    return made.encode("utf-8")


def pack_files(design: Any, *, paper: str = "A4", job: Job | None = None, solids: bool = False, work: Work | None = None,
               box: Box | None = None, hand: Hand | None = None, order: Sequence[str] | None = None) -> Mapping[str, bytes]:
    """Every file of the pack by its name in the folder; ``solids``: STEP and STL as well (an extra). ``work``, ``box``, ``hand``:
    a builder's own, for the order of work (see :func:`.order.plan`); ``order``: operations in the builder's own order.

    Raises :class:`ShopError` with all that is wrong, also for an ``order`` that cannot be done; OrderError for one that is not
    whole.
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
    files["order-of-work.html"] = _page("order", "Order of work", design, job, cautions=CAUTIONS[1:3],
                                       **_order(shop_plan(design, job, work=work, box=box, hand=hand), order, design.name))
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


def write_pack(design: Any, into: str | Path, **wishes: Any) -> Path:
    """Make the pack of a design in the folder ``into``; a pack that is there already is replaced whole. ``wishes``: see
    :func:`pack_files`.

    Raises :class:`ShopError` when the joint cannot be cut, for a wrong paper, or when ``into`` holds something else: then nothing
    is written, and what was there stays.
    """
    into = Path(into)
    files = pack_files(design, **wishes)
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
