"""`packcheck report`: the report as one page for the phone, the bench and the printer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from packcheck import __version__
from packcheck.cli.exit_codes import exit_code
from packcheck.cli.output import OUTPUT, emit, refuse_no_folder, refuse_sources, write_whole
from packcheck.cli.progress import steps, working

if TYPE_CHECKING:
    from packcheck.findings import Report

__all__ = ["command"]


@click.command("report", short_help="One HTML page with pictures and a 3D model, for the phone and the printer.")
@click.argument("scene", type=click.Path())
@click.option(
    "-o", "--output", type=OUTPUT, metavar="FILE", required=True, help="Where it goes, whole or not at all."
)
@click.option("--part", "parts", multiple=True, metavar="NAME", help="Only pairs with this part; may be repeated.")
@click.option("--strict", is_flag=True, help="Let close gaps count as failing in the exit code.")
@click.option("--layout", metavar="NAME", help="Report this layout of the scene in place of what is written first.")
@click.option("--no-cache", is_flag=True, help="Read every mesh anew.")
@click.option("--no-moves", is_flag=True, help="Do not look for moves that would mend what falls short.")
@click.pass_context
def command(
    ctx: click.Context,
    *,
    scene: str,
    output: Path,
    parts: tuple[str, ...],
    layout: str | None,
    strict: bool,
    no_cache: bool,
    no_moves: bool,
) -> None:
    """Check SCENE and write the report as one HTML file that needs no network.

    It opens on a phone, prints on A4 and Letter, and can be read with scripts switched off. Exit codes are those of
    packcheck check.
    """
    refuse_no_folder(output)
    import packcheck
    from packcheck.report.as_page import as_page
    from packcheck.report.headline import headline

    with working("reading"):
        bay = packcheck.load(scene, layout=layout, use_cache=not no_cache)
    refuse_sources(output, bay.sources)
    with working("checking"):
        report: Report = bay.check(parts, moves=not no_moves)
    with steps("drawing pictures") as progress:
        page = as_page(report, bay.model(report), version=__version__, progress=progress)
    write_whole(output, page)
    emit(f"{headline(report)}\nwrote {output}\n")
    ctx.exit(exit_code(report, strict=strict))
