"""Arithmetic of parameters, worked out without Python's own evaluation.

Two stacks, so no recursion however deep the brackets are.
"""

import functools
import math
import re
from collections.abc import Callable

from ohmtrail.importers.spice._numbers import spice_number

__all__ = ["bare", "evaluate", "names"]

_TOKEN = re.compile(
    r"\s*(?:(?P<number>(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?[a-z]*)|"
    r"(?P<name>[a-z_][\w.]*)|"
    r"(?P<operator>\*\*|\|\||&&|[<>=!]=|[-+*/^%<>!?:(),]))",
    re.I,
)
_NAME = re.compile(r"(?<![\w.])[A-Za-z_][\w.]*")

_Number = Callable[..., float]

_PRECEDENCE = {
    "?": 0, ":": 0, "||": 1, "&&": 2, "==": 3, "!=": 3, "<": 4, ">": 4, "<=": 4,
    ">=": 4, "+": 5, "-": 5, "*": 6, "/": 6, "%": 6, "u-": 7, "u+": 7, "u!": 7,
    "^": 8, "**": 8,
}  # fmt: skip
_BINARY: dict[str, _Number] = {
    "||": lambda a, b: float(bool(a) or bool(b)),
    "&&": lambda a, b: float(bool(a) and bool(b)),
    "==": lambda a, b: float(a == b),
    "!=": lambda a, b: float(a != b),
    "<": lambda a, b: float(a < b),
    ">": lambda a, b: float(a > b),
    "<=": lambda a, b: float(a <= b),
    ">=": lambda a, b: float(a >= b),
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "%": math.fmod,
    "^": math.pow,
    "**": math.pow,
}
_UNARY: dict[str, _Number] = {
    "u-": lambda a: -a,
    "u+": lambda a: a,
    "u!": lambda a: float(not a),
}
_FUNCTIONS: dict[str, tuple[int, _Number]] = {
    "abs": (1, abs),
    "acos": (1, math.acos),
    "asin": (1, math.asin),
    "atan": (1, math.atan),
    "arctan": (1, math.atan),
    "ceil": (1, lambda a: float(math.ceil(a))),
    "cos": (1, math.cos),
    "cosh": (1, math.cosh),
    "exp": (1, math.exp),
    "floor": (1, lambda a: float(math.floor(a))),
    "int": (1, lambda a: float(math.trunc(a))),
    "ln": (1, math.log),
    "log": (1, math.log),
    "log10": (1, math.log10),
    "max": (2, max),
    "min": (2, min),
    "nint": (1, lambda a: float(round(a))),
    "pow": (2, math.pow),
    "pwr": (2, lambda a, b: math.copysign(math.pow(abs(a), b), a)),
    "sgn": (1, lambda a: float((a > 0) - (a < 0))),
    "sin": (1, math.sin),
    "sinh": (1, math.sinh),
    "sqrt": (1, math.sqrt),
    "tan": (1, math.tan),
    "tanh": (1, math.tanh),
    "ternary_fcn": (3, lambda a, b, c: b if a else c),
    "if": (3, lambda a, b, c: b if a else c),
}
#: What ngspice knows without a definition.
_CONSTANTS = {"pi": math.pi, "e": math.e, "true": 1.0, "false": 0.0}
_LENGTH_MAX = 10_000


def bare(text: str) -> str:
    """Return an expression without its braces or quotes.

    >>> bare("{a*2}"), bare("'b'"), bare("c")
    ('a*2', 'b', 'c')
    """
    text = text.strip()
    while len(text) > 1 and text[0] + text[-1] in ("{}", "''", '""'):
        text = text[1:-1].strip()
    return text


def names(text: str) -> list[str]:
    """Return the names in an expression, in lower case, functions too."""
    return [name.lower() for name in _NAME.findall(text)]


class _Unknown(Exception):
    """The expression cannot be worked out."""


@functools.lru_cache(maxsize=4096)
def _tokens(text: str) -> tuple[tuple[str, str], ...]:
    text = text.rstrip()
    if len(text) > _LENGTH_MAX:
        raise _Unknown
    found: list[tuple[str, str]] = []
    at = 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.lastgroup is None:
            raise _Unknown
        found.append((match.lastgroup, match[match.lastgroup].lower()))
        at = match.end()
    return tuple(found)


