"""The bench proof as a page to print: the sheet, and the verdict when there is one."""

from __future__ import annotations

from typing import Any

from lutherie_geom.filling import filled
from lutherie_geom.shop.bench.proof import CAUTIONS, NOW_OR_NEVER, PATTERN, SET_UP, ProofSheet
from lutherie_geom.shop.bench.verdict import BenchVerdict
from lutherie_geom.shop.log.entry import turn_text

__all__ = ["bench_page"]


def bench_page(found: ProofSheet | BenchVerdict) -> str:
    """One HTML page that needs nothing but itself."""
    verdict = found if isinstance(found, BenchVerdict) else None
    sheet: Any = verdict.sheet if verdict else found
    return filled(
        "lutherie_geom.shop", "pages", "bench_proof.html", sheet=sheet, verdict=verdict, cautions=CAUTIONS,
        never=NOW_OR_NEVER.values(), pattern=PATTERN, set_up=SET_UP,
        turn=turn_text)
