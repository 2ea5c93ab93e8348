"""`packcheck leeway`: how far a part may travel and turn."""

from __future__ import annotations

from pathlib import Path

import click

from packcheck import __version__
from packcheck.cli.output import OUTPUT, emit, emit_lines, refuse_sources, write_whole

__all__ = ["command"]


@click.command("leeway", short_help="How far may a part travel and turn, and what stops it?")
@click.argument("scene", type=click.Path())
@click.argument("part")
@click.option("--layout", metavar="NAME", help="In this layout of the scene.")
@click.option("--json", "as_json", is_flag=True, help="Print the table as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
def command(*, scene: str, part: str, layout: str | None, as_json: bool, output: Path | None) -> None:
    """How far may PART of SCENE travel and turn before a limit is missed, and what stops it?

    `packcheck explain leeway` tells how.
    """
    import packcheck
    from packcheck.report.as_json import as_json as json_of
    from packcheck.report.as_text import PIPED_WIDTH
    from packcheck.report.table_report import table_report_lines, table_report_text

    bay = packcheck.load(scene, layout=layout)
    refuse_sources(output, bay.assembly.scene.files)
    report = bay.leeway(part)
    written = json_of(report, version=__version__) if as_json else table_report_text(report)
    if output is not None:
        write_whole(output, written)
    elif as_json:
        emit(written)
    else:
        emit_lines(lambda width: table_report_lines(report, width), PIPED_WIDTH)
