"""What a geometry file holds, for people and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any, Final

from packcheck.looked import FileLook, LookedBody
from packcheck.report.text.figures import MM_PER_INCH, Toward, plain, rounded
from packcheck.report.text.headline import counted
from packcheck.report.text.lines import Line, Style, labelled, wrapped
from packcheck.report.text.printable import printable

__all__ = ["look_as_json", "look_lines"]

MOST_BODIES: Final = 20
"""Bodies listed before the rest are counted."""

_UNITS: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH}
_NAMES: Final = {"in": "inches"}
"""What would read oddly after the word "in"."""


def look_lines(look: FileLook, width: int) -> Iterator[Line]:
    """The file in plain words, and a part to paste."""
    bodies = counted(len(look.bodies), "body")
    first = f"{look.file}: {look.format}, {counted(look.triangles, 'triangle')}, {bodies}"
    yield from wrapped(first, width, Style.STRONG)
    yield from labelled("unit", _unit(look), width)
    yield from labelled("size", _size(look), width)
    for other in _others(look):
        yield from labelled("", other, width)
    spans = zip("xyz", look.low, look.high, strict=True)
    yield from labelled("reaches", ", ".join(f"{x} {plain(a)} to {plain(b)}" for x, a, b in spans) + " mm", width)
    yield from labelled("surface", _surface(look), width)
    yield from labelled("mended", "; ".join(look.would) or "nothing to mend", width)
    yield from labelled("remains", "; ".join(look.left), width)
    if len(look.bodies) > 1:
        yield from _bodies(look.bodies, width)
    yield Line("")
    yield Line("To use it, paste this under parts:", Style.QUIET)
    yield from (Line(printable(line)) for line in look.snippet.splitlines())


def _unit(look: FileLook) -> str:
    if look.sure:
        return f"the file says {look.declared or 'mm'}, and this format is sure of it"
    said = f"the file says {look.declared}" if look.declared else "the file does not say"
    if look.declared and look.unit == look.declared and look.unit in look.likely:
        return f"{said}, and the size is usual in that"
    listed = " or ".join(_NAMES.get(unit, unit) for unit in look.likely)
    return f"{said}; " + (f"of a usual size in {listed}" if listed else "of no usual size in any unit")


def _size(look: FileLook) -> str:
    size = [high - low for low, high in zip(look.low, look.high, strict=True)]
    inches = " x ".join(plain(side / MM_PER_INCH) for side in size)
    return f"{' x '.join(map(plain, size))} mm ({inches} in)" + ("" if look.sure else f", read as {look.unit}")


def _others(look: FileLook) -> Iterator[str]:
    """The same numbers in the other likely units."""
    size = [high - low for low, high in zip(look.low, look.high, strict=True)]
    for unit in look.likely if not look.sure else ():
        if unit != look.unit:
            factor = _UNITS[unit] / _UNITS[look.unit]
            yield f"{' x '.join(plain(side * factor) for side in size)} mm, if it is in {_NAMES.get(unit, unit)}"


def _surface(look: FileLook) -> str:
    what = "closed: a solid" if look.closed else "open: it has no inside"
    off = f"; within {rounded(look.error, 4, Toward.UP):g} mm of the true one" if look.error > 0 else ""
    return what + off


def _bodies(bodies: Sequence[LookedBody], width: int) -> Iterator[Line]:
    for place, body in enumerate(bodies[:MOST_BODIES]):
        name = f" {body.name}" if body.name else ""
        size = " x ".join(f"{side:.1f}" for side in body.extents)
        said = f"{body.number}{name}: {size} mm, {counted(body.triangles, 'triangle')}"
        yield from labelled("" if place else "bodies", said + ("" if body.closed else ", open"), width)
    if len(bodies) > MOST_BODIES:
        yield from labelled("", f"and {len(bodies) - MOST_BODIES} more", width)


def look_as_json(look: FileLook, *, version: str) -> str:
    """The same as JSON in ASCII; lengths in mm, to 0.001."""
    known: dict[str, Any] = {"packcheck": version, "format": 1}
    for key, value in asdict(look).items():
        known["file_format" if key == "format" else key] = _rounded(value)
    return json.dumps(known, indent=1, allow_nan=False) + "\n"


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    return rounded(value, 3) if isinstance(value, float) else value
