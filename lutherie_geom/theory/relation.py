"""A relation: one derivation that gives the LaTeX, the numpy function and the derivatives.

A relation is declared once, with the unit and the meaning of every number that goes in or out. Its derivation is a plain
function that writes named steps with sympy. From these steps come

- the equations a notebook shows (:meth:`Relation.latex`),
- the numpy function that is evaluated (:attr:`Relation.raw`), written out by :mod:`lutherie_geom.theory.write` into the
  package, so that sympy is needed only to teach and to regenerate,
- the exact first derivatives (:meth:`Relation.slopes`), by the chain rule through the same steps.

Nothing here imports sympy at module level.
"""

from __future__ import annotations

import importlib
from collections import namedtuple
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

__all__ = ["Builder", "Quantity", "Relation", "Step"]


@dataclass(frozen=True)
class Quantity:
    """One number of a relation.

    ``name`` is the Python name, ``latex`` what a reader sees, ``unit`` the unit inside the library (mm, rad, turn, N,
    MPa, 1 for a pure number), ``low`` and ``high`` the plausible range, in that unit.
    """

    name: str
    latex: str
    unit: str
    meaning: str
    low: float = -np.inf
    high: float = np.inf


@dataclass(frozen=True)
class Step:
    """A named step: ``symbol = expression``. A ``frozen`` step (a sign, a choice of branch) has no derivative."""

    symbol: Any
    expression: Any
    note: str = ""
    frozen: bool = False


class Builder:
    """Collects the steps of one derivation. ``b.x_p`` is the symbol of the input named ``x_p``."""

    def __init__(self, inputs: tuple[Quantity, ...]) -> None:
        import sympy

        self.sympy = sympy
        self.symbols = {q.name: sympy.Symbol(q.name, real=True) for q in inputs}
        self.latex_names = {self.symbols[q.name]: q.latex for q in inputs}
        self.steps: list[Step] = []

    def __getattr__(self, name: str) -> Any:
        try:
            return self.__dict__["symbols"][name]
        except KeyError:
            raise AttributeError(f"the relation has no input named {name!r}") from None

    def step(self, name: str, expression: Any, latex: str | None = None, note: str = "", *, frozen: bool = False) -> Any:
        """Name ``expression`` and give back its symbol, for use in later steps."""
        symbol = self.sympy.Symbol(name, real=True)
        if symbol in self.latex_names:
            raise ValueError(f"step {name!r} is named twice in one derivation")
        self.latex_names[symbol] = latex or name
        self.steps.append(Step(symbol, self.sympy.sympify(expression), note, frozen))
        return symbol

    def use(self, relation: Relation, prefix: str = "", **arguments: Any) -> Any:
        """Put another relation's steps here, its inputs replaced by ``arguments``; gives its output or outputs.

        An input that is not given is taken from this relation's input of the same name.
        """
        sp = self.sympy
        other, outputs = relation.derivation
        values = {other.symbols[q.name]: sp.sympify(arguments[q.name]) if q.name in arguments else getattr(self, q.name)
                  for q in relation.inputs}
        unknown = set(arguments) - {q.name for q in relation.inputs}
        if unknown:
            raise TypeError(f"{relation.name} has no input {sorted(unknown)}")
        for s in other.steps:
            values[s.symbol] = self.step(prefix + s.symbol.name, s.expression.subs(values, simultaneous=True),
                                         other.latex_names[s.symbol], s.note, frozen=s.frozen)
        found = [values.get(o, o.subs(values, simultaneous=True)) for o in outputs]
        return found[0] if len(found) == 1 else tuple(found)


