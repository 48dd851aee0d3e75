"""The order of work against brute force: fewest moves by walking through all orders, random valid and broken orders."""

from __future__ import annotations

import itertools
import random

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.shop.order.access import Cutter, box_of
from lutherie_geom.shop.order.order import Impossible, Plan, Reason, kept_most, plan, put_after
from lutherie_geom.shop.order.order_file import Operation, OrderError, Tool, Work, load_work, without, work_of

DESIGN = lg.load("slack_water")
PLAN = plan(DESIGN)


def closed(n: int, pairs) -> frozenset[tuple[int, int]]:
    g = nx.DiGraph()
    g.add_nodes_from(range(n))
    g.add_edges_from(pairs)
    return frozenset(nx.transitive_closure_dag(g).edges)


def random_pairs(n: int, share: float, seed: int) -> list[tuple[int, int]]:
    rng = random.Random(seed)
    names_ = rng.sample(range(n), n)
    return [(a, b) for a, b in itertools.combinations(names_, 2) if rng.random() < share]


def fewest_by_walking(n: int, pairs) -> dict[tuple[int, ...], int]:
    """Moves from every order of n to the nearest valid one: all valid orders at 0, then one operation put elsewhere at a time."""
    def valid(order):
        place = {x: k for k, x in enumerate(order)}
        return all(place[a] < place[b] for a, b in pairs)

    far = {o: 0 for o in itertools.permutations(range(n)) if valid(o)}
    edge = list(far)
    while edge:
        ahead = []
        for o in edge:
            for k in range(n):
                rest = o[:k] + o[k + 1:]
                for j in range(n):
                    new = (*rest[:j], o[k], *rest[j:])
                    if new not in far:
                        far[new] = far[o] + 1
                        ahead.append(new)
        edge = ahead
    return far


@pytest.mark.parametrize(("n", "share", "seed"), [(3, 0.6, 1), (4, 0.5, 2), (5, 0.3, 3), (5, 0.9, 4), (6, 0.3, 5), (6, 0.6, 6),
                                                  (7, 0.4, 7)])
def test_fewest_moves_on_all_orders(n, share, seed):
    pairs = random_pairs(n, share, seed)
    before = closed(n, pairs)
    for order, moves in fewest_by_walking(n, pairs).items():
        assert n - len(kept_most(order, before)) == moves


def test_fewest_moves_on_all_orders_of_eight():
    """40,320 orders of eight of this joint's own operations."""
    chosen = ["drill", "outline", "pocket", "captive", "proof", "cover", "inserts", "back"]
    pairs = [(chosen.index(a), chosen.index(b)) for a, b in PLAN.before if a in chosen and b in chosen]
    before = closed(8, pairs)
    far = fewest_by_walking(8, pairs)
    assert len(far) == 40320
    for order, moves in far.items():
        assert 8 - len(kept_most(order, before)) == moves


def small_plan(n: int, pairs) -> Plan:
    rows = {f"op{k}": Operation(words=f"do {k}", tool="hand", at=("here",)) for k in range(n)}
    work = Work(places={"here": "here"}, tools={"hand": Tool(words="hand", reach=("here",))}, operations=rows)
    return Plan(work, {}, tuple(Reason(f"op{a}", f"op{b}", "needs", f"{b} waits for {a}") for a, b in pairs))


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 14), st.floats(0, 1), st.integers(0, 10**6))
def test_random_valid_orders_pass_and_broken_ones_are_mended(n, share, seed):
    pairs = random_pairs(n, share, seed)
    p = small_plan(n, pairs)
    rng = random.Random(seed)
    assert p.check(p.order) is None and not p.mend(p.order).moves
    any_order = [f"op{k}" for k in rng.sample(range(n), n)]
    valid = tuple(nx.lexicographical_topological_sort(p.graph, key=any_order.index))
    assert p.check(valid) is None and p.mend(valid).order == valid
    for k, name in enumerate(valid, 1):
        early, late = p.windows[name]
        assert early <= k <= late
    fault, mended = p.check(any_order), p.mend(any_order)
    place = {x: k for k, x in enumerate(any_order)}
    wrong = [(a, b) for a, b in pairs if place[f"op{a}"] > place[f"op{b}"]]
    assert (fault is None) == (not wrong) == (not mended.moves)
    assert p.check(mended.order) is None and sorted(mended.order) == sorted(any_order)
    moved = {m.operation for m in mended.moves}
    stay = [x for x in any_order if x not in moved]
    assert [x for x in mended.order if x not in moved] == stay
    for m in mended.moves:
        assert any_order[m.was - 1] == m.operation == mended.order[m.now - 1]
    if wrong:  # the first step that cannot be done: everything before it can
        ahead = set(any_order[:fault.step - 1])
        assert all(f"op{a}" in ahead for a, b in pairs if f"op{b}" in ahead)
        assert any(f"op{a}" not in ahead for a, b in pairs if f"op{b}" == fault.operation)


