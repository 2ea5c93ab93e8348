"""`with`: settings of motions at which a room is used, or a part taken out, such as `{lid_opens: 65}`: the slot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from packcheck.scene.model.motion import Range
from packcheck.scene.quantities.slots import Wrong, read_degrees, read_length, written

__all__ = ["Either", "Settings"]


@dataclass(frozen=True, slots=True)
class Either:
    """A setting or a range, least first, read as degrees and as mm; None where it cannot be read so."""

    degrees: Range | None
    length: Range | None


def _settings(value: object, info: ValidationInfo) -> dict[str, Either]:
    if not isinstance(value, dict) or not value:
        what = f"is {written(value) if value else 'empty'}, needs motions, each with a setting"
        raise Wrong(what, mend="write {lid_opens: 65}, or {lid_opens: [50, 65]} for all between")
    return {str(name): _either(str(name), entry, info) for name, entry in value.items()}


def _either(name: str, value: object, info: ValidationInfo) -> Either:
    ends = value if isinstance(value, list) else [value, value]
    if len(ends) != 2:
        raise Wrong(f"has {len(ends)} values, needs one setting, or two: [from, to]", key=(name,))
    degrees, wrong = _range(ends, info, read_degrees)
    length, _ = _range(ends, info, read_length)
    if degrees is None and length is None and wrong is not None:
        slip = wrong.slip
        raise Wrong(slip.phrase, why=slip.why, mend=slip.mend, key=(name,), offset=slip.offset)
    return Either(degrees, length)


def _range(
    ends: list[object], info: ValidationInfo, read: Callable[[object, ValidationInfo], float]
) -> tuple[Range | None, Wrong | None]:
    try:
        first, last = (read(end, info) for end in ends)
    except Wrong as wrong:
        return None, wrong
    return (min(first, last), max(first, last)), None


Settings: TypeAlias = Annotated[
    dict[str, Either],
    PlainValidator(_settings),
    WithJsonSchema(
        {
            "type": "object",
            "minProperties": 1,
            "additionalProperties": {
                "anyOf": [
                    {"type": ["number", "string"]},
                    {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2, "maxItems": 2},
                ]
            },
        }
    ),
]
