"""The order of work on the command line: show it, check one's own; and what it shares with the shop pack."""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = ["add_bench", "add_order", "bench"]


def add_bench(job: Any) -> None:
    """What is in the workshop: router, box, hand, operations of one's own."""
    job.add_argument("--bush", metavar="LENGTH", help="outside of the router's guide bush, as \"17 mm\" (default)")
    job.add_argument("--bit", metavar="LENGTH", help="the router's bit, as \"12 mm\" (default)")
    job.add_argument("--base", metavar="LENGTH", help="the router's base plate, across (default: \"90 mm\")")
    job.add_argument("--template", metavar="LENGTH", help="thickness of the routing template (default: \"12 mm\")")
    job.add_argument("--box", action="append", default=[], metavar="NUMBER",
                     help="a length of the box, as \"brace_height=18 mm\": depth, back, top, near, far (edges of the soundhole), "
                          "brace_x, brace_width, brace_height; may be given again")
    job.add_argument("--hand", action="append", default=[], metavar="NUMBER",
                     help="what a key or hand does, as \"reach=90 mm\": ball, plain (angles), reach, step, knob; may be given "
                          "again")
    job.add_argument("--work", metavar="FILE", help="operations of your own, laid over the library's (.toml)")


def bench(asked: Any, design: Any, **more: Any) -> tuple[Any, dict[str, Any]]:
    """The job, and what the plan takes: work, box, hand. Raises ShopError with all that is wrong in any of them."""
    from lutherie_geom.design.load import DesignError, Problem
    from lutherie_geom.shop.job_text import box_from_text, hand_from_text, job_from_text
    from lutherie_geom.shop.order.order_file import load_work
    from lutherie_geom.shop.templates.refusals import ShopError

    parts = {"job": lambda: job_from_text(bush=asked.bush, bit=asked.bit, base=asked.base, template=asked.template, **more),
             "work": lambda: load_work(asked.work) if asked.work else None,
             "box": lambda: box_from_text(design, asked.box), "hand": lambda: hand_from_text(asked.hand)}
    made: dict[str, Any] = {}
    wrong: list[Problem] = []
    for name, make in parts.items():
        try:
            made[name] = make()
        except DesignError as e:
            wrong += e.problems
    if wrong:
        raise ShopError(wrong, "bench")
    return made.pop("job"), made


def add_order(job: Any) -> None:
    """Arguments of the order of work."""
    add_bench(job)
    job.add_argument("--check", metavar="FILE", help="an order of your own, one operation a line: the first step that cannot be "
                                                     "done, and the least change")
    job.add_argument("--blank", metavar="FILE", help="write the plan's order as such a file, to change")
    job.set_defaults(do=_order)


def _order(asked: Any) -> int:
    from lutherie_geom.design.load import load
    from lutherie_geom.shop.order.order_file import order_text, read_order
    from lutherie_geom.shop.pack import shop_plan
    from lutherie_geom.shop.placing import put

    design = load(asked.source)
    job, given = bench(asked, design)
    found = shop_plan(design, job, **given)
    theirs = read_order(asked.check) if asked.check else found.order
    fault = found.check(theirs)
    if asked.blank:
        put(asked.blank, order_text(found.order, found.words).encode("utf-8"), fresh_only=True)
    if fault:
        print(f"{fault}\n\nThe least change:\n{found.mend(theirs)}")
    elif asked.check:
        print(f"{Path(asked.check).name}: every step can be done")
    else:
        print(f"{design.name}\n\n{found}")
    if asked.blank:
        print(f"\nTo change:  {asked.blank}")
    return 1 if fault else 0
