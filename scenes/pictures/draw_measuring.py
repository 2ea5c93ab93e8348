"""Draws the pictures of the chapter on measuring.

    python scenes/pictures/draw_measuring.py

Writes measure_faces.svg, measure_turns.svg, measure_tube.svg and how_sure.svg beside this file. Sketches, not to
scale with anything; the figures in them are those of the text around them.
"""

from __future__ import annotations

import math
from html import escape
from pathlib import Path

HERE = Path(__file__).parents[2] / "packcheck" / "manual" / "pictures"

INK, GREY, PALE, BLUE, ORANGE = "#20262b", "#868e95", "#d6d3cd", "#0072b2", "#e58a00"


class Sheet:
    """An SVG drawing that grows line by line; x to the right, y down, in px."""

    def __init__(self, width: int, height: int) -> None:
        self._lines = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="13" fill="{INK}">',
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        ]

    def line(self, *points: tuple[float, float], shade: str = INK, width: float = 1.5, dashes: str = "") -> None:
        path = "M" + "L".join(f"{x:g} {y:g}" for x, y in points)
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self._lines.append(f'<path d="{path}" fill="none" stroke="{shade}" stroke-width="{width:g}"{dashed}/>')

    def shape(self, *points: tuple[float, float], fill: str = PALE, opacity: float = 1.0) -> None:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self._lines.append(f'<polygon points="{path}" fill="{fill}" stroke="{INK}" fill-opacity="{opacity:g}"/>')

    def circle(self, x: float, y: float, radius: float, fill: str = "none") -> None:
        self._lines.append(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}" stroke="{INK}"/>')

    def text(self, x: float, y: float, said: str, anchor: str = "start", shade: str = INK, size: int = 13) -> None:
        place = f'x="{x:g}" y="{y:g}" text-anchor="{anchor}" fill="{shade}" font-size="{size}"'
        self._lines.append(f"<text {place}>{escape(said)}</text>")

    def tape(self, start: tuple[float, float], end: tuple[float, float], said: str, aside: float = -7) -> None:
        """A reading: a line with an arrow head at its far end, and what is written down for it."""
        (x1, y1), (x2, y2) = start, end
        length = math.hypot(x2 - x1, y2 - y1)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        self.line(start, end, shade=BLUE, width=2)
        self.line((x1 - 5 * uy, y1 + 5 * ux), (x1 + 5 * uy, y1 - 5 * ux), shade=BLUE, width=2)
        wings = [(x2 - 9 * ux + side * 4 * uy, y2 - 9 * uy - side * 4 * ux) for side in (1, -1)]
        self.line(wings[0], end, wings[1], shade=BLUE, width=2)
        if abs(ux) > abs(uy):
            self.text((x1 + x2) / 2, y1 + aside, said, "middle", BLUE)
        else:
            self.text(x1 + aside, (y1 + y2) / 2 + 4, said, "end" if aside < 0 else "start", BLUE)

    def arc(self, x: float, y: float, radius: float, start: float, end: float) -> None:
        """An arrow along a circle, degrees clockwise from the right."""
        angles = [math.radians(start + (end - start) * k / 16) for k in range(17)]
        points = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]
        self.line(*points, shade=ORANGE, width=2)
        (x1, y1), (x2, y2) = points[-3], points[-1]
        length = math.hypot(x2 - x1, y2 - y1)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        wings = [(x2 - 8 * ux + side * 5 * uy, y2 - 8 * uy - side * 5 * ux) for side in (1, -1)]
        self.line(wings[0], (x2, y2), wings[1], shade=ORANGE, width=2)

    def done(self) -> str:
        return "\n".join([*self._lines, "</svg>", ""])