class _Machine:
    """The two stacks."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self.operators: list[str] = []
        #: Arguments seen so far, for each open bracket; the function before it.
        self.calls: list[tuple[str, int]] = []

    def apply(self) -> None:
        operator = self.operators.pop()
        values = self.values
        if operator == ":":
            if not self.operators or self.operators.pop() != "?" or len(values) < 3:
                raise _Unknown
            no, yes, test = values.pop(), values.pop(), values.pop()
            values.append(yes if test else no)
        elif operator in _UNARY and values:
            values.append(_UNARY[operator](values.pop()))
        elif operator in _BINARY and len(values) > 1:
            right = values.pop()
            values.append(_BINARY[operator](values.pop(), right))
        else:
            raise _Unknown

    def reduce(self, least: int, strictly: bool) -> None:
        while self.operators and self.operators[-1] != "(":
            there = _PRECEDENCE[self.operators[-1]]
            if there < least or (strictly and there == least):
                break
            self.apply()

    def binary(self, operator: str) -> None:
        if operator == ":":
            while self.operators and self.operators[-1] != "?":
                if self.operators[-1] == "(":
                    raise _Unknown
                self.apply()
        elif operator == "?":
            self.reduce(1, strictly=False)
        else:
            self.reduce(_PRECEDENCE[operator], strictly=operator in ("^", "**"))
        self.operators.append(operator)

    def close(self, comma: bool) -> None:
        while self.operators and self.operators[-1] != "(":
            self.apply()
        if not self.operators:
            raise _Unknown
        function, count = self.calls.pop()
        if comma:
            if not function:
                raise _Unknown
            self.calls.append((function, count + 1))
            return
        self.operators.pop()
        if function:
            wanted, call = _FUNCTIONS[function]
            if count != wanted or len(self.values) < wanted:
                raise _Unknown
            arguments = self.values[-wanted:]
            del self.values[-wanted:]
            self.values.append(call(*arguments))


def _run(text: str, lookup: Callable[[str], float | None]) -> float:
    machine = _Machine()
    operand = True  # what is expected next
    function = ""
    for sort, token in _tokens(text):
        if function and token != "(":
            raise _Unknown
        if sort == "operator":
            if token == "(":
                if not operand and not function:
                    raise _Unknown
                machine.operators.append("(")
                machine.calls.append((function, 1))
                function, operand = "", True
            elif token in (")", ","):
                if operand:
                    raise _Unknown
                machine.close(token == ",")
                operand = token == ","
            elif operand:
                if f"u{token}" not in _UNARY:
                    raise _Unknown
                machine.operators.append(f"u{token}")
            elif token == "!":
                raise _Unknown
            else:
                machine.binary(token)
                operand = True
            continue
        if not operand:
            raise _Unknown
        value = spice_number(token) if sort == "number" else lookup(token)
        if value is None and sort == "name":
            if token in _FUNCTIONS:
                function = token
                continue
            value = _CONSTANTS.get(token)
        if value is None:
            raise _Unknown
        machine.values.append(value)
        operand = False
    if operand or function or machine.calls:
        raise _Unknown
    while machine.operators:
        machine.apply()
    [result] = machine.values
    return result


def evaluate(text: str, lookup: Callable[[str], float | None]) -> float | None:
    """Work out an expression.

    Parameters
    ----------
    text : str
        With or without braces or quotes.
    lookup : callable
        Value of a parameter by its name in lower case; None if there is none.

    Returns
    -------
    float or None
        None if it is no expression, uses something unknown, or is not finite.

    Notes
    -----
    O(length); longer than 10,000 characters is not worked out.

    Examples
    --------
    >>> evaluate("{2*(r1+1k)}", {"r1": 500.0}.get)
    3000.0
    >>> evaluate("-2**2", {}.get), evaluate("x > 1 ? 10 : 20", {"x": 2.0}.get)
    (-4.0, 10.0)
    """
    try:
        result = _run(bare(text), lookup)
    except (_Unknown, ArithmeticError, ValueError):
        return None
    return float(f"{result:.12g}") if math.isfinite(result) else None
