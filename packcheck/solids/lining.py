"""A layer on one flat face: the same shape, longer to that side."""

from __future__ import annotations

from dataclasses import replace

from packcheck.scene.model.scene import Box, Cylinder, Extrude, Lining, Shape, Triple, Tube

__all__ = ["lined"]


def lined(shape: Shape, lining: Lining | None) -> tuple[Shape, Triple]:
    """The shape with its lining, and how far its own zero then lies from the zero of the bare shape, (3,) mm.

    Examples
    --------
    >>> lined(Box((10.0, 20.0, 30.0)), Lining(1, -1, 4.0))
    (Box(size=(10.0, 24.0, 30.0)), (0.0, -2.0, 0.0))
    """
    if lining is None:
        return shape, (0.0, 0.0, 0.0)
    step = lining.sign * lining.thickness / 2
    match shape:
        case Box():
            x, y, z = (size + lining.thickness * (k == lining.axis) for k, size in enumerate(shape.size))
            return Box((x, y, z)), _along(lining.axis, step)
        case Cylinder() | Tube():
            return replace(shape, length=shape.length + lining.thickness), _along(lining.axis, step)
        case Extrude():
            grown = replace(shape, thickness=shape.thickness + lining.thickness)
            return grown, _along(lining.axis, min(lining.sign * lining.thickness, 0.0))
        case _:
            return shape, (0.0, 0.0, 0.0)


def _along(axis: int, step: float) -> Triple:
    x, y, z = (step * (k == axis) for k in range(3))
    return x, y, z