@dataclass(frozen=True, eq=False)
class Relation:
    """A formula with its units, its source and its derivation.

    Call it with keyword arguments only (numbers or arrays that broadcast together, in the units stated); it gives the
    output, or a named tuple of outputs. ``nan`` in gives ``nan`` out. Ranges are *not* checked here: that is done where
    numbers enter (design file, hand sheet) by :meth:`implausible`.
    """

    name: str
    title: str
    inputs: tuple[Quantity, ...]
    outputs: tuple[Quantity, ...]
    derive: Callable[[Builder], Any] = field(repr=False)
    module: str
    source: str = "derived here"
    note: str = ""

    @cached_property
    def derivation(self) -> tuple[Builder, tuple[Any, ...]]:
        """The builder with its steps, and the output expressions (needs sympy)."""
        b = Builder(self.inputs)
        result = self.derive(b)
        found = result if isinstance(result, tuple) else (result,)
        if len(found) != len(self.outputs):
            raise ValueError(f"{self.name}: {len(found)} expressions for {len(self.outputs)} outputs")
        return b, tuple(b.sympy.sympify(e) for e in found)

    @cached_property
    def expressions(self) -> tuple[Any, ...]:
        """The outputs as sympy expressions of the inputs alone, all steps put in."""
        b, outputs = self.derivation
        full: dict[Any, Any] = {}
        for s in b.steps:
            full[s.symbol] = s.expression.subs(full, simultaneous=True)
        return tuple(o.subs(full, simultaneous=True) for o in outputs)

    @cached_property
    def _written(self) -> Any:
        return importlib.import_module(f"lutherie_geom.theory.written.{self.module}")

    @cached_property
    def raw(self) -> Callable[..., tuple[Any, ...]]:
        """The written numpy function: positional arguments in the order of ``inputs``, a tuple out, nothing checked."""
        function: Callable[..., tuple[Any, ...]] = getattr(self._written, self.name)
        return function

    @cached_property
    def raw_slopes(self) -> Callable[..., tuple[Any, ...]]:
        """The written derivatives: a flat tuple, output by output, input by input."""
        function: Callable[..., tuple[Any, ...]] = getattr(self._written, self.name + "_slopes")
        return function

    @cached_property
    def _result(self) -> Any:
        return namedtuple(self.name, [q.name for q in self.outputs])

    def _arguments(self, values: Mapping[str, Any]) -> list[Any]:
        names = [q.name for q in self.inputs]
        missing = [n for n in names if n not in values]
        unknown = [n for n in values if n not in names]
        if missing or unknown:
            raise TypeError(f"{self.name}: missing {missing}, unknown {unknown}; it takes {names}")
        return [v if isinstance(v := values[n], float) else np.asarray(v, dtype=float) for n in names]

    def __call__(self, **values: Any) -> Any:
        arguments = self._arguments(values)
        found = self.raw(*arguments)
        shape = np.broadcast_shapes(*(np.shape(a) for a in arguments))
        found = tuple(np.broadcast_to(f, shape)[()] for f in found)
        return found[0] if len(found) == 1 else self._result(*found)

    def slopes(self, **values: Any) -> dict[str, dict[str, Any]]:
        """Exact first derivatives at ``values``: ``slopes[output][input]``, unit of output per unit of input."""
        arguments = self._arguments(values)
        flat = self.raw_slopes(*arguments)
        shape = np.broadcast_shapes(*(np.shape(a) for a in arguments))
        n = len(self.inputs)
        return {o.name: {q.name: np.broadcast_to(flat[i * n + j], shape)[()] for j, q in enumerate(self.inputs)}
                for i, o in enumerate(self.outputs)}

    def implausible(self, **values: Any) -> list[str]:
        """Sentences for every value outside its plausible range; an empty list when all is well."""
        said = []
        for q in self.inputs:
            if q.name not in values:
                continue
            v = np.asarray(values[q.name], dtype=float)
            out = v[~((v >= q.low) & (v <= q.high))]
            if out.size:
                slip = " Was it given in degrees?" if q.unit == "rad" else ""
                said.append(f"{q.meaning}: {out.flat[0]:g} {q.unit} is outside {q.low:g} to {q.high:g} {q.unit}.{slip}")
        return said

    def latex_steps(self) -> list[tuple[str, str]]:
        """Pairs (LaTeX equation, note) in the order of the derivation; the outputs come last."""
        b, outputs = self.derivation
        sp = b.sympy
        lines = [(f"{b.latex_names[s.symbol]} = {sp.latex(s.expression, symbol_names=b.latex_names)}", s.note)
                 for s in b.steps]
        for q, e in zip(self.outputs, outputs, strict=True):
            right = sp.latex(e, symbol_names=b.latex_names)
            if right != q.latex:
                lines.append((f"{q.latex} = {right}", q.meaning))
        return lines

    def latex(self) -> str:
        """The derivation as one LaTeX block."""
        body = r" \\ ".join(line.replace(" = ", " &= ", 1) for line, _ in self.latex_steps())
        return r"\begin{aligned}" + body + r"\end{aligned}"

    def latex_slope(self, output: str, by: str) -> str:
        """LaTeX of the exact derivative of ``output`` by the input ``by``, steps put in and simplified."""
        b, _ = self.derivation
        k = [q.name for q in self.outputs].index(output)
        e = b.sympy.simplify(b.sympy.diff(self.expressions[k], b.symbols[by]))
        left = rf"\frac{{\partial {self.outputs[k].latex}}}{{\partial {b.latex_names[b.symbols[by]]}}}"
        return str(left + " = " + b.sympy.latex(e, symbol_names=b.latex_names))

    def __str__(self) -> str:
        def rows(qs: tuple[Quantity, ...]) -> str:
            return "\n".join(f"  {q.name:<16} [{q.unit}] {q.meaning}" for q in qs)

        tail = f"\n{self.note}" if self.note else ""
        return f"{self.title}\nin\n{rows(self.inputs)}\nout\n{rows(self.outputs)}\nsource: {self.source}{tail}"

    def _repr_markdown_(self) -> str:
        def rows(qs: tuple[Quantity, ...]) -> str:
            return "".join(f"| ${q.latex}$ | `{q.name}` | {q.unit} | {q.meaning} |\n" for q in qs)

        lines = "".join(f"${line}$ &nbsp; {note}\n\n" for line, note in self.latex_steps())
        return (f"**{self.title}**\n\n{lines}\n| | name | unit | meaning |\n|---|---|---|---|\n"
                f"{rows(self.inputs)}{rows(self.outputs)}\nSource: {self.source}. {self.note}")
