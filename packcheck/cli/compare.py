"""`packcheck compare`: arrangements side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from packcheck import __version__
from packcheck.cli.output import OUTPUT, emit, emit_lines, refuse_sources, write_whole

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.comparison import Comparison

__all__ = ["command"]


@click.command("compare", short_help="Which arrangement is best, and what changes from one to the other?")
@click.argument("scene", type=click.Path())
@click.argument("others", nargs=-1, metavar="[LAYOUT ...] | [OTHER.yaml]")
@click.option("--json", "form", flag_value="json", help="Print the comparison as JSON.")
@click.option("--csv", "form", flag_value="csv", help="Print one line per change, for a spreadsheet.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
def command(*, scene: str, others: tuple[str, ...], form: str | None, output: Path | None) -> None:
    """Which layout of SCENE is best, why, and what changes from one to the other?

    Without LAYOUT, all layouts of the scene are held against the scene as written. With another scene file in
    their place, that one is held against SCENE.
    """
    from packcheck.comparison import compared
    from packcheck.report.as_text import PIPED_WIDTH
    from packcheck.report.caution import CAUTION
    from packcheck.report.compared import comparison_lines

    bays = _bays(scene, others)
    for bay in bays.values():
        refuse_sources(output, bay.assembly.scene.files)
    comparison = compared([bay.alternative(name) for name, bay in bays.items()])
    if output is not None:
        write_whole(output, _written(comparison, form))
    elif form is not None:
        emit(_written(comparison, form))
        if form == "csv":
            click.echo(CAUTION, err=True)
    else:
        emit_lines(lambda width: comparison_lines(comparison, width), PIPED_WIDTH)


def _bays(scene: str, others: tuple[str, ...]) -> dict[str, Bay]:
    """What is compared, by name, what it is held against first."""
    import packcheck
    from packcheck.bay import AS_WRITTEN

    if others and all(Path(other).suffix in (".yaml", ".yml") for other in others):
        if len({scene, *others}) <= len(others):
            raise click.UsageError("a scene is compared with itself")
        return {path: packcheck.load(path) for path in (scene, *others)}
    bays = {AS_WRITTEN: packcheck.load(scene)}
    layouts = others or bays[AS_WRITTEN].assembly.scene.layouts
    if not layouts:
        raise click.UsageError(f"{scene} has no layouts to compare; name another scene file, or add layouts to it")
    return bays | {layout: packcheck.load(scene, layout=layout) for layout in layouts}


def _written(comparison: Comparison, form: str | None) -> str:
    from packcheck.report.compared import comparison_csv, comparison_json, comparison_text

    if form == "json":
        return comparison_json(comparison, version=__version__)
    return comparison_csv(comparison) if form == "csv" else comparison_text(comparison)
