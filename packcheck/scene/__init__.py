"""The scene: what the builder wrote, as frozen facts.

Reading needs a validation library that takes a tenth of a second to import, so it is loaded on the first call:
rooms that only use the model do not wait for it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from packcheck.scene.model.scene import Scene

__all__ = ["load_scene", "scene_schema"]


def load_scene(path: str | Path, layout: str | None = None) -> Scene:
    """What does a scene file say?

    Parameters
    ----------
    path : str or Path
        The root file. Messages name it the way it is given here.
    layout : str, optional
        The layout wanted; without it the scene as written.

    Returns
    -------
    Scene
        Lengths in mm, angles in degrees, every name resolved.

    Raises
    ------
    SceneError
        With every fault of every file, in file order.
    """
    from packcheck.scene.build import load_scene

    return load_scene(path, layout)


def scene_schema() -> dict[str, Any]:
    """What may stand in a scene file, as JSON Schema (draft 2020-12) for editors."""
    from packcheck.scene.schema import scene_schema

    return scene_schema()
