"""The shape and size of a part in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from packcheck.datums import length_words
from packcheck.scene.model import scene as model

__all__ = ["size_words"]

_Said: TypeAlias = Callable[..., str]


def size_words(part: model.Part, extents: Sequence[float], units: str) -> str:
    """The shapes of a part and what it takes up along the car's axes, `extents` (3,) mm.

    Examples
    --------
    >>> spec = model.SolidSpec(model.Cylinder(52.0, 165.0), ("mid", "mid", "mid"))
    >>> size_words(model.Part("pump", (spec,), wrap=6.0), (64.0, 64.0, 177.0), "mm")
    'cylinder 52 mm across, 165 mm long; wrapped in 6 mm; takes up 64 x 64 x 177 mm'
    """

    def said(*lengths: float) -> str:
        unit = "in" if units == "in" else "mm"
        return f"{' x '.join(_figure(length, units) for length in lengths)} {unit}"

    shapes = " + ".join(dict.fromkeys(_shape(spec.shape, said) for spec in part.solids))
    wrap = f"wrapped in {said(part.wrap)}" if part.wrap else ""
    return "; ".join(filter(None, [shapes, wrap, f"takes up {said(*extents)}"]))


def _shape(shape: model.Shape, said: _Said) -> str:
    match shape:
        case model.Box():
            return f"box {said(*shape.size)}"
        case model.Cylinder() | model.Capsule():
            return f"{_called(shape)} {said(shape.diameter)} across, {said(shape.length)} long"
        case model.Sphere():
            return f"sphere {said(shape.diameter)} across"
        case model.Cone():
            return f"cone {said(shape.bottom)} to {said(shape.top)} across, {said(shape.length)} long"
        case model.Tube():
            return f"tube {said(shape.outer)} across, bore {said(shape.inner)}, {said(shape.length)} long"
        case model.Pipe():
            return f"pipe {said(shape.outside)} across, through {len(shape.through)} points"
        case model.Strip():
            return f"strip {said(shape.width, shape.thickness)}, through {len(shape.through)} points"
        case model.Extrude() | model.Skin():
            return f"{_called(shape)} {said(shape.thickness)} thick"
        case model.Mesh():
            return f"mesh {shape.file.name}"
        case _:
            return _called(shape)


def _called(shape: model.Shape) -> str:
    return type(shape).__name__.lower()


def _figure(length: float, units: str) -> str:
    if units == "in":
        return length_words(length, units).removesuffix(" in")
    return f"{length:.1f}".removesuffix(".0")
