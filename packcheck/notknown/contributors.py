"""What of the things that are not known takes most off a gap: each source's own term in its low end."""

from __future__ import annotations

from collections.abc import Mapping

from packcheck.arrays import Vector
from packcheck.findings import Contributor
from packcheck.notknown.account import Account
from packcheck.notknown.chains import Setting

__all__ = ["contributors"]

LEAST = 0.005
"""mm. Less than this is not worth a word."""


def contributors(
    account: Account,
    pair: tuple[str, str],
    direction: Vector | None,
    *,
    convex: bool,
    setting: Setting | None = None,
) -> tuple[Contributor, ...]:
    """What each frame and part alone would take off the gap of a pair, mm, the largest first.

    `direction` (3,) from the second to the first, where there is one. Terms of likely errors add up as squares, and
    what follows of two together is in none of them, so that the sum need not be what is taken off in all.
    """
    found: dict[str, float] = {}
    for node in account.sources_between(*pair, tuple(setting or ())):
        alone = account.only(node).at(*pair, setting or {})
        if (most := alone.nearer(direction, convex=convex)) > LEAST:
            found[node] = most
    return _ranked(found)


def _ranked(found: Mapping[str, float]) -> tuple[Contributor, ...]:
    order = sorted(found.items(), key=lambda one: (-round(one[1], 6), one[0]))
    return tuple(Contributor(name, most) for name, most in order)
