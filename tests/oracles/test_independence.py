"""The oracles and the package know nothing of each other."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
PACKAGE = TESTS.parent / "packcheck"


def imported(path: Path) -> set[str]:
    """Dotted names of all modules a file imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(node.module or "")
    return names


def roots(path: Path) -> set[str]:
    return {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize(
    "path",
    [*sorted((TESTS / "oracles").glob("*.py")), TESTS / "crowds.py", TESTS / "crowd_shapes.py"],
    ids=lambda path: path.name,
)
def test_oracle_imports_nothing_from_packcheck(path: Path) -> None:
    assert "packcheck" not in roots(path)
    others = {name for name in imported(path) if name.startswith("tests.")}
    assert all(name.startswith(("tests.oracles", "tests.crowd")) for name in others)


@pytest.mark.parametrize(
    "path",
    [path for path in sorted((TESTS / "worlds").glob("*.py")) if not path.name.startswith("test_")],
    ids=lambda path: path.name,
)
def test_the_account_of_worlds_imports_nothing_from_packcheck(path: Path) -> None:
    assert ("packcheck" in roots(path)) == (path.name == "asked.py")
    others = {name for name in imported(path) if name.startswith("tests.")}
    assert all(name.startswith(("tests.oracles", "tests.worlds")) for name in others)
    assert ("tests.worlds.asked" in others) == (path.name == "campaign.py")
    assert not any(name.startswith(("tests.worlds.test_", "tests.oracles.test_")) for name in others)


@pytest.mark.parametrize("engine", ["clarabel", "coal", "manifold3d"])
def test_package_never_imports_an_oracle_engine(engine: str) -> None:
    assert not [path for path in PACKAGE.rglob("*.py") if engine in roots(path)]
