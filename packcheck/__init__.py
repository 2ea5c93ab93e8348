"""packcheck: does everything in the engine compartment fit, and how sure can that be?

import packcheck
report = packcheck.load("scenes/first_steps.yaml").check()
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.bay import Bay, load
    from packcheck.errors import Fault, MeshError, PackcheckError, SceneError
    from packcheck.findings import Finding, Report, Table, Verdict
    from packcheck.solids.look import look

_HOME = {
    "Bay": "bay",
    "load": "bay",
    "look": "solids.look",
    "Fault": "errors",
    "MeshError": "errors",
    "PackcheckError": "errors",
    "SceneError": "errors",
    "Finding": "findings",
    "Report": "findings",
    "Table": "findings",
    "Verdict": "findings",
}

__all__ = [
    "Bay",
    "Fault",
    "Finding",
    "MeshError",
    "PackcheckError",
    "Report",
    "SceneError",
    "Table",
    "Verdict",
    "__version__",
    "load",
    "look",
]


def __getattr__(name: str) -> Any:
    """Load the library only when something of it is asked for: `packcheck --help` needs none of it."""
    if name not in _HOME:
        raise AttributeError(f"module 'packcheck' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"packcheck.{_HOME[name]}"), name)
