"""How much memory the commands take at their peak.

``python -m tests.benchmarks.memory`` prints the table.
"""

from __future__ import annotations

from tests.benchmarks import tables
from tests.benchmarks.commands import commands, cost

__all__ = ["memory"]


def memory(parts: int = 200) -> str:
    """The table."""
    with commands(parts) as listed:
        rows = [(command.title, cost(command, 1).peak) for command in listed]
    return tables.table("Peak memory", ("packcheck ...", "MiB"), rows)


if __name__ == "__main__":
    tables.show(memory())
