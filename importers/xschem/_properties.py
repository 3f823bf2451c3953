"""Property strings (``name=R1 value="10 k"``) and names that stand for many."""

import re

__all__ = ["WIDTH_MAX", "ExpandError", "expand", "properties"]

#: More names than this in one label are refused.
WIDTH_MAX = 65_536

_TOKEN = re.compile(
    r'([^\s=;"]+)[ \t]*=((?:"[^"\\]*+(?:\\.[^"\\]*+)*+"|\\.|[^\s;"\\])*)', re.DOTALL
)
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)
_QUOTE = re.compile(r'\\(.)|"', re.DOTALL)
_PIECE = re.compile(r"[*,()]|[^*,()\[\]]*(?:\[[^\[\]]*\])?[^*,()\[\]]*")


class ExpandError(ValueError):
    """A label that stands for no list of names."""


def unescape(text: str) -> str:
    """Drop the backslashes by which the file protects braces."""
    return _ESCAPE.sub(r"\1", text) if "\\" in text else text


def properties(text: str) -> dict[str, str]:
    r"""Return the properties in a string; the first of a name counts.

    Examples
    --------
    >>> properties('name=R1 value="10 k" lab=a\\[1\\]')
    {'name': 'R1', 'value': '10 k', 'lab': 'a[1]'}
    """
    found: dict[str, str] = {}
    for name, value in _TOKEN.findall(text):
        if name not in found:
            if '"' in value or "\\" in value:
                value = _QUOTE.sub(lambda m: m[1] or "", value)
            found[name] = value
    return found


def _indexed(text: str) -> list[str]:
    """Expand one name: ``A[3:0]``, ``A[7:0:2]``, ``A[3,1]``, ``A[3..0]``."""
    head, bracket, rest = text.partition("[")
    if not bracket:
        return [text]
    inside, _, tail = rest.partition("]")
    names: list[str] = []
    for item in inside.split(","):
        dotted = ".." in item
        bounds = item.split("..") if dotted else item.split(":")
        try:
            numbers = [int(bound) for bound in bounds]
        except ValueError:
            return [text]
        first, last = numbers[0], numbers[1] if len(numbers) > 1 else numbers[0]
        step = abs(numbers[2]) if len(numbers) > 2 else 1
        if step == 0 or abs(first - last) // step >= WIDTH_MAX:
            raise ExpandError(f"found label {text[:40]!r}, expected fewer names")
        up = 1 if last >= first else -1
        for index in range(first, last + up, step * up):
            names.append(f"{head}{index}{tail}" if dotted else f"{head}[{index}]{tail}")
    return names


def expand(label: str) -> list[str]:
    """Return the names that a label stands for, in order.

    Raises
    ------
    ExpandError
        For unbalanced parentheses and more than `WIDTH_MAX` names.

    Examples
    --------
    >>> expand("A[2:0],CK"), expand("D[1..0]")
    (['A[2]', 'A[1]', 'A[0]', 'CK'], ['D1', 'D0'])
    >>> expand("2*(X,Y)"), expand("(X,Y)*2")
    (['X', 'Y', 'X', 'Y'], ['X', 'X', 'Y', 'Y'])
    """
    if "," not in label and "*" not in label and "(" not in label:
        return _indexed(label) if "[" in label else [label]
    #: One level of parentheses: the list so far, the operand, a factor for it.
    stack: list[tuple[list[str], list[str], int]] = []
    done: list[str] = []
    operand: list[str] = []
    factor = 1
    starred = False

    def settle(names: list[str]) -> list[str]:
        if len(names) * factor > WIDTH_MAX:
            raise ExpandError(f"found label {label[:40]!r}, expected fewer names")
        return names * factor

    for piece in _pieces(label):
        if piece == ",":
            done.extend(operand)
            operand, factor, starred = [], 1, False
        elif piece == "*":
            starred = True
            if len(operand) == 1 and operand[0].isdecimal():
                factor, operand, starred = _factor(operand[0], label), [], False
        elif piece == "(":
            stack.append((done, operand, factor))
            done, operand, factor, starred = [], [], 1, False
        elif piece == ")":
            if not stack:
                raise ExpandError(f"found label {label[:40]!r} with a loose ')'")
            done.extend(operand)
            inner = done
            done, operand, factor = stack.pop()
            operand, factor, starred = settle(inner), 1, False
        elif starred and piece.isdecimal():
            # After the names a factor repeats each, before them the whole list.
            factor = _factor(piece, label)
            settle(operand)
            operand = [name for name in operand for _ in range(factor)]
            factor, starred = 1, False
        else:
            operand = settle(_indexed(piece))
            factor = 1
        if len(done) > WIDTH_MAX:
            raise ExpandError(f"found label {label[:40]!r}, expected fewer names")
    if stack:
        raise ExpandError(f"found label {label[:40]!r} with a loose '('")
    return done + operand or [label]


def _factor(text: str, label: str) -> int:
    if len(text) > 6:
        raise ExpandError(f"found label {label[:40]!r}, expected fewer names")
    return int(text)


def _pieces(label: str) -> list[str]:
    return [piece.strip() for piece in _PIECE.findall(label) if piece.strip()]
