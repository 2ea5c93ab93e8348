"""What a command line asks for in the words of the scene file: points, turns, lengths."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, cast

from pydantic import TypeAdapter, ValidationError

from packcheck.errors import Fault, SceneError
from packcheck.scene.model.directions import TURNS, distinct
from packcheck.scene.model.scene import Axes, Scene, Triple
from packcheck.scene.quantities.placement import Point, Turn, TurnWords, turn_of
from packcheck.scene.quantities.slots import Context, Slip
from packcheck.scene.text.expressions import evaluate
from packcheck.scene.text.hints import nearest
from packcheck.scene.text.nodes import MapNode, compose, plain
from packcheck.units import QuantityError, to_mm

__all__ = ["NOW", "asked_box", "asked_heights", "asked_length", "asked_turns", "vertical"]

NOW: Final = "now"
"""Among turns: as the part stands."""

_POINT: Final[TypeAdapter[Triple]] = TypeAdapter(Point)
_TURN: Final[TypeAdapter[Any]] = TypeAdapter(Turn)
_LIKE: Final = "write it as --within '300 aft, 400 left, 0 to 700 aft, 0, 350 up'"
_HEIGHTS_LIKE: Final = "write it as --heights '150 up, 200 up'"
_TURN_LIKE: Final = f"write it as --turns '{NOW}; 0, 0, 90; lean_left 90'"


def asked_box(text: str, scene: Scene) -> tuple[Triple, Triple]:
    """Least and greatest corner, mm, car frame, of a box told by two opposite corners: "x, y, z to x, y, z".

    Raises SceneError when it is malformed, or has no room along an axis.
    """
    ends = re.split(r"\s+to\s+", text.strip())
    if len(ends) != 2:
        raise _refused("--within", text, "needs two opposite corners with 'to' between them", _LIKE)
    first, second = (cast(Triple, _read(_POINT, f"[{end}]", "--within", text, scene, _LIKE)) for end in ends)
    low = tuple(map(min, first, second))
    high = tuple(map(max, first, second))
    flat = [name for name, a, b in zip("xyz", low, high, strict=True) if b - a < 1e-6]
    if flat:
        what = f"has no room along {' and '.join(flat)}"
        raise _refused("--within", text, what, "for one height only, give it a millimetre")
    return cast(tuple[Triple, Triple], (low, high))


def asked_turns(text: str, scene: Scene) -> tuple[tuple[str, Triple | None], ...]:
    """Turns with how they were written; None for "now". Each is a `turn` as in the file, in numbers or in words.

    Raises SceneError when one is malformed.
    """
    found: dict[str, Triple | None] = {}
    for said in filter(None, (part.strip() for part in text.split(";"))):
        found[said] = None if said == NOW else _turn(said, text, scene)
    if not found:
        raise _refused("--turns", text, "names no turn", _TURN_LIKE)
    return tuple(found.items())


def asked_length(text: str, option: str, scene: Scene) -> float:
    """A length above zero, mm. Raises SceneError when it is none."""
    try:
        length = to_mm(evaluate(text, {}), scene.units)
    except QuantityError as error:
        raise SceneError([Fault(None, f"{option} {text!r} {error.what}", mend=str(error.mend))]) from error
    if length <= 0:
        raise _refused(option, text, "needs a length above zero", "")
    return length


def asked_heights(text: str, scene: Scene) -> tuple[float, ...]:
    """Heights, mm along the axis that runs up or down: "150 up, 200 up". Raises SceneError for malformed ones."""
    upright = vertical(scene.axes)
    found = []
    for height in text.split(","):
        ends = ["0", "0", "0"]
        ends[upright] = height
        read = _read(_POINT, f"[{', '.join(ends)}]", "--heights", text, scene, _HEIGHTS_LIKE)
        found.append(cast(Triple, read)[upright])
    return tuple(found)


def vertical(axes: Axes) -> int:
    """Which axis (0, 1, 2) runs up or down."""
    return next(place for place, way in enumerate((axes.x, axes.y, axes.z)) if way in ("up", "down"))


def _turn(said: str, text: str, scene: Scene) -> Triple:
    words = re.findall(r"([a-z_]+)\s*:?\s*(-?[\d.]+)", said)
    as_map = said[:1].isalpha()
    if as_map and not words:
        raise _refused("--turns", text, f"has {said!r}, which is no turn", nearest(said, [NOW]) or _TURN_LIKE)
    yaml = "{" + ", ".join(f"{word}: {degrees}" for word, degrees in words) + "}" if as_map else f"[{said}]"
    read = _read(_TURN, yaml, "--turns", text, scene, _TURN_LIKE)
    return turn_of(cast("Triple | TurnWords", read), _context(scene, "--turns").axes)


def _read(reader: TypeAdapter[Any], yaml: str, option: str, text: str, scene: Scene, like: str) -> object:
    """One value, read by the grammar of the scene file."""
    root, faults = compose(f"asked: {yaml}", option)
    if faults or not isinstance(root, MapNode):
        raise _refused(option, text, "cannot be read", like)
    try:
        read: object = reader.validate_python(
            cast(Mapping[str, object], plain(root))["asked"], context=_context(scene, option)
        )
    except ValidationError as error:
        raise _refused(option, text, *_slipped(error, like)) from None
    return read


def _slipped(error: ValidationError, like: str) -> tuple[str, str]:
    """What is wrong and its mend, from the first of the faults."""
    found = error.errors()[0]
    if found["type"] == "extra_forbidden":
        word = str(found["loc"][-1])
        return f"has the unknown word {word!r}", nearest(word, TURNS) or like
    slip = found.get("ctx", {}).get("slip")
    if not isinstance(slip, Slip):
        return f"{'.'.join(map(str, found['loc']))}: {found['msg']}".strip(": "), like
    place = next((step + 1 for step in found["loc"] if isinstance(step, int)), None)
    return f"at item {place} {slip.phrase}" if place else slip.phrase, slip.mended() or like


def _context(scene: Scene, option: str) -> Context:
    axes: Axes = scene.axes
    ways = distinct({"x": axes.x, "y": axes.y, "z": axes.z})
    return Context({option: scene.units}, {option: Path()}, {}, {}, axes=ways)


def _refused(option: str, text: str, what: str, mend: str) -> SceneError:
    return SceneError([Fault(None, f"{option} {text!r} {what}", mend=mend)])
