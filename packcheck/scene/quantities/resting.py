"""The grammar of resting: a face that stands so far off another part, or touches it."""

from __future__ import annotations

from typing import Annotated, Final, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from packcheck.scene.model.scene import FaceName
from packcheck.scene.quantities.slots import Length, Maybe, Name, Prose, Wrong

__all__ = ["REST_WORDS", "Names", "Rest"]

REST_WORDS: Final[dict[str, FaceName]] = {
    "above": "bottom",
    "below": "top",
    "left_of": "right",
    "right_of": "left",
    "ahead_of": "rear",
    "behind": "front",
}
"""Where a part may rest, and the face of it that looks at what it rests on."""

_NAME_SCHEMA: Final = {"type": ["string", "number"]}


def _listed(value: object) -> object:
    return value if isinstance(value, list) else [value]


Names: TypeAlias = Annotated[
    list[Name],
    BeforeValidator(_listed),
    WithJsonSchema({"anyOf": [_NAME_SCHEMA, {"type": "array", "items": _NAME_SCHEMA}]}),
]
"""One name, or a list of them."""


class Rest(BaseModel):
    """A face that rests on other parts: it is led up from far away until it touches one, then backed off."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    above: Maybe[Names] = Field(
        default=None, description="Its bottom rests on this part, or the first of these met."
    )
    below: Maybe[Names] = Field(default=None, description="Its top comes up from below against this part.")
    left_of: Maybe[Names] = Field(default=None, description="Its right face comes from the left against this part.")
    right_of: Maybe[Names] = Field(
        default=None, description="Its left face comes from the right against this part."
    )
    ahead_of: Maybe[Names] = Field(default=None, description="Its rear face comes from ahead against this part.")
    behind: Maybe[Names] = Field(default=None, description="Its front face comes from behind against this part.")
    by: Length = Field(default=0.0, description="How far it then backs off: 18 above the rail.")
    note: Prose = Field(default="", description="Free text, printed with the results.")

    @model_validator(mode="after")
    def _one_place(self) -> Rest:
        words = self._words()
        if len(words) != 1:
            got = f"has {' and '.join(words)}" if words else "says of no part where it rests"
            raise Wrong(f"{got}, needs one of {', '.join(REST_WORDS)}")
        if not self.on:
            raise Wrong("lists no part, needs one", key=(self.word,))
        return self

    def _words(self) -> list[str]:
        return [word for word in REST_WORDS if getattr(self, word) is not None]

    @property
    def word(self) -> str:
        """above, below, left_of, right_of, ahead_of or behind."""
        return self._words()[0]

    @property
    def on(self) -> tuple[str, ...]:
        """The parts it may rest on; the one met first counts."""
        return tuple(dict.fromkeys(getattr(self, self.word)))
