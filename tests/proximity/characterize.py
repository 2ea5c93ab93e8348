"""How far the kernel's values lie from the truth, by pair of kinds: the worst of a fixed, seeded sample.

``python -m tests.proximity.characterize`` measures anew, rewrites the stored table and prints it as markdown for
RESULTS.md beside it. Pairs that overlap without both being convex have no value to compare and are left out.
"""

from __future__ import annotations

import json
import sys
from itertools import combinations_with_replacement
from pathlib import Path

from packcheck.proximity import Session
from tests.adapters import to_placed
from tests.crowds import drawn_pair
from tests.oracles.truth import truth
from tests.proximity.judging import distance_to, measurable

__all__ = ["KIND_PAIRS", "TABLE", "measured", "stored"]

KINDS = (
    "box",
    "sphere",
    "capsule",
    "cylinder",
    "cone",
    "tube",
    "pipe",
    "extrude",
    "mesh closed",
    "mesh convex",
)
KIND_PAIRS = tuple(combinations_with_replacement(KINDS, 2))
TABLE = Path(__file__).with_name("characterization.json")
SEED = 55
SAMPLE = 12  # pairs drawn per pair of kinds; six in ten stand square on a grid


def measured(first: str, second: str) -> float:
    """Worst distance of the kernel's value from the true gap over the sample, mm."""
    return max((_error(first, second, index) for index in range(SAMPLE)), default=0.0)


def stored() -> dict[str, float]:
    """The table as it was last measured: "kind - kind" to mm."""
    table: dict[str, float] = json.loads(TABLE.read_text(encoding="utf-8"))
    return table


def _error(first: str, second: str, index: int) -> float:
    pair = drawn_pair(SEED, index, (first, second))
    true = truth(pair)
    if not measurable(pair, true):
        return 0.0
    value = Session().gap(to_placed(pair.a, "a"), to_placed(pair.b, "b")).value
    return distance_to(true, value)


def markdown(table: dict[str, float]) -> str:
    """Kinds down and across, worst error in mm."""
    rows = ["| mm | " + " | ".join(KINDS) + " |", "|---" * (len(KINDS) + 1) + "|"]
    for row, first in enumerate(KINDS):
        cells = [
            "" if column < row else f"{table[f'{first} - {second}']:.0e}" for column, second in enumerate(KINDS)
        ]
        rows.append(f"| {first} | " + " | ".join(cells) + " |")
    return "\n".join(rows)


def main() -> None:
    table = {f"{first} - {second}": float(f"{measured(first, second):.3g}") for first, second in KIND_PAIRS}
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    sys.stdout.write(markdown(table) + "\n")


if __name__ == "__main__":
    main()
