"""What two params allow each other, drawn as plain SVG: each bar a value that was found, nothing in between."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

from packcheck.findings import Table
from packcheck.report.text.figures import plain
from packcheck.report.text.printable import printable

__all__ = ["frontier_svg"]

WIDTH, HEIGHT = 640, 400
LEFT, RIGHT, TOP, BOTTOM = 80, 20, 40, 60  # margins round the plot
BAR = 0.6  # of the room each value has


def frontier_svg(table: Table) -> str:
    """The frontier of a table of rows (value, limit or None, stopped by, ...) as SVG. Same table, same bytes."""
    body = "\n".join(_marks(table))
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif">'
    ground = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>'
    return f"{head}\n<title>{_text(table.title)}</title>\n{ground}\n{body}\n</svg>\n"


def _marks(table: Table) -> Iterator[str]:
    limits = [row[1] for row in table.rows]
    most = max((float(limit) for limit in limits if isinstance(limit, int | float)), default=0.0) or 1.0
    room = (WIDTH - LEFT - RIGHT) / max(len(table.rows), 1)
    floor = HEIGHT - BOTTOM
    yield _said(WIDTH / 2, 24, table.title, 15)
    yield f'<line x1="{LEFT}" y1="{floor}" x2="{WIDTH - RIGHT}" y2="{floor}" stroke="#333333"/>'
    for k, row in enumerate(table.rows):
        middle = LEFT + room * (k + 0.5)
        yield _said(middle, floor + 18, plain(float(row[0] or 0)), 12)
        if not isinstance(row[1], int | float):
            yield _said(middle, floor - 6, "none", 12)
            continue
        height = max(0.0, float(row[1])) / most * (floor - TOP - 20)
        left, top = middle - room * BAR / 2, floor - height
        box = f'x="{left:.1f}" y="{top:.1f}" width="{room * BAR:.1f}" height="{height:.1f}"'
        yield f'<rect {box} fill="#2f6db3"><title>{_text(str(row[2]))}</title></rect>'
        yield _said(middle, floor - height - 5, f"{float(row[1]):.1f}", 12)
    yield _said(WIDTH / 2, HEIGHT - 18, table.columns[0], 13)
    place = f'x="22" y="{HEIGHT / 2:.0f}" transform="rotate(-90 22 {HEIGHT / 2:.0f})"'
    yield f'<text {place} font-size="13" text-anchor="middle">{_text(table.columns[1])}</text>'


def _said(x: float, y: float, text: str, size: int) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="middle">{_text(text)}</text>'


def _text(text: str) -> str:
    return escape(printable(text))
