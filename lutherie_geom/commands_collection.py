"""The jobs of the command line that make pages of the notebooks: handouts and site."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

__all__ = ["add_collection_jobs", "collection_errors"]


def collection_errors() -> tuple[type[Exception], ...]:
    """Errors of these jobs whose message is meant for the reader."""
    from lutherie_geom.show.collection import CollectionError
    from lutherie_geom.show.printing import PrintError

    return CollectionError, PrintError


def add_collection_jobs(jobs: Any) -> None:
    """Give both jobs their arguments."""
    pages = _job(jobs, "handouts", _handouts, "the handouts", "make handouts of the notebooks: a page (HTML, PDF) for each")
    pages.add_argument("--only", nargs="+", type=int, default=[], metavar="NUMBER", help="these notebooks only: 5 7 12")
    pages.add_argument("--code", action="store_true", help="print the code too (default: words, pictures and readings)")
    pages.add_argument("--stored", action="store_true",
                       help="take the pictures stored in the notebooks, without running them (quick, but dots and not vectors)")
    pages.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="size of the page (default: A4)")
    pages.add_argument("--no-pdf", action="store_true", help="HTML only")
    _job(jobs, "site", _site, "the site", "make a site of static pages of the notebooks, to read without Python and offline")


def _job(jobs: Any, name: str, do: Any, makes: str, words: str) -> Any:
    job = jobs.add_parser(name, help=words)
    job.add_argument("--into", default=name, metavar="FOLDER", help=f"where the pages go (default: {name})")
    job.add_argument("--from", dest="source", default="notebooks", metavar="FOLDER",
                     help="the folder of the notebooks (default: notebooks)")
    job.set_defaults(do=do, makes=makes)
    return job


def _handouts(asked: Any) -> int:
    from lutherie_geom.show.handouts import handouts
    from lutherie_geom.show.printing import NO_BROWSER

    made = handouts(asked.source, asked.into, code=asked.code, only=asked.only, rerun=not asked.stored,
                    pdf=not asked.no_pdf, paper=asked.paper)
    print(f"\nThe handouts, to print:  {asked.into} ({len(made)} notebooks)")
    if not asked.no_pdf and made and made[0].pdf is None:
        print(NO_BROWSER, file=sys.stderr)
    return 0


def _site(asked: Any) -> int:
    from lutherie_geom.show.site import site

    pages = site(asked.source, asked.into)
    print(f"The site, {len(pages)} pages; open:  {Path(asked.into) / 'index.html'}")
    return 0
