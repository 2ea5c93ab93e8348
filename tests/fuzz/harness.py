"""What fuzzers share: inputs in numbered batches, each batch in a process under hard limits, and a tally.

A hang or a crash costs one process; the input that brought it about is kept and named, and the next batch begins
behind it.
"""

from __future__ import annotations

import argparse
import json
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

__all__ = ["Fuzzer", "Outcome", "caught", "main"]

SECONDS_EACH = 10
"""Of work, for one input."""

MEMORY = 1 << 30
"""Bytes over what an idle process takes."""

Outcome = tuple[str, str]
"""What came of an input ("accepted", "refused", "ended" its reader, "failed"), and why it failed."""


@dataclass(frozen=True)
class Fuzzer:
    """What is fed, to what, and how many to a process.

    `made` gives the name of a file and its content, from a random source and a folder that `prepare` has filled;
    `tried` feeds it.
    """

    module: str
    batch: int
    made: Callable[[Random, Path], tuple[str, bytes]]
    tried: Callable[[Path, Random], Outcome]
    prepare: Callable[[Path], None]


@dataclass
class Tally:
    """What came of the inputs so far."""

    accepted: int = 0
    refused: int = 0
    ended: int = 0
    longest: float = 0.0
    peak: float = 0.0  # MiB
    failures: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        inputs = self.accepted + self.refused + self.ended + len(self.failures)
        return (
            f"{inputs} inputs, {self.accepted} accepted, {self.refused} refused, {self.ended} told to have ended "
            f"their reader, longest {self.longest:.2f} s, peak {self.peak:.0f} MiB, {len(self.failures)} failures"
        )


def main(fuzzer: Fuzzer, description: str | None) -> int:
    """The command: for so many seconds, from this seed. Exit code 1 when anything failed."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--child", type=int, metavar="FIRST", help=argparse.SUPPRESS)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fuzzer.prepare(folder)
        if options.child is not None:
            return _child(fuzzer, options.seed, options.child, folder)
        tally, first, deadline = Tally(), 0, time.monotonic() + options.seconds
        while time.monotonic() < deadline:
            first = _batch(fuzzer, options.seed, first, tally, folder)
    sys.stdout.write("".join(f"{failure}\n" for failure in tally.failures) + f"{tally}\n")
    return 1 if tally.failures else 0


def _batch(fuzzer: Fuzzer, seed: int, first: int, tally: Tally, folder: Path) -> int:
    """Run one process from input `first`; returns the first input of the next batch."""
    command = [sys.executable, "-m", fuzzer.module, "--seed", str(seed), "--child", str(first)]
    child = subprocess.run(command, capture_output=True, text=True, check=False)
    done = [json.loads(line) for line in child.stdout.splitlines()]
    for outcome in done:
        tally.accepted += outcome["what"] == "accepted"
        tally.refused += outcome["what"] == "refused"
        tally.ended += outcome["what"] == "ended"
        tally.longest = max(tally.longest, outcome["seconds"])
        tally.peak = max(tally.peak, outcome["peak"])
        if outcome["what"] == "failed":
            tally.failures.append(_kept(fuzzer, seed, outcome["input"], folder, outcome["why"]))
    if child.returncode == 0:
        return first + fuzzer.batch
    culprit = first + len(done)
    why = f"child ended with {child.returncode}: {child.stderr[-300:]}"
    tally.failures.append(_kept(fuzzer, seed, culprit, folder, why))
    return culprit + 1


def _kept(fuzzer: Fuzzer, seed: int, index: int, folder: Path, why: str) -> str:
    name, data = fuzzer.made(_random(seed, index), folder)
    place = Path(tempfile.gettempdir()) / f"fuzz_{seed}_{index}_{name}"
    place.write_bytes(data)
    return f"{place}: {why}"


def _random(seed: int, index: int) -> Random:
    return Random(f"{seed}/{index}")


def _child(fuzzer: Fuzzer, seed: int, first: int, folder: Path) -> int:
    idle = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (idle + MEMORY, resource.getrlimit(resource.RLIMIT_AS)[1]))
    for index in range(first, first + fuzzer.batch):
        random = _random(seed, index)
        name, data = fuzzer.made(random, folder)
        (folder / name).write_bytes(data)
        signal.setitimer(signal.ITIMER_PROF, SECONDS_EACH)  # of work; ends the process
        began = time.monotonic()
        what, why = fuzzer.tried(folder / name, random)
        seconds = time.monotonic() - began
        signal.setitimer(signal.ITIMER_PROF, 0)
        who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        peak = max(resource.getrusage(one).ru_maxrss for one in who) / 1024
        outcome = {"input": index, "what": what, "why": why, "seconds": seconds, "peak": peak}
        sys.stdout.write(json.dumps(outcome) + "\n")
        sys.stdout.flush()
    return 0


def caught(run: Callable[[], Outcome]) -> Outcome:
    """What `run` comes to; whatever it lets out is what a fuzzer looks for."""
    try:
        return run()
    except BaseException:
        return "failed", traceback.format_exc(limit=-4)
