"""Which lines could be wrong without a test that fails? One line is changed at a time, in a copy of the package.

    python -m tests.fuzz.mutants packcheck/notknown --count 40 --seed 1 tests/notknown tests/kinematics

What survives is either the same program, or a line that no test holds.
"""

from __future__ import annotations

import argparse
import ast
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

__all__ = ["Mutant", "lives", "mutants_of"]

EACH = 300
"""Seconds for the tests of one mutant; one that takes longer is taken to hang, which is a failure."""

OPERATORS: dict[type[ast.AST], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
}
COMPARED: dict[type[ast.AST], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
NAMES = {"max": "min", "min": "max", "any": "all", "all": "any", "maximum": "minimum", "minimum": "maximum"}

UNTOUCHED = (ast.Assert, ast.Raise, ast.Import, ast.ImportFrom, ast.JoinedStr)
"""What is not held by values: checks, words, and what is imported."""

Change = Callable[[], str]
"""Changes a tree in place and says how."""


@dataclass(frozen=True)
class Mutant:
    """A file with one line changed: its text, and what was changed in which line."""

    file: Path
    line: int
    change: str
    text: str


def mutants_of(folder: Path, rng: Random) -> Iterator[Mutant]:
    """Mutants of the modules of a folder, without end; every line is as likely as another."""
    files = sorted(folder.rglob("*.py"))
    sizes = [len(_changes(ast.parse(file.read_text(encoding="utf-8")))) for file in files]
    while any(sizes):
        (file,) = rng.choices(files, sizes)
        tree = ast.parse(file.read_text(encoding="utf-8"))
        line, change = rng.choice(_changes(tree))
        said = change()
        yield Mutant(file, line, said, ast.unparse(tree))


def _changes(tree: ast.AST) -> list[tuple[int, Change]]:
    """Every change that a tree allows, by its line."""
    return [(node.lineno, change) for node in _nodes(tree) if (change := _change(node)) is not None]  # type: ignore[attr-defined]


def _nodes(tree: ast.AST) -> Iterator[ast.AST]:
    """The nodes of a tree that are worked out, annotations and words left out."""
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for node in value if isinstance(value, list) else [value]:
            if isinstance(node, ast.AST) and not isinstance(node, UNTOUCHED):
                yield node
                yield from _nodes(node)


def _change(node: ast.AST) -> Change | None:
    match node:
        case ast.BinOp(op=op) if type(op) in OPERATORS:
            return lambda: _replaced(node, "op", OPERATORS[type(op)]())
        case ast.Compare(ops=[op]) if type(op) in COMPARED:
            return lambda: _replaced(node, "ops", [COMPARED[type(op)]()])
        case ast.BoolOp(op=op):
            return lambda: _replaced(node, "op", ast.Or() if isinstance(op, ast.And) else ast.And())
        case ast.UnaryOp(op=ast.USub()):
            return lambda: _replaced(node, "op", ast.UAdd())
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            return lambda: _replaced(node, "operand", ast.UnaryOp(ast.Not(), operand))
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            return lambda: _replaced(node, "value", value + 1)
        case ast.Name(id=name) if name in NAMES:
            return lambda: _replaced(node, "id", NAMES[name])
        case ast.Attribute(attr=name) if name in NAMES:
            return lambda: _replaced(node, "attr", NAMES[name])
        case ast.IfExp(test=test):
            return lambda: _replaced(node, "test", ast.UnaryOp(ast.Not(), test))
        case ast.Call(args=[ast.Name() as first, ast.Name() as second, *rest]):
            return lambda: _replaced(node, "args", [second, first, *rest])
    return None


def _replaced(node: ast.AST, field: str, value: object) -> str:
    before = ast.unparse(node)
    setattr(node, field, value)
    return f"{before}  ->  {ast.unparse(node)}"


def lives(mutant: Mutant, root: Path, tests: list[str]) -> bool:
    """Whether all tests pass in a copy of the package, at `root`, with one line changed."""
    file = root / mutant.file
    kept = file.read_text(encoding="utf-8")
    file.write_text(mutant.text, encoding="utf-8")
    asked = [sys.executable, "-m", "pytest", "-qx", "-p", "no:cacheprovider", *tests]
    there = {**os.environ, "PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        return subprocess.run(asked, cwd=root, env=there, capture_output=True, timeout=EACH).returncode == 0
    except subprocess.TimeoutExpired:
        return False
    finally:
        file.write_text(kept, encoding="utf-8")


def main() -> None:
    """Change lines one by one, and name what survives."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--skip", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=170.0)
    asked = parser.parse_args()
    until, made = time.monotonic() + asked.seconds, mutants_of(asked.folder, Random(asked.seed))
    with tempfile.TemporaryDirectory() as folder:
        for name in ("packcheck", "tests", "scenes"):
            shutil.copytree(name, Path(folder) / name, ignore=shutil.ignore_patterns("node_modules", "__pycache__"))
        shutil.copy("pyproject.toml", folder)
        for place in range(asked.count):
            mutant = next(made)
            if place < asked.skip:
                continue
            if time.monotonic() > until:
                print(f"stopped before mutant {place}")  # noqa: T201
                break
            said = "SURVIVES" if lives(mutant, Path(folder), asked.tests) else "fails"
            print(f"{place} {said} {mutant.file}:{mutant.line}  {mutant.change}", flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
