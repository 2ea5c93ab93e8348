"""The house stays as it was planned: imports only point up the list of rooms, modules and functions stay small."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path
from statistics import median

import pytest

import packcheck

PACKAGE = Path(packcheck.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))

ROOMS = [
    {"errors", "arrays", "tolerances", "limits", "units", "replacing", "threads", "budget", "version"},
    {"findings", "drawn", "comparison", "looked"},
    {"frames", "datums", "surfaces"},
    {"data"},
    {"scene"},
    {"solids"},
    {"search"},
    {"proximity"},
    {"survey"},
    {"kinematics"},
    {"placing"},
    {"surveying"},
    {"notknown"},
    {"clearance"},
    {"assembly"},
    {"drawing"},
    {"moving"},
    {"trial"},
    {"studies"},
    {"moves", "joining", "notes"},
    {"bay", "watching"},
    {"sizing", "places"},
    {"report"},
    {"viewer"},
    {"cli"},
]
"""Top room first. A module may import from its own room and from rooms above it."""

MOST_MODULES = 20
"""Of one folder."""

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


def dotted(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")


NAMES = {dotted(path) for path in MODULES}


def imported(path: Path) -> Iterator[str]:
    """Every module that a module imports, anywhere in it; what is taken from a package is a module if it can be."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, f"{path}: imports by dots"
            inside = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from dict.fromkeys(name if name in NAMES else node.module for name in inside)


def folder(name: str) -> str:
    """The folder of a module; a module of the ground floor stands for itself."""
    is_folder = (PACKAGE.parent / name.replace(".", "/")).is_dir()
    return name if is_folder or name.count(".") == 1 else name.rpartition(".")[0]


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


def test_imports_point_up_the_list_of_rooms() -> None:
    for path in MODULES:
        if home(path) in ("__init__", "__main__"):
            continue
        for name in imported(path):
            first, _, rest = name.partition(".")
            if first == "packcheck" and rest:
                assert room(rest.split(".")[0]) <= room(home(path)), f"{path} imports {name}"


def test_nothing_imports_the_package_as_a_whole() -> None:
    users = {dotted(path) for path in MODULES if "packcheck" in imported(path)}
    assert {name for name in users if not name.startswith("packcheck.cli.")} <= {"packcheck"}


def test_no_folders_import_each_other() -> None:
    """No way leads from a folder through others and back to it."""
    leads: dict[str, set[str]] = {}
    for path in MODULES:
        if path.name == "__init__.py":
            continue
        onward = {folder(name) for name in imported(path) if name in NAMES and name != "packcheck"}
        leads.setdefault(folder(dotted(path)), set()).update(onward - {folder(dotted(path))})
    TopologicalSorter(leads).prepare()


def test_a_folder_holds_no_more_than_one_can_see() -> None:
    count = Counter(path.parent for path in MODULES if path.parent != PACKAGE and path.name != "__init__.py")
    assert {path.name: held for path, held in count.items() if held > MOST_MODULES} == {}


def test_every_folder_says_what_it_is_for() -> None:
    for path in MODULES:
        if path.name == "__init__.py":
            assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), path


def test_each_heavy_library_has_one_room() -> None:
    for path in MODULES:
        for name in imported(path):
            owner = ONLY_THERE.get(name.split(".")[0])
            assert owner is None or home(path) == owner, f"{path} imports {name}"


def test_reports_know_findings_and_nothing_else_of_the_house() -> None:
    allowed = {"findings", "drawn", "comparison", "looked", "report", "errors", "arrays", "tolerances", "surfaces"}
    strangers = {
        name
        for path in (PACKAGE / "report").rglob("*.py")
        for name in imported(path)
        if name.startswith("packcheck.") and name.split(".")[1] not in allowed
    }
    assert not strangers


def test_modules_are_about_300_lines_at_most() -> None:
    lengths = {dotted(path): path.read_text(encoding="utf-8").count("\n") for path in MODULES}
    assert {name: length for name, length in lengths.items() if length > 320} == {}


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
