"""The whole bay in one picture, each finding numbered where it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.findings import Finding, Verdict
from packcheck.report.pictures.drawn import Painted, drawing
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.marks import OPEN, compass, hue, ruler
from packcheck.report.pictures.png import png
from packcheck.report.pictures.svg import circle, embedded, hexed, line, picture, words
from packcheck.report.pictures.view import View, facing
from packcheck.surfaces import INK, OTHER, Colour, Model, Surface, shade

__all__ = ["overview", "painted", "striking", "whole_view"]

WIDTH, HEIGHT = 1200, 820  # px
FILLED: Final = 0.94  # of the picture
SKIN: Final = 0.86  # how much shows through body panels, behind which everything else stands
RADIUS: Final = 15.0  # px, of a number's disc
ROUNDS: Final = 60
MOST: Final = 40  # numbers that still can be told apart


def overview(findings: Sequence[Finding], model: Model, onlooker: Onlooker, units: str) -> str:
    """The bay as SVG, the first findings numbered; each number leads to `#finding-N`. Empty for an empty bay."""
    if not model.surfaces:
        return ""
    view = whole_view(model.surfaces, onlooker, WIDTH, HEIGHT)
    shown = embedded(png(drawing(view, painted(model.surfaces, striking(findings)))), WIDTH, HEIGHT)
    numbers = "".join(_numbers(findings[:MOST], view))
    return picture(
        WIDTH,
        HEIGHT,
        "The whole bay, findings numbered",
        shown,
        numbers,
        compass(view, model.axes),
        ruler(view, units),
    )


def painted(
    surfaces: Sequence[Surface], colours: Mapping[str, tuple[Colour, Colour | None]]
) -> tuple[list[Painted], list[Painted]]:
    """What is drawn, then the body panels to be laid over it as glass; the others have the colour of their kind."""
    skins: list[Painted] = []
    rest: list[Painted] = []
    for surface in surfaces:
        colour, stripes = colours.get(surface.name, (shade(surface.kinds), None))
        skin = "body" in surface.kinds
        (skins if skin else rest).append(Painted(surface, colour, stripes, SKIN if skin else 0.0))
    return rest, skins


def whole_view(surfaces: Sequence[Surface], onlooker: Onlooker, width: int, height: int) -> View:
    """A view `width` by `height` px of all surfaces, from where one stands to see the whole bay."""
    toward = onlooker.liked
    turn = facing(toward, onlooker.upright(toward), onlooker.upright(toward))
    seen = np.concatenate([surface.vertices for surface in surfaces]) @ turn.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    scale = FILLED / max(float((high[0] - low[0]) / width), float((high[1] - low[1]) / height), 1e-6)
    return View((low + high) / 2 @ turn, turn, scale, width, height)


def striking(findings: Sequence[Finding]) -> Mapping[str, tuple[Colour, Colour | None]]:
    """Colour and stripes of the parts that fall short; the worst finding of a part counts."""
    colours: dict[str, tuple[Colour, Colour | None]] = {}
    for finding in findings:
        if finding.verdict is Verdict.FAIL:
            own = hue(finding.verdict)
            for place, name in enumerate(finding.subjects):
                colours.setdefault(name, (own, None) if place == 0 else (OTHER, own))
    return colours


def _numbers(findings: Sequence[Finding], view: View) -> list[str]:
    numbered = [
        (k + 1, f) for k, f in enumerate(findings) if f.points is not None and f.verdict is not Verdict.PASS
    ]
    if not numbered:
        return []
    spots = np.array([view.project(f.points.mean(axis=0))[:2] for _, f in numbered if f.points is not None])
    discs = _spread(spots, view)
    return [_number(n, f, spot, disc) for (n, f), spot, disc in zip(numbered, spots, discs, strict=True)]


def _spread(spots: Points, view: View) -> Floats:
    """Where discs stand (n, 2) px: beside their spots, pushed apart until none covers another."""
    discs: Floats = spots + np.array([0.0, -2.2 * RADIUS])
    nudge = np.linspace(0, 2 * np.pi, len(discs), endpoint=False)
    discs = discs + np.column_stack([np.cos(nudge), np.sin(nudge)])
    for _ in range(ROUNDS):
        apart = discs[:, None] - discs[None]
        distance = np.linalg.norm(apart, axis=2) + np.eye(len(discs)) * 1e9
        push = np.maximum(0.0, 2.3 * RADIUS - distance) / 2
        discs = discs + (apart / distance[..., None] * push[..., None]).sum(axis=1)
        discs = np.clip(discs, RADIUS + 2, [view.width - RADIUS - 2, view.height - RADIUS - 2])
    return discs


def _number(number: int, finding: Finding, spot: Points, disc: Points) -> str:
    colour = hexed(hue(finding.verdict))
    dashes = ' stroke-dasharray="4 3"' if finding.verdict in OPEN else ""
    lead = line([spot, disc], f'stroke="{hexed(INK)}" stroke-width="1.5"')
    dot = circle(spot, 4, f'fill="{hexed(INK)}" stroke="#fff" stroke-width="1.5"')
    ring = circle(disc, RADIUS, f'fill="#fff" stroke="{colour}" stroke-width="3"{dashes}')
    label = words(disc[0], disc[1] + 5.5, str(number), 'class="number"')
    return f'{lead}{dot}<a href="#finding-{number}">{ring}{label}</a>'
