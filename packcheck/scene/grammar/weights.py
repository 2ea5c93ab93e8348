"""What may be written of weights: masses, materials, walls, and where the wheels stand."""

from __future__ import annotations

import re
from typing import Annotated, Final, TypeAlias, cast

from pydantic import Field, PlainValidator, ValidationInfo, WithJsonSchema, model_validator

from packcheck.data import materials
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.slots import Context, Wrong, written
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import Number, Text

__all__ = ["Mass", "Material", "Wheels"]

KILOGRAMS: Final = {"kg": 1.0, "g": 0.001, "lb": 0.45359237, "oz": 0.45359237 / 16}
"""kg per unit of mass. The pound is exactly 0.45359237 kg (international agreement of 1959)."""

HEAVIEST: Final = 20_000.0
"""kg. Nothing in a car weighs more: a slip of the unit or of a power of ten."""

_MASS = re.compile(r"\s*(?P<number>\d+\.?\d*|\.\d+)\s*(?P<unit>[a-zA-Z]*)\s*")


def _mass(value: object) -> float:
    """A mass, kg; a bare number is kg."""
    if isinstance(value, Number):
        kilograms = float(value)
    elif isinstance(value, Text) and (read := _MASS.fullmatch(value)):
        unit = read["unit"] or "kg"
        if unit not in KILOGRAMS:
            mend = nearest(unit, KILOGRAMS) or f"masses are in {joined(list(KILOGRAMS))}"
            raise Wrong(f"{written(value)} has the unknown unit {unit!r}", mend=mend)
        kilograms = float(read["number"]) * KILOGRAMS[unit]
    else:
        raise Wrong(f"is {written(value)}, needs a mass", mend="write 2.4 kg, 850 g, 5 lb or 12 oz")
    if not 0 < kilograms <= HEAVIEST:
        why = "a part whose mass is not known has none: leave it out" if kilograms == 0 else ""
        raise Wrong(f"is {kilograms:g} kg, needs more than 0 and at most {HEAVIEST:g} kg", why=why)
    return kilograms


def _material(value: object) -> str:
    known = materials()
    if isinstance(value, Text) and value.strip() in known:
        return str(value).strip()
    named = str(value) if isinstance(value, str) else ""
    mend = nearest(named, known) or f"known are {', '.join(known)}; or give its mass"
    raise Wrong(f"is {written(value)}, needs a material of the table", mend=mend)


_MASS_SCHEMA: Final = WithJsonSchema({"type": ["number", "string"]})
Mass: TypeAlias = Annotated[float, PlainValidator(_mass), _MASS_SCHEMA]
Material: TypeAlias = Annotated[str, PlainValidator(_material), WithJsonSchema({"enum": list(materials())})]


class Wheels(Strict):
    """Where the wheels touch the ground, in the car's own frame; loads on them follow from the lever rule."""

    front_left: Point = Field(description="Middle of the tyre's contact with the ground.")
    front_right: Point
    rear_left: Point
    rear_right: Point

    @model_validator(mode="after")
    def _apart(self, info: ValidationInfo) -> Wheels:
        """Front before rear, left beside right: loads are levers between them."""
        for axis, way in enumerate(cast(Context, info.context).axes.values()):
            lengthwise = way in ("fore", "aft")
            sign = 1 if way in ("aft", "right") else -1
            pairs = [("front_left", "rear_left"), ("front_right", "rear_right")]
            pairs = pairs if lengthwise else [("front_left", "front_right"), ("rear_left", "rear_right")]
            for first, second in () if way in ("up", "down") else pairs:
                if sign * (getattr(self, second)[axis] - getattr(self, first)[axis]) <= 0:
                    where = "ahead of" if lengthwise else "left of"
                    raise Wrong(f"has {first} not {where} {second}", mend="check signs, or write direction words")
        return self
