"""The house stays as it was planned: imports only point up the list of rooms, modules and functions stay small."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest

import packcheck

PACKAGE = Path(packcheck.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))

ROOMS = [
    {"errors", "arrays", "tolerances", "limits", "units", "replacing", "threads", "budget"},
    {"findings", "drawn", "comparison", "looked"},
    {"frames", "datums", "surfaces"},
    {"data"},
    {"scene"},
    {"solids"},
    {"search"},
    {"proximity"},
    {"survey"},
    {"kinematics"},
    {"notknown"},
    {"assembly"},
    {"studies"},
    {"moves", "joining"},
    {"bay", "watching"},
    {"sizing", "places"},
    {"report"},
    {"viewer"},
    {"cli"},
]
"""Top room first. A module may import from its own room and from rooms above it."""

ONLY_THERE = {
    "fcl": "proximity",
    "trimesh": "solids",
    "mapbox_earcut": "solids",
    "jinja2": "report",
    "markdown_it": "report",
    "pyvista": "viewer",
    "vtkmodules": "viewer",
    "click": "cli",
    "rich": "cli",
}


def room(name: str) -> int:
    return next((k for k, names in enumerate(ROOMS) if name in names), len(ROOMS))


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            yield node


def body_lines(function: ast.FunctionDef) -> int:
    """Lines of a function's body, its docstring aside."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return sum((node.end_lineno or node.lineno) - node.lineno + 1 for node in body)


def home(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_imports_point_up_the_list_of_rooms(path: Path) -> None:
    if home(path) in ("__init__", "__main__"):
        return
    for name in imported(path):
        first, _, rest = name.partition(".")
        if first == "packcheck" and rest:
            assert room(rest.split(".")[0]) <= room(home(path)), f"{path.name} imports {name}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_each_heavy_library_has_one_room(path: Path) -> None:
    for name in imported(path):
        owner = ONLY_THERE.get(name.split(".")[0])
        assert owner is None or home(path) == owner, f"{path.name} imports {name}"


def test_reports_know_findings_and_nothing_else_of_the_house() -> None:
    allowed = {"findings", "drawn", "comparison", "looked", "report", "errors", "arrays", "tolerances", "surfaces"}
    strangers = {
        name
        for path in (PACKAGE / "report").rglob("*.py")
        for name in imported(path)
        if name.startswith("packcheck.") and name.split(".")[1] not in allowed
    }
    assert not strangers


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_modules_are_about_300_lines_at_most(path: Path) -> None:
    assert path.read_text(encoding="utf-8").count("\n") <= 320


def test_functions_are_small() -> None:
    lengths = [body_lines(function) for path in MODULES for function in functions(path)]
    assert median(lengths) < 10
    assert max(lengths) <= 40


@pytest.mark.parametrize("oracle", ["clarabel", "coal", "manifold3d"])
def test_the_package_shares_no_engine_with_the_oracles(oracle: str) -> None:
    assert not [path for path in MODULES if any(name.split(".")[0] == oracle for name in imported(path))]


def test_the_rounding_of_limits_stands_in_one_place() -> None:
    """What is allowed for the last figure typed is counted where limits are judged, and nowhere else."""
    users = [path.name for path in MODULES if "LIMIT_SLACK" in path.read_text(encoding="utf-8")]
    assert sorted(users) == ["limits.py", "tolerances.py"]
