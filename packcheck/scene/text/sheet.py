"""The measuring sheet: a CSV file with what was read at the car, one line a reading."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from pathlib import Path
from typing import Final

from packcheck.errors import Fault, SourceMark
from packcheck.scene.model.scene import LengthUnit
from packcheck.scene.text.expressions import evaluate
from packcheck.scene.text.hints import nearest
from packcheck.units import QuantityError, to_degrees, to_mm

__all__ = ["HEADER", "Sheet", "read_sheet"]

HEADER: Final = ("what", "reads")
"""The first line of a sheet; more columns may follow for repeated readings."""

NOTE: Final = "note"
"""The header of the first column that holds no readings."""

LARGEST: Final = 1_000_000
"""Bytes of a sheet; a thousand readings fill a twentieth of it."""


class Sheet:
    """What a sheet says: by label, the readings, mm or degrees; and its faults."""

    def __init__(self) -> None:
        self.values: dict[str, tuple[float, ...]] = {}
        self.faults: list[Fault] = []


def read_sheet(path: Path, asked: SourceMark, labels: Mapping[str, bool], units: LengthUnit) -> Sheet:
    """The readings in the file at `path`.

    Parameters
    ----------
    asked : SourceMark
        Where the file is named in the scene.
    labels : mapping
        Every reading that may stand there, and whether it is an angle.
    units : LengthUnit
        What a bare length means.
    """
    sheet = Sheet()
    text = _text(path, asked, sheet)
    rows = csv.reader(StringIO(text)) if text is not None else iter(())
    found: dict[str, int] = {}
    columns = None  # how many hold readings; all, until a header says where notes begin
    for number, row in enumerate(rows, start=1):
        cells = [cell.strip() for cell in row]
        if number == 1 and cells[:1] == [HEADER[0]]:
            columns = cells.index(NOTE) if NOTE in cells else None
            continue
        if not any(cells) or cells[0].startswith("#"):
            continue
        cells = cells[:columns]
        mark = SourceMark(str(path), number, 1)
        label = cells[0]
        if label not in labels:
            what = f"there is no reading {label!r} in the scene"
            sheet.faults.append(Fault(mark, what, mend=nearest(label, labels)))
        elif label in found:
            sheet.faults.append(Fault(mark, f"{label!r} stands twice, first in line {found[label]}"))
        else:
            found[label] = number
            sheet.values[label] = tuple(_figures(cells, row, mark, sheet, labels[label], units))
    return sheet


def _text(path: Path, asked: SourceMark, sheet: Sheet) -> str | None:
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST + 1)
        if len(content) > LARGEST:
            raise ValueError(f"it is larger than {LARGEST / 1e6:g} MB")
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        sheet.faults.append(Fault(asked, f"readings {path.name!r} is not UTF-8 text", mend="save it as UTF-8"))
    except (OSError, ValueError) as error:
        reason = "does not exist" if isinstance(error, FileNotFoundError) else f"cannot be read: {_reason(error)}"
        sheet.faults.append(
            Fault(
                asked,
                f"readings {path.name!r} {reason}",
                mend="packcheck survey SCENE --blank writes one to fill in",
            )
        )
    return None


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _figures(
    cells: list[str], row: list[str], mark: SourceMark, sheet: Sheet, angle: bool, units: LengthUnit
) -> Iterator[float]:
    for place, cell in enumerate(cells[1:], start=1):
        if not cell:
            continue
        column = sum(len(before) + 1 for before in row[:place]) + 1
        here = SourceMark(mark.file, mark.line, column)
        try:
            value = evaluate(cell, {})
            yield to_degrees(value) if angle else to_mm(value, units)
        except QuantityError as error:
            sheet.faults.append(Fault(here, f"{cells[0]!r} reads {cell!r}: {error.what}", mend=error.mend))
