"""The one caution, printed with every report."""

from typing import Final

__all__ = ["CAUTION"]

CAUTION: Final = (
    "This compares the shapes and limits in your file and nothing else. Measure the real parts, follow the codes "
    "where you live, and have fuel, brake, heat, pressure, restraint, lifting, electrical, hydraulic and "
    "drilling work judged by a licensed or qualified person."
)
