"""The panel beside the picture, as boxes with words: what is in it, where, and what a click there means.

Findings           whole bay      rows that can be scrolled, the one looked at marked
1 clash              12.0 mm deep
engine_mount_right - breather_box
Cut                               on and off, and a slider once it is on
Motions                           each with a button and a slider, its worst place marked
Show                              switches, then kinds
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from packcheck.findings import Finding, Verdict
from packcheck.report.pictures.marks import size_words
from packcheck.report.text.printable import printable
from packcheck.viewer.controls import Controls
from packcheck.viewer.playing import Player
from packcheck.viewer.shown import SWITCHES

__all__ = ["PANEL", "Item", "Sort", "item_at", "panel", "rows_for", "share_at"]

PANEL: Final = 318
"""px that the panel is wide."""

EDGE: Final = 14.0  # px
LINE: Final = 22.0  # px from switch to switch
ROW: Final = 38.0  # px that a finding takes
HEAD: Final = 30.0  # px that a heading takes
SLIDER: Final = 24.0  # px
KNOB: Final = 7.0  # px; sliders begin and end so far inside their box
LEAST_ROWS: Final = 3
LETTER: Final = 0.61  # widths of letters, in heights, on average: DejaVu Sans
SMALL: Final = 12  # px, height of the letters

Sort = Literal["head", "row", "switch", "button", "slider", "quiet"]


@dataclass(frozen=True, slots=True)
class Item:
    """Something in the panel: its box from the upper left, px, its words, and what a click on it does.

    `aside` stands at the right end, `below` in a second line; `on` is a switch that is on, a motion that runs, a
    row that is looked at; `share` is where a slider stands and `mark` a place marked on it.
    """

    sort: Sort
    left: float
    top: float
    width: float
    height: float
    text: str = ""
    aside: str = ""
    below: str = ""
    act: tuple[str, ...] = ()
    on: bool = False
    share: float = 0.0
    mark: float | None = None
    verdict: Verdict | None = None


def item_at(items: Sequence[Item], x: float, y: float) -> Item | None:
    """What a click at px from the upper left meets, if it does anything."""
    hit = (i for i in items if i.left <= x <= i.left + i.width and i.top <= y <= i.top + i.height)
    return next((item for item in hit if item.act), None)


def share_at(slider: Item, x: float) -> float:
    """Where along a slider a place lies, 0 to 1."""
    return min(max((x - slider.left - KNOB) / (slider.width - 2 * KNOB), 0.0), 1.0)


def rows_for(controls: Controls, height: float) -> int:
    """How many findings are listed at a time in a window of this height, px."""
    below = max(item.top + item.height for item in _lower(controls, 0.0))
    room = height - HEAD - below - EDGE
    return max(int(room / ROW), LEAST_ROWS)


def panel(controls: Controls, height: float, first: int = 0) -> list[Item]:
    """Everything in the panel, findings from place `first` on."""
    rows = rows_for(controls, height)
    listed = list(_findings(controls, first, rows))
    end = HEAD + ROW * max(len(listed), 1)
    return [*_head(controls, first, rows), *listed, *_lower(controls, end + 4)]


def _head(controls: Controls, first: int, rows: int) -> Iterator[Item]:
    count = len(controls.desk.findings)
    span = f", {first + 1} to {min(first + rows, count)} of {count}" if count > rows else ""
    yield Item("head", EDGE, 0, PANEL - 96 - EDGE, HEAD, f"Findings{span}")
    yield Item("button", PANEL - 92, 5, 80, 21, "whole bay", act=("whole",), on=controls.desk.finding is None)
    if not count:
        yield Item("quiet", EDGE, HEAD, PANEL - 2 * EDGE, ROW, "none that has a place")


def _findings(controls: Controls, first: int, rows: int) -> Iterator[Item]:
    desk = controls.desk
    numbers = {id(finding): k for k, finding in enumerate(desk.report.findings, 1)}
    for k, finding in enumerate(desk.findings[first : first + rows]):
        number = numbers[id(finding)]
        yield Item(
            "row",
            0,
            HEAD + k * ROW,
            PANEL,
            ROW,
            f"{number}  {_word(finding)}",
            size_words(finding, desk.report_units),
            clipped(" - ".join(map(printable, finding.subjects)), PANEL - 2 * EDGE - 8),
            ("finding", str(number)),
            on=finding is desk.finding,
            verdict=finding.verdict,
        )


def _word(finding: Finding) -> str:
    moving = ", moving" if finding.pose else ""
    return clipped(f"{printable(finding.word)}{moving}", PANEL / 2)


def _lower(controls: Controls, top: float) -> Iterator[Item]:
    """Cut, motions, switches and kinds, from `top` down."""
    for part in (_cut, _motions, _switches, _kinds):
        for item in part(controls, top):
            yield item
            bottom = item.top + item.height
        top = bottom


def _cut(controls: Controls, top: float) -> Iterator[Item]:
    finding, shown = controls.desk.finding, controls.shown
    said = "cut through the spot" if finding is not None else "cut: go to a finding first"
    yield Item("switch", EDGE, top, PANEL - 2 * EDGE, LINE, said, act=("switch", "cutting"), on=shown.cutting)
    if shown.cutting and finding is not None:
        share = 0.5 + shown.cut / controls.cut_reach / 2
        where = f"{shown.cut:+.0f} mm" if round(shown.cut) else "at the spot"
        yield Item("slider", EDGE, top + LINE, 190, SLIDER, "", where, act=("cut",), share=share, mark=0.5)


def _motions(controls: Controls, top: float) -> Iterator[Item]:
    names, player = controls.desk.motions, controls.desk.player
    if not names:
        yield Item("quiet", EDGE, top, 0, 0)
        return
    yield Item("head", EDGE, top, PANEL - 2 * EDGE, HEAD, "Motions")
    for k, name in enumerate(names):
        yield from _motion(name, player if player and player.way.motion == name else None, top + HEAD + k * SLIDER)


def _motion(name: str, player: Player | None, top: float) -> Iterator[Item]:
    running = player is not None and player.running
    yield Item("button", EDGE, top + 2, 42, 20, "stop" if running else "play", act=("play", name), on=running)
    yield Item("quiet", EDGE + 50, top, 108, SLIDER, clipped(printable(name), 108))
    share, mark = (player.share, player.way.worst) if player else (0.0, None)
    verdict = player.way.finding.verdict if player and player.way.finding else None
    yield Item(
        "slider", 178, top, PANEL - EDGE - 178, SLIDER, act=("slide", name), share=share, mark=mark, verdict=verdict
    )


def _switches(controls: Controls, top: float) -> Iterator[Item]:
    yield Item("head", EDGE, top, PANEL - 2 * EDGE, HEAD, "Show")
    for k, (what, words) in enumerate(SWITCHES.items()):
        yield _in_two("switch", k, top + HEAD, words, ("switch", what), on=getattr(controls.shown, what))


def _kinds(controls: Controls, top: float) -> Iterator[Item]:
    surfaces = controls.desk.model.surfaces
    kinds = sorted({kind for surface in surfaces for kind in surface.kinds or ("no kind",)})
    yield Item("head", EDGE, top, PANEL - 2 * EDGE, HEAD, "Kinds")
    for k, kind in enumerate(kinds):
        said = clipped(printable(kind), PANEL / 2 - 40)
        yield _in_two("switch", k, top + HEAD, said, ("kind", kind), on=kind not in controls.shown.hidden)


def _in_two(sort: Sort, k: int, top: float, words: str, act: tuple[str, ...], *, on: bool) -> Item:
    """Switch number `k` of those that stand in two columns."""
    half = PANEL / 2 - EDGE
    return Item(sort, EDGE + (k % 2) * half, top + (k // 2) * LINE, half - 4, LINE, words, act=act, on=on)


def clipped(text: str, width: float, size: float = SMALL) -> str:
    """As much of a text as surely fits into `width` px."""
    most = max(int(width / (size * LETTER)), 4)
    return text if len(text) <= most else f"{text[: most - 1]}\u2026"
