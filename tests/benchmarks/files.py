"""Large geometry files: the whole command, cold and warm, beside loading and asking the libraries bare.

``python -m tests.benchmarks.files`` prints the table. Work is told in seconds of CPU, which a loaded machine spoils
less than the clock.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.benchmarks import tables
from tests.benchmarks.bays import write_bay
from tests.benchmarks.commands import Command, cost

__all__ = ["files"]

_BARE = """
import resource, sys, time, numpy as np, fcl, trimesh
from pathlib import Path
began = time.process_time()
models, boxes = [], []
for path in sorted(Path(sys.argv[1]).glob("*.stl")):
    mesh = trimesh.load_mesh(path)
    model = fcl.BVHModel(); model.beginModel(len(mesh.vertices), len(mesh.faces))
    model.addSubModel(mesh.vertices, mesh.faces); model.endModel()
    models.append(fcl.CollisionObject(model, fcl.Transform()))
for i, a in enumerate(models):
    for b in models[i + 1 :]:
        fcl.distance(a, b, fcl.DistanceRequest(True), fcl.DistanceResult())
print(time.process_time() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def files() -> str:
    """The table."""
    rows: list[tuple[str | float, ...]] = []
    with TemporaryDirectory() as folder:
        for title, parts, triangles, scan in (
            ("a scan of 1 000 000 and 100 parts (20 meshes of 1 000)", 100, 1_000, 1_000_000),
            ("40 meshes of 20 000 among 200 parts", 200, 20_000, 0),
        ):
            home = Path(folder, title[:4].strip().replace(" ", "_"))
            home.mkdir()
            arguments = ("check", str(write_bay(home, parts, triangles, scan=scan)), "--no-moves")
            for heat, cold in (("cold", True), ("warm", False)):
                taken = cost(Command(title, arguments, cold=cold), 1)
                rows.append((f"packcheck, {title}, {heat}", taken.user, taken.wall, taken.peak))
            command = [sys.executable, "-c", _BARE, str(home)]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            seconds, peak = map(float, done.stdout.split())
            rows.append(
                (f"trimesh and bare fcl, the meshes of it, all pairs where they lie: {title}", seconds, "", peak)
            )
    note = (
        "Bare: files loaded, a tree each, one distance a pair with every mesh at its own zero; no plain shapes, no "
        "containment, no bounds, no repair, no report."
    )
    return tables.table("Large geometry files", ("what", "CPU, s", "wall, s", "MiB"), rows, note)


if __name__ == "__main__":
    tables.show(files())
