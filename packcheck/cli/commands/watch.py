"""`packcheck watch`: checked again on every save."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from packcheck.cli.output import emit_lines
from packcheck.cli.progress import working

if TYPE_CHECKING:
    from packcheck.watching import Look, Watcher

__all__ = ["command"]

MOST_MOVES: Final = 3
"""Moves sought after a save, for what is new or worse; the search stops when a file is saved again."""


@click.command("watch", short_help="Check again on every save, and tell what the save changed.")
@click.argument("scene", type=click.Path(path_type=Path))
@click.option("--layout", metavar="NAME", help="Watch this layout of the scene in place of what is written first.")
@click.option("--no-moves", is_flag=True, help="Do not look for moves that would mend what is new or worse.")
def command(*, scene: Path, layout: str | None, no_moves: bool) -> None:
    """Check SCENE now, and again each time it, a file it includes or one of its meshes is saved.

    Told is what the save changed: new, gone, worse, better. Half-saved and broken files are told and waited out.
    Ctrl-C stops.
    """
    from packcheck.watching import Watcher, next_save

    watcher = Watcher(scene, layout)
    with working("checking"):
        look = watcher.look()
        whole = watcher.motions() if look.at_rest else look
    _tell(whole)
    click.echo(f"watching {counted(watcher)}; ctrl-C stops", err=True)
    try:
        while True:
            look = next_save(watcher, time.sleep, look)
            _tell(look)
            if not watcher.changed():
                _tell_motions(watcher, look)
            if not no_moves:
                _tell_moves(watcher, look)
    except KeyboardInterrupt:
        click.echo("stopped", err=True)


def counted(watcher: Watcher) -> str:
    count = len(watcher.files)
    return "1 file" if count == 1 else f"{count} files"


def _tell(look: Look) -> None:
    from packcheck.report.text.as_text import PIPED_WIDTH
    from packcheck.report.text.watched import change_lines, fault_lines, first_lines

    report = look.report
    if report is None:
        emit_lines(lambda width: fault_lines(look.faults, width), PIPED_WIDTH)
    elif look.first:
        emit_lines(lambda width: first_lines(report, width, at_rest=look.at_rest), PIPED_WIDTH)
    else:
        emit_lines(
            lambda width: change_lines(report, look.changes, look.seconds, width, at_rest=look.at_rest), PIPED_WIDTH
        )


def _tell_motions(watcher: Watcher, look: Look) -> None:
    """What comes too near while something moves, once that is searched as well."""
    if look.at_rest:
        with working("searching what moves"):
            found = watcher.motions()
        _tell(found)


def _tell_moves(watcher: Watcher, look: Look) -> None:
    """The moves of what is new, worse or otherwise, one by one, unless a file is saved meanwhile."""
    from packcheck.comparison import Kind
    from packcheck.report.text.as_text import PIPED_WIDTH
    from packcheck.report.text.watched import move_lines

    telling = (Kind.APPEARS, Kind.WORSE, Kind.OTHERWISE)
    for change in [change for change in look.changes if change.kind in telling][:MOST_MOVES]:
        if change.after is None or watcher.changed():
            return
        mended = watcher.move(change.after)
        emit_lines(lambda width, found=mended: move_lines(found, width), PIPED_WIDTH)  # type: ignore[misc]
