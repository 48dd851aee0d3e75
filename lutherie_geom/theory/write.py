"""Write the numpy functions of all relations out of their derivations: ``python -m lutherie_geom.theory.write``.

The files land in ``theory/written`` and are committed. A test regenerates every function and compares numbers at random
points (text differs between sympy versions, numbers do not).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lutherie_geom.theory.relation import Relation

HEADER = '''"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``{module}.py``; not to be edited."""

from numpy import {names}

'''


def assignments(relation: Relation, *, slopes: bool) -> tuple[list[tuple[Any, Any]], list[Any]]:
    """The lines of the function and what it returns, as sympy pairs.

    Derivatives are carried forward step by step (the chain rule on symbols), so that their code stays as short as the
    derivation; common parts of all lines are then taken out together.
    """
    b, outputs = relation.derivation
    sp = b.sympy
    names = [b.symbols[q.name] for q in relation.inputs]
    lines: list[tuple[Any, Any]] = [(s.symbol, s.expression) for s in b.steps]
    results = list(outputs)
    if slopes:
        grads: dict[Any, dict[Any, Any]] = {}

        def chain(expression: Any) -> dict[Any, Any]:
            total: dict[Any, Any] = {}
            for x in names:
                if (d := sp.diff(expression, x)) != 0:
                    total[x] = d
            for symbol in sorted(expression.free_symbols & grads.keys(), key=str):
                part = sp.diff(expression, symbol)
                for x, d in grads[symbol].items():
                    total[x] = total.get(x, 0) + part * d
            return total

        for s in b.steps:
            grads[s.symbol] = {}
            if s.frozen:
                continue
            for x, d in chain(s.expression).items():
                if d.is_Symbol or d.is_number:
                    grads[s.symbol][x] = d
                else:
                    named = sp.Symbol(f"d_{s.symbol.name}_d_{x.name}", real=True)
                    lines.append((named, d))
                    grads[s.symbol][x] = named
        results = []
        for o in outputs:
            g = {o_: d for o_, d in chain(o).items()} if o not in grads else grads[o]
            results += [g.get(x, sp.Integer(0)) for x in names]
    shared, reduced = sp.cse([e for _, e in lines] + results, symbols=(sp.Symbol(f"u{i}") for i in range(10**6)), order="none")
    left = [s for s, _ in lines]
    right, results = reduced[:len(lines)], list(reduced[len(lines):])
    return in_order(shared + list(zip(left, right, strict=True)), results), results


def in_order(pairs: list[tuple[Any, Any]], results: list[Any]) -> list[tuple[Any, Any]]:
    """Sort the lines so that each stands after what it uses, and drop those that nothing uses."""
    by_name = dict(pairs)
    done: dict[Any, Any] = {}

    def visit(symbol: Any) -> None:
        if symbol in done or symbol not in by_name:
            return
        for needed in sorted(by_name[symbol].free_symbols, key=str):
            visit(needed)
        done[symbol] = by_name[symbol]

    for r in results:
        for needed in sorted(r.free_symbols, key=str):
            visit(needed)
    return list(done.items())


def function_text(relation: Relation, *, slopes: bool) -> tuple[str, set[str]]:
    """Source of one function and the numpy names that it calls."""
    from sympy.printing.numpy import NumPyPrinter

    printer = NumPyPrinter({"fully_qualified_modules": False, "allow_unknown_functions": False})
    lines, results = assignments(relation, slopes=slopes)
    name = relation.name + ("_slopes" if slopes else "")
    doc = f"Exact derivatives of {relation.name}, output by output, input by input." if slopes else relation.title + "."
    text = [f"def {name}({', '.join(q.name for q in relation.inputs)}):", f'    """{doc}"""']
    text += [f"    {s.name} = {printer.doprint(e)}" for s, e in lines]
    text.append(f"    return ({', '.join(printer.doprint(r) for r in results)},)")
    used = {n for names in printer.module_imports.values() for n in names}
    return "\n".join(text) + "\n", used


def module_text(module: str, relations: list[Relation]) -> str:
    """Source of the written module for one theory module."""
    parts, used = [], set()
    for r in relations:
        for slopes in (False, True):
            text, names = function_text(r, slopes=slopes)
            parts.append(text)
            used |= names
    head = HEADER.format(module=module, names=", ".join(sorted(used)))
    if not used:
        head = head.replace("from numpy import \n\n", "")
    return head + "\n\n".join(parts)


def main() -> None:
    from lutherie_geom.theory import relations_by_module

    folder = Path(__file__).parent / "written"
    folder.mkdir(exist_ok=True)
    (folder / "__init__.py").write_text('"""Numpy functions written from the derivations; see ``theory.write``."""\n')
    for module, relations in relations_by_module().items():
        (folder / f"{module}.py").write_text(module_text(module, relations))
        print(f"{module}: {', '.join(r.name for r in relations)}")


if __name__ == "__main__":
    main()
