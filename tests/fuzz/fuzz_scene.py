"""Feeds spoilt scenes to the loader: ``python -m tests.fuzz.fuzz_scene --seconds 300 --seed 1``.

Each input must end in a scene or in a `SceneError` (`MeshError`), within ten seconds and one GiB. Inputs run in
child processes under hard limits, so that a hang or a crash costs one child; a failing input is kept and named.
"""

from __future__ import annotations

import argparse
import json
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from packcheck.errors import MeshError, SceneError
from packcheck.scene import load_scene
from tests.fuzz.mutations import mutated

VALID = Path(__file__).parent.parent / "scene" / "valid"
BATCH = 300
SECONDS_EACH = 10
MEMORY = 1 << 30


@dataclass
class Tally:
    """What came of the inputs so far."""

    accepted: int = 0
    refused: int = 0
    longest: float = 0.0
    peak: float = 0.0  # MiB
    failures: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.accepted + self.refused + len(self.failures)} inputs, {self.accepted} accepted, "
            f"{self.refused} refused, longest {self.longest:.2f} s, peak {self.peak:.0f} MiB, "
            f"{len(self.failures)} failures"
        )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--child", nargs=2, metavar=("FIRST", "FOLDER"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        return _child(options.seed, int(options.child[0]), Path(options.child[1]))
    tally = _run(options.seed, time.monotonic() + options.seconds)
    sys.stdout.write("".join(f"{failure}\n" for failure in tally.failures) + f"{tally}\n")
    return 1 if tally.failures else 0


def _run(seed: int, deadline: float) -> Tally:
    tally = Tally()
    first = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "scenes"
        shutil.copytree(VALID, folder)
        while time.monotonic() < deadline:
            first = _batch(seed, first, folder, tally)
    return tally


def _batch(seed: int, first: int, folder: Path, tally: Tally) -> int:
    """Run one child from input `first`; returns the first input of the next batch."""
    command = [
        sys.executable,
        "-m",
        "tests.fuzz.fuzz_scene",
        "--seed",
        str(seed),
        "--child",
        str(first),
        str(folder),
    ]
    child = subprocess.run(command, capture_output=True, text=True, check=False)
    done = [json.loads(line) for line in child.stdout.splitlines()]
    for outcome in done:
        tally.accepted += outcome["what"] == "accepted"
        tally.refused += outcome["what"] == "refused"
        tally.longest = max(tally.longest, outcome["seconds"])
        tally.peak = max(tally.peak, outcome["peak"])
        if outcome["what"] == "failed":
            tally.failures.append(_kept(seed, outcome["input"], folder, outcome["why"]))
    if child.returncode == 0:
        return first + BATCH
    culprit = first + len(done)
    tally.failures.append(
        _kept(seed, culprit, folder, f"child ended with {child.returncode}: {child.stderr[-300:]}")
    )
    return culprit + 1


def _kept(seed: int, index: int, folder: Path, why: str) -> str:
    place = Path(tempfile.gettempdir()) / f"fuzz_scene_{seed}_{index}.yaml"
    place.write_bytes(_input(seed, index, _seeds(folder)))
    return f"{place}: {why}"


def _seeds(folder: Path) -> list[bytes]:
    return [path.read_bytes() for path in sorted(folder.rglob("*.yaml")) if path.name != "fuzzed.yaml"]


def _input(seed: int, index: int, seeds: list[bytes]) -> bytes:
    return mutated(seeds, Random(f"{seed}/{index}"))


def _child(seed: int, first: int, folder: Path) -> int:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    seeds = _seeds(folder)
    for index in range(first, first + BATCH):
        content = _input(seed, index, seeds)
        signal.setitimer(signal.ITIMER_PROF, SECONDS_EACH)  # of work; ends the process
        outcome = _outcome(content, folder / "fuzzed.yaml")
        signal.setitimer(signal.ITIMER_PROF, 0)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        sys.stdout.write(json.dumps({"input": index, "peak": peak, **outcome}) + "\n")
        sys.stdout.flush()
    return 0


def _outcome(content: bytes, path: Path) -> dict[str, object]:
    path.write_bytes(content)
    began = time.monotonic()
    what, why = _load(path)
    return {"what": what, "why": why, "seconds": time.monotonic() - began}


def _load(path: Path) -> tuple[str, str]:
    try:
        load_scene(path)
    except (SceneError, MeshError) as error:
        placed = all(fault.what and (fault.mark or fault is error.faults[-1]) for fault in error.faults)
        return ("refused", "") if error.faults and placed else ("failed", "a fault without place or text")
    except BaseException:  # whatever else comes out is what the fuzzer looks for
        return "failed", traceback.format_exc(limit=-4)
    return "accepted", ""


if __name__ == "__main__":
    sys.exit(main())
