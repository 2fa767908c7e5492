"""A small evaluator of displayed formulas, of the tests' own: + - * / ** ( ), numbers and symbols."""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Mapping

_BINARY: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def evaluate(formula: str, symbols: Mapping[str, float]) -> float:
    """The value of `formula`; anything but plain arithmetic over `symbols` is refused."""
    return _value(ast.parse(formula, mode="eval").body, symbols)


def _value(node: ast.expr, symbols: Mapping[str, float]) -> float:
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name(id=name):
            return symbols[name]
        case ast.BinOp(left=left, op=op, right=right):
            return _BINARY[type(op)](_value(left, symbols), _value(right, symbols))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, symbols)
    raise AssertionError(f"not plain arithmetic: {ast.dump(node)}")
