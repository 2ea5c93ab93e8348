"""Tables the checks rest on: the kinds of part the default rules know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

__all__ = ["FLEXIBLE", "KINDS", "RESERVED", "Density", "materials"]

KINDS: Final[Mapping[str, str]] = {
    "engine": "block, head, sump, gearbox and what is bolted solidly to them",
    "exhaust": "manifold, downpipe, silencer, turbine housing",
    "hot": "any other surface too hot to touch in service",
    "fuel": "tank, pump, filter, rail and lines that hold liquid fuel",
    "gas": "tank, valves and lines that hold fuel gas under pressure",
    "brake": "cylinders, reservoirs, pipes and hoses of the brakes",
    "clutch": "cylinders, reservoirs, pipes and hoses of the clutch",
    "coolant": "radiator, pump, header tank, pipes that hold coolant",
    "oil": "tank, cooler, filter, pipes that hold oil",
    "air": "intake, filter, plenum, charge pipes, intercooler",
    "electrical": "control units, relays, coils, alternator, starter",
    "battery": "the battery and its bare terminals",
    "loom": "bundles of wires",
    "hose": "flexible hoses of any content",
    "rotating": "belts, pulleys, fans, shafts",
    "steering": "rack, column, joints and track rods",
    "suspension": "arms, uprights, springs, dampers, anti-roll bars",
    "wheel": "wheels and tyres",
    "shield": "heat shields: plate or foil between what is hot and what it must not warm",
    "restraint": "belts, seats, cages, their mounts and the structure these are fixed to",
    "body": "panels, bulkheads, covers, lids",
    "structure": "frame tubes, brackets, cross members",
    "hand": "room kept for a hand or a tool",
    "access": "room to reach, plug or draw something out: no part, nothing may stand in it",
    "keep_out": "room that nothing may stand in, for whatever reason",
}
"""Every kind the packaged rules may name, and what belongs to it."""

FLEXIBLE: Final = frozenset({"hose", "loom"})
"""Kinds of what is led anew when what it is joined to moves."""

RESERVED: Final = frozenset({"access", "keep_out"})
"""Kinds of what is no part but room: nothing may stand in it, and that is all that is asked of it."""


_MEMORY: Final = "from memory"


@dataclass(frozen=True, slots=True)
class Density:
    """A row of the table of materials, kg/m3: what is reckoned with, what it varies between, and on whose word."""

    density: float
    low: float
    high: float
    source: str

    @property
    def recalled(self) -> str:
        """ "from memory", or "range from memory", where a figure was not looked up; else empty."""
        if self.source.startswith(_MEMORY) or f"{self.density:g} {_MEMORY}" in self.source:
            return _MEMORY
        return f"range {_MEMORY}" if _MEMORY in self.source else ""


@cache
def materials() -> Mapping[str, Density]:
    """Densities of named materials, each with its source."""
    import yaml

    text = (files("packcheck.data") / "materials.yaml").read_text(encoding="utf-8")
    rows = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return {
        name: Density(row["density"], row["between"][0], row["between"][1], row["source"])
        for name, row in rows.items()
    }
