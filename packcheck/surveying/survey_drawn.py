"""A survey as plain arrays, to be drawn; and as a sheet, to be filled in."""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.arrays import frozen
from packcheck.drawn import NetworkDrawing
from packcheck.findings import Table
from packcheck.surveying.surveyed import Surveyed

__all__ = ["drawing_of", "sheet_of"]

SHEET_COLUMNS = ("what", "reads", "again", "again", "note")


def drawing_of(surveyed: Surveyed) -> NetworkDrawing:
    """Points with their covariances, and the lines of sight and tape between them."""
    adjustment = surveyed.adjustment
    number = {spot.name: k for k, spot in enumerate(adjustment.network.spots)}
    names = [name for name in surveyed.survey.points if name in number]
    place = {number[name]: k for k, name in enumerate(names)}
    suspects = {suspect.reading for suspect in surveyed.verdicts.suspects}
    links: list[tuple[int, int]] = []
    wrong: list[tuple[int, int]] = []
    for k, reading in enumerate(surveyed.network.readings):
        for row in reading.rows:
            ends = [place[spot] for spot in row.spots[:2] if spot in place]
            if reading.role == "reading" and len(ends) == 2:
                (wrong if k in suspects else links).append((ends[0], ends[1]))
    axes = surveyed.scene.axes
    return NetworkDrawing(
        tuple(names),
        frozen([adjustment.placed[number[name]] for name in names]),
        frozen([adjustment.point_covariance(number[name]) for name in names]),
        tuple(surveyed.survey.points[name].at is not None for name in names),
        tuple(dict.fromkeys(links)),
        tuple(dict.fromkeys(wrong)),
        (axes.x, axes.y, axes.z),
        surveyed.scene.units,
    )


def sheet_of(surveyed: Surveyed) -> Table:
    """One line for each reading, with what was read so far, to be taken to the car."""
    rows = tuple(_lines(surveyed))
    note = "A length without a unit is in the units of the scene. Take each reading twice, from both ends."
    return Table("survey_sheet", "Measuring sheet", SHEET_COLUMNS, rows, note)


def _lines(surveyed: Surveyed) -> Iterator[tuple[str, str, str, str, str]]:
    for one in surveyed.survey.observations:
        if one.kind not in ("plumb", "lies_on"):
            tool = one.instrument or one.kind
            step = f", on a step of {one.step:g} mm" if one.step else ""
            done = "read already" if one.values else ""
            yield one.label, "", "", "", f"{tool}{step}{', ' if done else ''}{done}"
