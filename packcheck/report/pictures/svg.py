"""Pieces of SVG text. Every word is escaped and made printable; every figure is short."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from html import escape

from packcheck.arrays import Floats, Points
from packcheck.report.text.printable import printable
from packcheck.surfaces import Colour

__all__ = ["circle", "embedded", "hexed", "line", "outline", "picture", "words"]


def picture(width: int, height: int, title: str, *pieces: str) -> str:
    """A whole picture, `title` for those who cannot see it."""
    said = escape(printable(title))
    inside = "".join(pieces)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" aria-label="{said}">'
        f"{inside}</svg>"
    )


def embedded(png: bytes, width: int, height: int) -> str:
    data = b64encode(png).decode("ascii")
    return f'<image width="{width}" height="{height}" href="data:image/png;base64,{data}"/>'


def line(points: Points | Sequence[Floats | Sequence[float]], looks: str) -> str:
    """A line through points (n, 2) px."""
    return f'<polyline points="{_listed(points)}" fill="none" {looks}/>'


def outline(loops: Sequence[Points], looks: str) -> str:
    """Closed loops (n, 2) px as one area; a loop wound the other way is a hole."""
    paths = "".join(f"M{_listed(loop)}Z" for loop in loops)
    return f'<path d="{paths}" {looks}/>'


def circle(centre: Floats, radius: float, looks: str) -> str:
    return f'<circle cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{radius:g}" {looks}/>'


def words(x: float, y: float, said: str, looks: str = "") -> str:
    """Text with a white rim, so that it can be read on anything."""
    return f'<text x="{x:.1f}" y="{y:.1f}" {looks}>{escape(printable(said))}</text>'


def hexed(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _listed(points: Points | Sequence[Floats | Sequence[float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
