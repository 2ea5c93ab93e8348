"""The grammar of geometry files: which file, what its numbers mean, and what of it is taken."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from typing import Annotated, Final, TypeAlias, cast, get_args

import numpy as np
from pydantic import (
    BeforeValidator,
    Field,
    PlainValidator,
    PrivateAttr,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import AXIS_NAMES, Ways, axis_of
from packcheck.scene.model.scene import Direction, Shape, Side, SignedAxis
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.sizes import Size
from packcheck.scene.quantities.slots import (
    AnyLength,
    AnyNumber,
    AxisSlot,
    Context,
    Factor,
    Length,
    Maybe,
    Name,
    UnitSlot,
    Wrong,
    choice,
    row,
    words,
    written,
)
from packcheck.scene.text.hints import nearest
from packcheck.scene.text.nodes import Text
from packcheck.units import UNITS

__all__ = ["STEP_ENDINGS", "Mesh"]

STEP_ENDINGS: Final = (".step", ".stp")
"""Files that say themselves what their numbers mean."""

_TAPE_TOLERANCE: Final = 2.0
"""mm. How far off a tape reading between two marks of a scan is taken to be. Common practice."""


def _mesh_file(value: object, info: ValidationInfo) -> Path:
    """The path as seen from here; relative paths start at the folder of the file that names them."""
    if not isinstance(value, Text) or not value.strip():
        raise Wrong(f"is {written(value)}, needs the path of a file")
    context = cast(Context, info.context)
    path = context.folders[value.mark.file] / value.strip()
    try:
        is_file, is_folder = path.is_file(), path.is_dir()
    except (OSError, ValueError):
        raise Wrong(f"{written(value)} cannot be the name of a file") from None
    if is_file:
        return path
    if is_folder:
        raise Wrong(f"{written(value)} is a folder, needs a file")
    raise Wrong(f"{written(value)} does not exist", mend=lambda: _path_mend(value, path))


def _path_mend(text: str, path: Path) -> str:
    if "\\" in repr(text):  # also where quotes made a control character of it
        return "write folders with /"
    try:
        neighbours = [other.name for other, _ in zip(path.parent.iterdir(), range(1000), strict=False)]
    except (OSError, ValueError):
        return "the path starts at the folder of this scene file"
    return nearest(path.name, neighbours, alikeness=0.75) or "the path starts at the folder of this scene file"


MeshFile: TypeAlias = Annotated[Path, PlainValidator(_mesh_file), WithJsonSchema({"type": "string"})]
_SIDES = get_args(Side)


class ScaleFrom(Strict):
    """The true size of a scan, from one length that was measured by hand."""

    points: Annotated[
        tuple[
            Annotated[tuple[AnyNumber, AnyNumber, AnyNumber], row("x, y, z")],
            Annotated[tuple[AnyNumber, AnyNumber, AnyNumber], row("x, y, z")],
        ],
        row("first point, second point"),
    ] = Field(description="Two points of the scan, in the file's own numbers.")
    tape: Size = Field(description="Their true distance.")
    tolerance: Length = Field(default=_TAPE_TOLERANCE, description="How far off the tape reading may be.")

    @model_validator(mode="after")
    def _measurable(self) -> ScaleFrom:
        if not self.distance:
            raise Wrong("are one and the same point, need two", key=("points",))
        if not 0 < self.tolerance < self.tape / 2:
            why = "no tape reads exactly, and one that is off by half tells nothing"
            raise Wrong(
                f"is {self.tolerance:g} mm, needs over 0 and under half of tape", why=why, key=("tolerance",)
            )
        return self

    @property
    def distance(self) -> float:
        """Of the two points, file units."""
        return float(np.linalg.norm(np.subtract(*self.points)))


class Crop(Strict):
    """A box, in the part's own frame, from corner to corner."""

    from_: Annotated[tuple[AnyLength, AnyLength, AnyLength], row("x, y, z")] = Field(alias="from")
    to: Annotated[tuple[AnyLength, AnyLength, AnyLength], row("x, y, z")]

    @model_validator(mode="after")
    def _a_box(self) -> Crop:
        if any(a == b for a, b in zip(self.from_, self.to, strict=True)):
            raise Wrong("shares a coordinate with from, so the box has no volume", key=("to",))
        return self


_SIGNED: Final[tuple[SignedAxis, ...]] = get_args(SignedAxis)
SignedAxisSlot: TypeAlias = Annotated[SignedAxis, choice(*_SIGNED), words(*_SIGNED)]


def _listed(value: object) -> object:
    return value if isinstance(value, list) else [value]


Bodies: TypeAlias = Annotated[
    list[Name],
    BeforeValidator(_listed),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": ["string", "number"]},
                {"type": "array", "items": {"type": ["string", "number"]}},
            ]
        }
    ),
]