def box(x: float, y: float, width: float, height: float, turn: float = 0.0) -> list[tuple[float, float]]:
    """Corners of a rectangle round a middle, turned by degrees clockwise."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corners = [
        (-width / 2, -height / 2),
        (width / 2, -height / 2),
        (width / 2, height / 2),
        (-width / 2, height / 2),
    ]
    return [(x + cos * a - sin * b, y + sin * a + cos * b) for a, b in corners]


def measure_faces() -> str:
    sheet = Sheet(760, 290)
    sheet.text(20, 24, "from above, front to the left", size=14)
    sheet.line((70, 50), (70, 265), width=5)
    sheet.text(64, 44, "bulkhead", "middle", GREY)
    sheet.line((30, 75), (390, 75), shade=GREY, dashes="10 4 2 4")
    sheet.text(390, 68, "centreline", "end", GREY)
    sheet.shape(*box(225, 215, 150, 60))
    sheet.text(210, 220, "oil_cooler", "middle")
    sheet.tape((73, 215), (150, 215), "70 aft", -9)
    sheet.tape((270, 75), (270, 245), "260 left", 8)
    sheet.line((262, 245), (300, 245), shade=BLUE, width=1)
    sheet.text(150, 180, "front", "end", GREY)
    sheet.text(225, 262, "left", "middle", GREY)
    sheet.text(440, 24, "from the left", size=14)
    sheet.line((470, 50), (470, 265), width=5)
    sheet.line((440, 262), (730, 262), width=3)
    sheet.text(730, 280, "floor", "end", GREY)
    sheet.shape(*box(625, 130, 150, 90))
    sheet.text(625, 134, "oil_cooler", "middle")
    sheet.tape((473, 130), (550, 130), "70 aft", -9)
    sheet.tape((660, 262), (660, 175), "110 up", 8)
    sheet.text(600, 190, "bottom", "middle", GREY)
    return sheet.done()


def measure_turns() -> str:
    sheet = Sheet(760, 220)
    views = (
        (135, "nose_up: 12", "from the left", "front", "rear", 12, (180, 206)),
        (380, "lean_left: 12", "from behind", "left", "right", -12, (-62, -104)),
        (625, "swing_right: 12", "from above", "front", "rear", 12, (180, 206)),
    )
    for x, words, view, left, right, turn, (start, end) in views:
        wide, high = (70, 110) if view == "from behind" else (150, 60)
        sheet.text(x, 24, view, "middle", size=14)
        sheet.line(*box(x, 115, wide, high), box(x, 115, wide, high)[0], shade=GREY, dashes="4 4")
        sheet.shape(*box(x, 115, wide, high, turn), opacity=0.8)
        sheet.arc(x, 115, 92 if view != "from behind" else 78, start, end)
        sheet.text(x - 112, 180, left, "start", GREY)
        sheet.text(x + 112, 180, right, "end", GREY)
        sheet.text(x, 208, words, "middle", ORANGE)
    return sheet.done()


def measure_tube() -> str:
    sheet = Sheet(760, 230)
    for x, title in ((60, "to the near side, and half the diameter"), (430, "to both sides, and take the middle")):
        sheet.text(x - 30, 24, title, size=14)
        sheet.line((x, 45), (x, 205), width=5)
        sheet.circle(x + 210, 125, 38, PALE)
        sheet.line((x + 198, 125), (x + 222, 125), shade=GREY)
        sheet.line((x + 210, 113), (x + 210, 137), shade=GREY)
    sheet.tape((63, 125), (232, 125), "214")
    sheet.line((270, 125), (308, 125), shade=ORANGE, width=2)
    sheet.text(312, 118, "38 / 2", "start", ORANGE)
    sheet.text(60, 224, "214 + 19 = 233 aft", shade=INK)
    sheet.tape((433, 75), (602, 75), "214")
    sheet.tape((433, 185), (678, 185), "252", 16)
    sheet.line((602, 75), (602, 125), shade=BLUE, width=1, dashes="3 3")
    sheet.line((678, 185), (678, 125), shade=BLUE, width=1, dashes="3 3")
    sheet.text(430, 224, "(214 + 252) / 2 = 233 aft", shade=INK)
    return sheet.done()


def how_sure() -> str:
    sheet = Sheet(760, 220)
    scale, left = 18.0, 150.0

    def at(gap: float) -> float:
        return left + scale * gap

    sheet.text(20, 24, "needs 10 mm; each of the two parts is good to 2 mm", size=14)
    sheet.line((at(10), 40), (at(10), 180), shade=INK, width=2, dashes="6 4")
    sheet.text(at(10), 196, "10 mm", "middle")
    for row, (gap, word) in enumerate(((16, "pass"), (11, "unsure"), (4, "fail"))):
        y = 65.0 + 42 * row
        sheet.text(20, y + 4, f"{gap} mm as drawn")
        sheet.line((at(gap - 4), y), (at(gap + 4), y), shade=BLUE, width=5)
        sheet.circle(at(gap), y, 5, "#ffffff")
        sheet.text(at(gap - 4), y - 9, f"{gap - 4}", "middle", BLUE)
        sheet.text(at(gap + 4), y - 9, f"{gap + 4}", "middle", BLUE)
        sheet.text(at(22), y + 4, word)
    for gap in range(0, 25, 5):
        sheet.line((at(gap), 180), (at(gap), 186), shade=GREY)
    sheet.line((at(0), 180), (at(24), 180), shade=GREY)
    sheet.text(at(0), 200, "touching", "middle", GREY)
    return sheet.done()


PICTURES = {
    "measure_faces.svg": measure_faces,
    "measure_turns.svg": measure_turns,
    "measure_tube.svg": measure_tube,
    "how_sure.svg": how_sure,
}


def main(folder: Path = HERE) -> None:
    for name, draw in PICTURES.items():
        (folder / name).write_text(draw(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
