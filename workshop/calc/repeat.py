"""As many digits beside a figure as somebody needs to repeat it by hand.

Inputs are rounded to be read; put into the formula as shown they must still give the value as shown.
"""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache

from workshop.calc.working import Figure

MOST_DIGITS = 9
_ACTS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def work_out(formula: str, symbols: Mapping[str, float]) -> float:
    """The value of a displayed formula: plain arithmetic over `symbols`.

    Raises `ValueError` for anything else, and what the arithmetic raises.
    """
    return _value(_parsed(formula), symbols)


def digits_to_repeat(figure: Figure) -> tuple[int, ...]:
    """Decimals to show of each input, so that the formula over the shown inputs gives the shown value.

    Never fewer than the inputs ask for. Where even the full inputs do not give the shown value (a
    share rounded down) the inputs' own digits stand.
    """
    inputs, formula = figure.working.inputs, figure.working.formula
    digits = [one.digits for one in inputs]
    full = {one.symbol: one.value for one in inputs}
    try:
        if not _same(work_out(formula, full), figure):
            return tuple(digits)
        while not _same(work_out(formula, _shown(figure, digits)), figure):
            worst = _worst(figure, full, digits)
            if worst is None:
                break
            digits[worst] += 1
    except (ValueError, ArithmeticError):
        return tuple(one.digits for one in inputs)
    return tuple(digits)


@lru_cache(maxsize=512)
def _parsed(formula: str) -> ast.expr:
    return ast.parse(formula, mode="eval").body


def _value(node: ast.expr, symbols: Mapping[str, float]) -> float:
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return float(node.value)  # type: ignore[arg-type]
    if isinstance(node, ast.Name) and node.id in symbols:
        return symbols[node.id]
    if isinstance(node, ast.BinOp) and type(node.op) in _ACTS:
        return _ACTS[type(node.op)](_value(node.left, symbols), _value(node.right, symbols))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand, symbols)
    raise ValueError(f"Not plain arithmetic: {ast.unparse(node)}.")


def _rounded(value: float, digits: int) -> Decimal:
    return Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_EVEN)


def _same(found: float, figure: Figure) -> bool:
    return _rounded(found, figure.digits) == _rounded(figure.value, figure.digits)


def _shown(figure: Figure, digits: Sequence[int]) -> dict[str, float]:
    """The inputs as they are read off the page."""
    pairs = zip(figure.working.inputs, digits, strict=True)
    return {one.symbol: float(_rounded(one.value, places)) for one, places in pairs}


def _worst(figure: Figure, full: Mapping[str, float], digits: Sequence[int]) -> int | None:
    """The input whose rounding alone moves the value most; None when none can be shown finer."""
    formula, shown = figure.working.formula, _shown(figure, digits)
    moves = [
        abs(work_out(formula, {**full, symbol: shown[symbol]}) - figure.value)
        if places < MOST_DIGITS and shown[symbol] != full[symbol]
        else -1.0
        for (symbol, places) in (
            (one.symbol, d) for one, d in zip(figure.working.inputs, digits, strict=True)
        )
    ]
    most = max(moves, default=-1.0)
    return moves.index(most) if most >= 0 else None