@pytest.mark.parametrize("name", names())
def test_every_design_can_be_built(name):
    p = plan(lg.load(name))
    assert p.check(p.order) is None
    step = {x: k for k, x in enumerate(p.order)}
    assert all(step[a] < step[b] for a, b in p.before)
    # The order of the trade (common practice, no source).
    assert [x for x in p.order if x in ("top", "drill", "outline", "pocket", "captive", "cover", "back")] == [
        "top", "drill", "outline", "pocket", "captive", "cover", "back"]
    assert all(p.why(x) for x in p.order)


def test_windows_are_those_of_all_valid_orders():
    pairs = random_pairs(7, 0.3, 11)
    p = small_plan(7, pairs)
    every = list(nx.all_topological_sorts(p.graph))
    for name, (early, late) in p.windows.items():
        at = [o.index(name) + 1 for o in every]
        assert (min(at), max(at)) == (early, late)


def moved(name: str, to: int) -> list[str]:
    order = [x for x in PLAN.order if x != name]
    order.insert(to - 1, name)
    return order


def test_a_cutter_meets_a_screw_already_locked_in():
    order = moved("pocket", PLAN.order.index("cover") + 1)
    order.remove("proof")
    order.insert(order.index("cover"), "proof")  # keep the rest in its order
    bad = [x for x in order if x != "pocket"]
    bad.insert(bad.index("captive") + 1, "pocket")
    bad = list(put_after(put_after(bad, "inserts", "pocket"), "pivots", "inserts"))  # nor may these come first
    fault = PLAN.check(bad)
    assert fault.operation == "pocket" and fault.reason.kind == "cutter" and "meets the tilt screw" in str(fault)
    (m,) = PLAN.mend(bad).moves
    assert m.operation in ("pocket", "captive") and PLAN.check(PLAN.mend(bad).order) is None


def test_a_small_bit_along_the_outline_lifts_that_conflict():
    small = plan(DESIGN, cutter=Cutter(bit=3.0, bush=6.0, base=30.0, whole_floor=False, template=40.0))
    assert ("pocket", "captive") in PLAN.before
    kinds = {r.kind for r in small.reasons if (r.first, r.then) == ("pocket", "captive")}
    assert not kinds  # 3 mm bit along the outline: the screw at the middle stays clear


def test_clamps_have_no_access_once_the_back_is_on():
    order = moved("inserts", len(PLAN.order))
    order = [x for x in order if x != "pivots"] + ["pivots"]
    reason = next(r for r in PLAN.reasons if r.kind == "closes" and (r.first, r.then) == ("inserts", "back"))
    assert "clamps, through the open back" in reason.words and "back is on" in reason.words
    assert PLAN.check(order) is not None


def test_a_key_with_no_way_in_makes_the_joint_impossible_or_comes_first():
    shut = box_of(DESIGN, brace_height=20.0)
    with pytest.raises(Impossible, match=r"no way in once the back is on") as e:
        plan(DESIGN, box=shut)
    assert "'Glue the back on' must come before" in str(e.value)  # the ring is told whole
    # Without setting up through the soundhole, the turning must only come before the back.
    rows = load_work().model_dump()
    rows["operations"]["set_up"]["turns"] = ["tilt_screw"]
    rows["operations"]["neck_on"]["turns"] = ["tilt_screw"]
    p = plan(DESIGN, work_of(rows), box=shut)
    assert {(r.first, r.then) for r in p.reasons if r.kind == "key"} == {("pivots", "back"), ("proof", "back")}
    late = [x for x in p.order if x != "pivots"]
    late.insert(late.index("back") + 1, "pivots")
    assert p.check(late) is not None and p.check(p.mend(late).order) is None


def test_points_of_no_return():
    found = {x.part: x for x in PLAN.no_return()}
    cover = found["tilt screw"]
    assert cover.operation == "cover" and PLAN.order[cover.step - 1] == "cover"
    assert {r.first for r in cover.by_then} == {"drill", "captive", "pocket"}
    assert {"inserts", "proof", "cover"} <= {r.first for r in found["block and cover"].by_then}
    assert set(found) == {"inserts", "tilt screw", "block and cover"}  # this design has no rods


def with_part(design, part, **values):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=values)})


def test_what_a_design_has_not_is_no_step():
    plain, rods = PLAN, plan(with_part(DESIGN, "tongue", rod_diameter=2.0))
    assert set(rods.order) - set(plain.order) == {"rods"} and ("rods", "board") in rods.before
    assert "tongue rods" in {x.part for x in rods.no_return()}
    cut = plan(with_part(DESIGN, "pivot", insert_diameter=0.0))  # threads cut in the block
    assert set(plain.order) - set(cut.order) == {"inserts"} and "inserts" not in {x.part for x in cut.no_return()}
    # What the inserts waited for still comes before the screws that waited for the inserts.
    assert ("drill", "pivots") in cut.before and ("pocket", "pivots") in cut.before and cut.check(cut.order) is None
    with pytest.raises(OrderError, match="'rods' is no step here: this design has no rods"):
        plain.check([*plain.order, "rods"])


