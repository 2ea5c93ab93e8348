"""Arithmetic written by the user: ``plenum_height + 20 mm``, ``3/8 in``, ``max(a, 2 * b)``.

Literals with their units are read first and replaced, at equal length, by a placeholder; what is left is
ordinary arithmetic, which is vetted node by node and then evaluated by simpleeval. Equal length keeps every
column where the user wrote it.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import Any, Final

from simpleeval import SimpleEval

from packcheck.scene.text.hints import nearest
from packcheck.units import PLAIN, UNITS, Quantity, QuantityError, literal

__all__ = ["FUNCTIONS", "evaluate", "names_in", "reserved_word"]

LONGEST: Final = 500
"""Characters. Longer than anything a person writes, and short enough that nesting stays harmless."""

_PLACEHOLDER: Final = "_"
_NUMBER_STARTS: Final = frozenset("0123456789.")
_FOREIGN = re.compile(r"[^\w\s.+\-*/(),]")
_WORD_END = re.compile(r"\w+")
_HYPHEN_MIXED = re.compile(r"(?<![\w.)])[0-9]+-[0-9]+/[0-9]+(?![\w.])")
_FRACTION = re.compile(r"\s*[0-9]+\s*/\s*(?:2|4|8|16|32|64)\s*")
# Alone it is arithmetic like any; of a length it is how inches are written, not how mm are.
_NOT_FINITE = re.compile(r"[-+]?\.(?:inf|nan)", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"[0-9],[0-9]")


def _sqrt(x: Quantity) -> Quantity:
    if x.dimension != PLAIN:
        raise QuantityError(f"takes the square root of {x.dimension}, needs a plain number")
    if x.value < 0:
        raise QuantityError("takes the square root of a negative number")
    return Quantity(math.sqrt(x.value))


def _least(*values: Quantity) -> Quantity:
    return min(values)


def _largest(*values: Quantity) -> Quantity:
    return max(values)


FUNCTIONS: Final[Mapping[str, Callable[..., Quantity]]] = {
    "min": _least,
    "max": _largest,
    "abs": abs,
    "sqrt": _sqrt,
}
_ONE_ARGUMENT: Final = ("abs", "sqrt")
_OPERATORS: Final[dict[type[ast.AST], Callable[..., Quantity]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}


class Expression:
    """Arithmetic that has been read and vetted, ready to be evaluated.

    Parameters
    ----------
    text : str
        Arithmetic with + - * /, brackets, min, max, abs, sqrt, literals with units and names.
    known : collection of str
        Names there are; only for hints.

    Raises
    ------
    QuantityError
        When the text is no such arithmetic, with the offset into `text` where one is known.
    """

    def __init__(self, text: str, known: Collection[str] = ()) -> None:
        _refuse_misreadings(text)
        self.text = text
        self._tree: ast.Expression | None = None
        self._literals: dict[int, Quantity] = {}
        self.names: tuple[str, ...] = ()
        indent = _indent(text)
        whole = literal(text, indent, known)
        if whole is not None and not text[whole[1] :].strip():
            self._literals[indent] = whole[0]
            return
        arithmetic, self._literals = _with_placeholders(text, known)
        self._tree = _parsed(arithmetic, text)
        nodes = list(ast.walk(self._tree))
        for node in nodes:
            _vet(node, text)
        self.names = self._names_among(nodes)

    @property
    def arithmetic(self) -> ast.AST:
        """The arithmetic as a tree, in which literals are names of their own; empty for a lone literal."""
        return self._tree or ast.Module([], [])

    def _names_among(self, nodes: list[ast.AST]) -> tuple[str, ...]:
        called = {id(node.func) for node in nodes if isinstance(node, ast.Call)}
        named = (node for node in nodes if isinstance(node, ast.Name) and id(node) not in called)
        return tuple(dict.fromkeys(node.id for node in named if _offset(node, self.text) not in self._literals))

    def value(self, names: Mapping[str, Quantity]) -> Quantity:
        """What it comes to, with `names` standing for what they do.

        Raises
        ------
        QuantityError
            Unknown name, unlike quantities added, a number out of range, division by zero.
        """
        if _FRACTION.fullmatch(self.text):
            return replace(self._value(names), fraction=self.text.strip())
        return self._value(names)

    def _value(self, names: Mapping[str, Quantity]) -> Quantity:
        if self._tree is None:
            return next(iter(self._literals.values()))

        def meaning(node: ast.Name) -> Quantity:
            at = _offset(node, self.text)
            return self._literals[at] if at in self._literals else _named(node.id, names, at)

        try:
            return _evaluator(meaning, self.text).eval(self.text, self._tree.body)  # type: ignore[no-any-return]
        except RecursionError:
            raise QuantityError("is nested too deep") from None


def evaluate(text: str, names: Mapping[str, Quantity]) -> Quantity:
    """What does an expression come to?

    Raises
    ------
    QuantityError
        As `Expression` and its `value` do.

    Examples
    --------
    >>> from packcheck.units import LENGTH
    >>> evaluate("1 1/2 in + 2 * rise", {"rise": Quantity(5.0, LENGTH)}).value
    48.1
    >>> evaluate("rise + 2", {"rise": Quantity(5.0, LENGTH)})
    Traceback (most recent call last):
    packcheck.units.QuantityError: cannot add mm and a plain number
    """
    return Expression(text, names).value(names)


def names_in(text: str) -> tuple[str, ...]:
    """The names an expression refers to, in order; none when it cannot be read (evaluating it says why)."""
    try:
        return Expression(text).names
    except QuantityError:
        return ()


def reserved_word(name: str) -> str:
    """Why a name cannot be used in expressions, or nothing."""
    if name in UNITS or name == "deg":
        return "is a unit"
    if name in FUNCTIONS:
        return "is a function"
    return "" if name != _PLACEHOLDER else "is only an underscore"


def _indent(text: str) -> int:
    return len(text) - len(text.lstrip())


def _parsed(arithmetic: str, text: str) -> ast.Expression:
    try:
        return ast.parse(arithmetic.lstrip(), mode="eval")
    except SyntaxError as error:
        offset = min(max((error.offset or 1) - 1, 0) + _indent(text), len(text))
        raise QuantityError(_syntax(text, offset), offset=offset) from None
    except (RecursionError, MemoryError, ValueError):
        raise QuantityError("is nested too deep") from None


def _refuse_misreadings(text: str) -> None:
    """What would be read, but not as it was meant."""
    if not text.strip():
        raise QuantityError("is empty, needs a number")
    if _NOT_FINITE.fullmatch(text.strip()):
        raise QuantityError("is not a finite number")
    if len(text) > LONGEST:
        raise QuantityError(f"has {len(text)} characters, needs at most {LONGEST}")
    if "(" not in text and (comma := _DECIMAL_COMMA.search(text)):
        point = text.replace(",", ".")
        raise QuantityError("has a decimal comma", mend=f"write {point!r}", offset=comma.start() + 1)
    if hyphen := _HYPHEN_MIXED.search(text):
        mixed = hyphen.group().replace("-", " ", 1)
        mend = f"write {mixed!r} for the mixed number, or put blanks round the minus"
        raise QuantityError("can be read as a mixed number and as a subtraction", mend=mend, offset=hyphen.start())


def _with_placeholders(text: str, known: Collection[str]) -> tuple[str, dict[int, Quantity]]:
    literals: dict[int, Quantity] = {}
    pieces: list[str] = []
    at = 0
    while at < len(text):
        found = literal(text, at, known) if text[at] in _NUMBER_STARTS else None
        if found is None:
            word = _WORD_END.match(text, at)
            end = word.end() if word else at + 1
            pieces.append(_allowed(text[at:end], at))
        else:
            literals[at], end = found
            _refuse_doubtful_fraction(text, at, end)
            pieces.append(_PLACEHOLDER.ljust(end - at))
        at = end
    return "".join(pieces), literals


def _allowed(piece: str, at: int) -> str:
    if foreign := _FOREIGN.search(piece):
        mend = "write 'in' for inches and 'deg' for degrees" if foreign.group() in "\"'°" else ""
        raise QuantityError(
            f"has {foreign.group()!r}, which is not arithmetic", mend=mend, offset=at + foreign.start()
        )
    return piece


def _refuse_doubtful_fraction(text: str, at: int, end: int) -> None:
    """``a / 3/8 in``: is it (a / 3) / 8 in, or a / (3/8 in)?"""
    if "/" in text[at:end] and text[:at].rstrip().endswith("/"):
        raise QuantityError("divides by a fraction", mend=f"write ({text[at:end].strip()})", offset=at)


def _syntax(text: str, offset: int) -> str:
    rest = text[offset:].split()
    return f"cannot be read as arithmetic at {rest[0]!r}" if rest else "ends too early to be arithmetic"


def _offset(node: ast.expr, text: str) -> int:
    """Characters before `node` in `text` (the parser counts UTF-8 bytes from the first word)."""
    indent = _indent(text)
    if text.isascii():
        return indent + node.col_offset
    return indent + len(text[indent:].encode()[: node.col_offset].decode(errors="ignore"))


def _vet(node: ast.AST, text: str) -> None:
    match node:
        case ast.Expression() | ast.Name() | ast.Load():
            return
        case ast.BinOp(op=op) | ast.UnaryOp(op=op) if type(op) in _OPERATORS:
            return
        case ast.operator() | ast.unaryop():
            return
        case ast.Call(func=ast.Name(id=function), args=arguments, keywords=[]):
            _vet_call(function, len(arguments), _offset(node, text))
        case ast.Attribute():
            raise QuantityError("has a dot inside a name, names are single words", offset=_offset(node, text))
        case ast.BinOp(op=ast.Pow()):
            raise QuantityError("has a power, only + - * / are known", offset=_offset(node.right, text))
        case ast.expr():
            raise QuantityError("is not arithmetic with + - * /", offset=_offset(node, text))
        case _:
            raise QuantityError("is not arithmetic with + - * /")


def _vet_call(function: str, arguments: int, offset: int) -> None:
    if function not in FUNCTIONS:
        known = ", ".join(FUNCTIONS)
        raise QuantityError(f"has the unknown function {function!r}, known are {known}", offset=offset)
    if not arguments or (function in _ONE_ARGUMENT and arguments > 1):
        needed = "1" if function in _ONE_ARGUMENT else "at least 1"
        raise QuantityError(f"gives {function} {arguments} values, needs {needed}", offset=offset)


def _named(name: str, names: Mapping[str, Quantity], offset: int) -> Quantity:
    if name in names:
        return names[name]
    if name.lower() in ("inf", "nan"):
        raise QuantityError("is not a finite number", offset=offset)
    if why := reserved_word(name):
        mend = "write a number before it, such as 12 mm" if "unit" in why else ""
        raise QuantityError(f"has {name!r}, which {why}, where a value belongs", mend=mend, offset=offset)
    raise QuantityError(f"has the unknown name {name!r}", mend=lambda: nearest(name, names), offset=offset)


def _evaluator(meaning: Callable[[ast.Name], Quantity], text: str) -> Any:
    evaluator = SimpleEval(operators=_OPERATORS, functions=dict(FUNCTIONS), names=meaning)
    for kind in (ast.BinOp, ast.Call):
        evaluator.nodes[kind] = _placed(evaluator.nodes[kind], text)
    return evaluator


def _placed(handler: Callable[[Any], Quantity], text: str) -> Callable[[Any], Quantity]:
    """The same handler, its errors told where in `text` they arose."""

    def handle(node: Any) -> Quantity:
        try:
            return handler(node)
        except QuantityError as error:
            if error.offset is None:
                error.offset = _offset(node.right if isinstance(node, ast.BinOp) else node, text)
            raise

    return handle
