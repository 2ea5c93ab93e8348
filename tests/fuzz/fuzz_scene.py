"""Feeds spoilt scenes to the loader: ``python -m tests.fuzz.fuzz_scene --seconds 300 --seed 1``.

Each input must end in a scene or in a `SceneError` (`MeshError`) that says what is wrong.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from random import Random

from packcheck.errors import MeshError, SceneError
from packcheck.scene import load_scene
from tests.fuzz.harness import Fuzzer, Outcome, caught, main
from tests.fuzz.mutations import mutated

VALID = Path(__file__).parent.parent / "scene" / "valid"
FUZZED = "fuzzed.yaml"


def made(random: Random, folder: Path) -> tuple[str, bytes]:
    seeds = [path.read_bytes() for path in sorted(folder.rglob("*.yaml")) if path.name != FUZZED]
    return FUZZED, mutated(seeds, random)


def tried(path: Path, _: Random) -> Outcome:
    def loaded() -> Outcome:
        try:
            load_scene(path)
        except (SceneError, MeshError) as error:
            placed = all(fault.what and (fault.mark or fault is error.faults[-1]) for fault in error.faults)
            return ("refused", "") if error.faults and placed else ("failed", "a fault without place or text")
        return "accepted", ""

    return caught(loaded)


def prepare(folder: Path) -> None:
    shutil.copytree(VALID, folder, dirs_exist_ok=True)


if __name__ == "__main__":
    sys.exit(main(Fuzzer("tests.fuzz.fuzz_scene", 300, made, tried, prepare), __doc__))