def test_a_chain_of_left_out_steps_keeps_what_it_joined():
    def row(words, only="", **links):
        return {"words": words, "tool": "hand", "at": ["here"], "only_with": only, **links}

    rows = {"places": {"here": "here"}, "tools": {"hand": {"words": "hand", "reach": ["here"]}},
            "operations": {"saw": row("saw"), "bore": row("bore", "rods", needs={"saw": "w"}),
                           "fill": row("fill", "rods", needs={"bore": "w"}, before={"sand": "w"}),
                           "glue": row("glue", needs={"fill": "w"}), "sand": row("sand")}}
    left = without(work_of(rows), ["bore", "fill"])
    assert left.operations["glue"].needs == {"saw": "w"} and set(left.operations) == {"saw", "glue", "sand"}
    own = {**rows, "operations": {**rows["operations"], "mark": row("mark", before={"bore": "w"})}}
    rows["operations"]["bore"]["before"] = {"sand": "w"}
    assert without(work_of(own), ["bore", "fill"]).operations["mark"].before == {"sand": "w"}


def test_each_pair_is_told_once():
    for p in (PLAN, plan(with_part(DESIGN, "tongue", rod_diameter=2.0))):
        for name in p.order:
            places = [w.split("': ")[0] for w in p.why(name)]
            assert len(places) == len(set(places)), (name, places)
    (said,) = (w for w in PLAN.why("sides") if "Glue the back on" in w)
    assert said.count("then the back is on") == 1 and "the box inside and the rim edge" in said
    assert any("Shape the heel" in w for w in PLAN.why("board"))


def test_no_bit_runs_over_an_insert():
    assert ("pocket", "inserts") in PLAN.before and ("inserts", "back") in PLAN.before
    assert load_work().operations["inserts"].at == ("block inside",)  # its bore is opened from there


def test_an_order_with_unknown_missing_and_double_steps_is_told_at_once():
    order = list(PLAN.order)
    order[3], order[5] = "pokcet", order[4]
    with pytest.raises(OrderError) as e:
        PLAN.check(order)
    text = str(e.value)
    assert "did you mean 'pocket'?" in text and "is there twice" in text and "is missing" in text
    assert len(e.value.problems) >= 4


def test_a_builders_own_file_adds_and_replaces(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text('''
[tools.stamp]
words = "number stamp"
reach = ["block inside"]
[operations.stamp]
words = "Stamp the number on the block"
tool = "stamp"
at = ["block inside"]
needs = { drill = "the holes come first" }
before = { inserts = "glue would fill the figures" }
''', encoding="utf-8")
    p = plan(DESIGN, load_work(own))
    step = p.order.index
    assert step("drill") < step("stamp") < step("inserts") and len(p.order) == len(PLAN.order) + 1
    assert any("number stamp must still reach" in w for w in p.why("stamp"))


def test_everything_wrong_in_a_file_is_told_at_once(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text('''
[colours]
red = "no such part"
[tools.spoon]
words = "spoon"
reach = ["kitchen"]
[operations.a]
words = "Reach the heel with a router"
tool = "router"
at = ["heel end"]
needs = { b = "b first", drlil = "a slip" }
[operations.b]
words = "Waits for a"
tool = "hamster"
at = ["block face"]
needs = { a = "a first" }
''', encoding="utf-8")
    with pytest.raises(OrderError) as e:
        load_work(own)
    text = str(e.value)
    for word in ("colours", "no place 'kitchen'", "does not reach 'heel end'", "did you mean 'drill'?", "no tool 'hamster'",
                 "wait for each other in a ring: "):
        assert word in text, (word, text)
    assert "a before b before a" in text or "b before a before b" in text


def test_wrong_fields_are_named(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text('[operations.x]\nwords = ""\ntoll = "drill"\nturns = ["nut"]\nat = []\n', encoding="utf-8")
    with pytest.raises(OrderError) as e:
        load_work(own)
    fields = {p.field for p in e.value.problems}
    assert {"operations.x.words", "operations.x.toll", "operations.x.tool", "operations.x.at", "operations.x.turns.0"} <= fields
    assert "did you mean 'tool'?" in str(e.value)
    with pytest.raises(OrderError, match="cannot be opened"):
        load_work(tmp_path / "none.toml")


def test_cautions_stand_where_the_danger_is():
    rows = load_work().operations
    for name, o in rows.items():
        if o.tool in ("router", "drill", "brush") or (o.tool.endswith("clamps") and name not in ("sides", "top")):
            assert o.caution, name
        assert all(o.needs.values()) and all(o.closes.values())
