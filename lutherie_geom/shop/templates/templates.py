"""All templates of a design at full scale, as drawings in mm, or a refusal that names what collides."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from lutherie_geom.design.load import Problem
from lutherie_geom.mechanics.rods import fitted
from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.title_block import Job, View, compose
from lutherie_geom.shop.templates.block import block_drilling, block_inside, pocket_routing
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.shop.templates.heel import angle_check, heel_end, heel_side
from lutherie_geom.shop.templates.refusals import ShopError, refuse
from lutherie_geom.shop.templates.stick import story_stick
from lutherie_geom.shop.templates.tongue import dome_gauge, rod_slots, tongue_rails

__all__ = ["KEYS", "templates", "views"]

_MAKERS: dict[str, Callable[[Ground], View]] = {
    "story-stick": story_stick, "block-drilling": block_drilling, "block-inside": block_inside,
    "pocket-routing": pocket_routing, "heel-end": heel_end, "heel-side": heel_side, "neck-angle": angle_check,
    "tongue-rails": tongue_rails, "rod-slots": rod_slots, "dome-gauge": dome_gauge,
}
KEYS = tuple(_MAKERS)
"""Keys of the drawings, in the order in which they are used."""


def _wanted(design: Any) -> Iterator[str]:
    """The drawings that this design needs: no rods, no slots; a flat top needs no arc."""
    for key in KEYS:
        if key == "rod-slots" and not fitted(design):
            continue
        if key == "dome-gauge" and design.body.dome == "flat":
            continue
        yield key


_TIGHT = ("A tolerance is written where it is tight: that number brings a tenth or more of the spread of an action, the gap, the "
          "floor or the reveal in the design's own tolerance study.")


def _made(ground: Ground, keys: Iterator[str]) -> Iterator[View]:
    """The views of some keys, with what a written tolerance means on each that has one."""
    for key in keys:
        told = len(ground.told)
        view = _MAKERS[key](ground)
        yield replace(view, notes=(*view.notes, _TIGHT)) if len(ground.told) > told else view


def views(design: Any, job: Job | None = None, *, only: tuple[str, ...] = ()) -> tuple[View, ...]:
    """The same as :func:`templates`, before frame and title block are drawn round them; the same errors."""
    unknown = [k for k in only if k not in KEYS]
    if unknown:
        raise ValueError(f"no drawing {unknown[0]!r}; there are {', '.join(KEYS)}")
    refuse(design)
    ground = Ground(design, job)
    try:
        found = list(_made(ground, (k for k in _wanted(design) if not only or k in only)))
    except ValueError as e:
        raise ShopError([Problem("", str(e))], design.name) from None
    if not only and (rest := ground.untold()):
        found[0] = replace(found[0], notes=(*found[0].notes, f"Tight as well, but cut by no template: {'; '.join(rest)}."))
    return tuple(found)


def templates(design: Any, job: Job | None = None, *, only: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Every drawing of the design, or ``only`` those of some :data:`KEYS`. Lengths in mm; left-handed ones are mirrored.

    Raises :class:`ShopError` when a part cannot be cut, naming what collides, and when the router's bit does not go into the
    pocket; ValueError for an unknown key.
    """
    job = job or Job()
    found = views(design, job, only=only)
    return tuple(compose(design, v, job, n, len(found)) for n, v in enumerate(found, 1))