class Mesh(Strict):
    """A geometry file."""

    file: MeshFile = Field(description="Path, from the folder of this scene file.")
    units: UnitSlot = Field(description="Unit of the numbers in the file.")
    thickness: Maybe[Size] = Field(default=None, description="Thickness of an open skin, such as a body panel.")
    side: Maybe[Annotated[Side, choice(*_SIDES), words(*_SIDES)]] = Field(
        default=None, description="Which face of the skin it is."
    )
    scale: Factor = 1.0
    mirror: Maybe[AxisSlot] = Field(default=None, description="Mirror across the plane square to this axis.")
    up: Maybe[SignedAxisSlot] = Field(default=None, description="Axis of the file that points up.")
    forward: Maybe[SignedAxisSlot] = Field(default=None, description="Axis of the file that points forward.")
    body: Bodies = Field(default=[], description="Names or numbers of the bodies to take; all when left out.")
    crop: Maybe[Crop] = Field(default=None, description="Keep only what reaches into this box.")
    pieces: Maybe[Size] = Field(default=None, description="Drop loose pieces smaller than this.")
    scale_from: Maybe[ScaleFrom] = Field(default=None, description="True size of a scan, by tape.")
    simplify: Maybe[Size] = Field(
        default=None,
        description="Take fewer triangles, none of them farther off than this; what it costs is carried.",
    )
    _axes: tuple[SignedAxis, SignedAxis, SignedAxis] = PrivateAttr(default=("x", "y", "z"))

    @model_validator(mode="before")
    @classmethod
    def _sure_of_its_unit(cls, value: object) -> object:
        if (
            isinstance(value, dict)
            and "units" not in value
            and str(value.get("file")).lower().endswith(STEP_ENDINGS)
        ):
            return {**value, "units": "mm"}
        return value

    @model_validator(mode="after")
    def _whole_skin(self) -> Mesh:
        given = {"thickness": self.thickness, "side": self.side}
        missing = [key for key, value in given.items() if value is None]
        if len(missing) == 1:
            (there,) = given.keys() - missing
            why = "an open skin is a sheet only when its thickness and the side that was modelled are both known"
            raise Wrong(f"stands without {missing[0]}, needs both or neither", why=why, key=(there,))
        return self

    @model_validator(mode="after")
    def _one_scale(self) -> Mesh:
        if self.scale_from and "scale" in self.model_fields_set:
            raise Wrong(
                "stands beside scale_from", why="both say how large it is", mend="leave out scale", key=("scale",)
            )
        return self

    @model_validator(mode="after")
    def _turned(self, info: ValidationInfo) -> Mesh:
        ways = cast(Context, info.context).axes
        if ways and (self.up or self.forward):
            self._axes = _file_axes(ways, self.up, self.forward)
        return self

    def shape(self) -> Shape:
        unit = float(UNITS[self.units])
        tape = self.scale_from and model.Tape(
            self.scale_from.distance * unit, self.scale_from.tape, self.scale_from.tolerance
        )
        return model.Mesh(
            file=self.file,
            unit=unit,
            unit_name=self.units,
            thickness=self.thickness,
            side=self.side,
            scale=tape.by_tape / tape.in_file if tape else self.scale,
            mirror=self.mirror,
            axes=self._axes,
            bodies=tuple(self.body),
            crop=_box(self.crop) if self.crop else None,
            least_piece=self.pieces or 0.0,
            tape=tape or None,
            simplify=self.simplify or 0.0,
        )


def _vector(axis: SignedAxis) -> tuple[int, ...]:
    sign = -1 if axis[0] == "-" else 1
    return tuple(sign * (axis[-1] == name) for name in AXIS_NAMES)


_BY_VECTOR: Final = {_vector(axis): axis for axis in _SIGNED}
_TURNS: Final = [rows for rows in permutations(_BY_VECTOR, 3) if np.linalg.det(rows) > 0.5]
"""All 24 ways to turn a cube: each row is an own axis, in those of the file."""


def _box(crop: Crop) -> tuple[model.Triple, model.Triple]:
    """Least and greatest corner."""
    (a, b, c), (x, y, z) = np.sort([crop.from_, crop.to], axis=0).tolist()
    return (a, b, c), (x, y, z)


def _file_axes(
    ways: Ways, up: SignedAxis | None, forward: SignedAxis | None
) -> tuple[SignedAxis, SignedAxis, SignedAxis]:
    """The axes of the file that become the part's own x, y and z: of all turns that fit, the least."""
    if up and forward and up[-1] == forward[-1]:
        raise Wrong(f"is {forward}, along the same axis as up", key=("forward",))
    asked: tuple[tuple[SignedAxis | None, Direction], ...] = ((up, "up"), (forward, "fore"))
    said = [(axis, axis_of(ways, way)) for axis, way in asked if axis]
    fitting = [
        turn
        for turn in _TURNS
        if all(turn[along.axis] == tuple(along.sign * x for x in _vector(axis)) for axis, along in said)
    ]
    order = [axis_of(ways, way).axis for _, way in asked]  # kept first where several turns are least
    least = max(fitting, key=lambda turn: (sum(turn[k][k] for k in range(3)), *(turn[k][k] for k in order)))
    return cast(tuple[SignedAxis, SignedAxis, SignedAxis], tuple(_BY_VECTOR[row] for row in least))
