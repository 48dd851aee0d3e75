"""A job at the bench from what a builder writes: cutter, finish, box and hand, each number with its unit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from typing import Any, TypeVar

from lutherie_geom.design.load import Problem
from lutherie_geom.design.units import UnitsError, parse_angle, parse_length
from lutherie_geom.shop.order.access import Box, Cutter, box_of
from lutherie_geom.shop.order.keys import Hand
from lutherie_geom.shop.order.order_file import meant
from lutherie_geom.shop.paper.title_block import Finish, Job
from lutherie_geom.shop.templates.refusals import ShopError

__all__ = ["box_from_text", "hand_from_text", "job_from_text"]

_ANGLES = ("ball", "plain")
_T = TypeVar("_T")


def _read(texts: Mapping[str, str | None], wrong: list[Problem], part: str = "") -> dict[str, float]:
    """The numbers that are given [mm, rad]; what cannot be read goes to ``wrong``."""
    found = {}
    for name, text in texts.items():
        if text is not None:
            try:
                found[name] = (parse_angle if name in _ANGLES else parse_length)(text)
            except UnitsError as e:
                wrong.append(Problem(f"{part}{name}", str(e)))
    return found


def _made(make: Callable[[], _T], wrong: list[Problem]) -> _T:
    """What ``make`` makes. Raises :class:`ShopError` for what is wrong already, or with what ``make`` refuses."""
    if not wrong:
        try:
            return make()
        except ValueError as e:
            wrong.append(Problem("", str(e)))
    raise ShopError(wrong, "job")


def job_from_text(*, bush: str | None = None, bit: str | None = None, base: str | None = None, template: str | None = None,
                  film: str | None = None, film_floor: str | None = None, film_cheeks: str | None = None,
                  units: Any = None) -> Job:
    """A job from lengths as a builder writes them: diameters of ``bush``, ``bit`` and ``base`` plate, thickness of the
    ``template``; the ``film`` of finish everywhere, or on the pocket's floor and on the cheeks (of pocket and heel, each) alone.

    Raises :class:`ShopError` naming every one that is no good.
    """
    wrong: list[Problem] = []
    cutter: dict[str, Any] = _read(dict(bush=bush, bit=bit, base=base, template=template), wrong)
    films = _read(dict(film=film, film_floor=film_floor, film_cheeks=film_cheeks), wrong)

    def make() -> Job:
        usual = films.get("film", Finish.floor)
        side = films.get("film_cheeks", usual)
        return Job(cutter=Cutter(**cutter), finish=Finish(films.get("film_floor", usual), side, side), units=units)

    return _made(make, wrong)


def _pairs(part: str, kind: type, pairs: Iterable[str], wrong: list[Problem]) -> dict[str, float]:
    """``name=value`` texts as numbers of a dataclass [mm, rad]."""
    names = [f.name for f in fields(kind)]
    texts: dict[str, str | None] = {}
    for pair in pairs:
        name, equals, text = (p.strip() for p in pair.partition("="))
        if not equals:
            wrong.append(Problem(part, f"{pair!r} has no '='; write it as \"{names[0]}=...\""))
        elif name not in names:
            wrong.append(Problem(f"{part}.{name}", f"no such number; {meant(name, names)}"))
        elif name in texts:
            wrong.append(Problem(f"{part}.{name}", "is given twice"))
        else:
            texts[name] = text
    return _read(texts, wrong, f"{part}.")


def box_from_text(design: Any, pairs: Iterable[str]) -> Box:
    """The design's box with what a builder writes of it, as ``brace_height=18 mm``. Raises :class:`ShopError`."""
    wrong: list[Problem] = []
    given = _pairs("box", Box, pairs, wrong)
    return _made(lambda: box_of(design, **given), wrong)


def hand_from_text(pairs: Iterable[str]) -> Hand:
    """Keys and fingers with what a builder writes of them, as ``reach=90 mm`` or ``ball=20 deg``. Raises :class:`ShopError`."""
    wrong: list[Problem] = []
    given = _pairs("hand", Hand, pairs, wrong)
    return _made(lambda: Hand(**given), wrong)
