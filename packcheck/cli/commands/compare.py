"""`packcheck compare`: arrangements side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from packcheck.cli.asking import STAGE, Asked
from packcheck.cli.output import emit, emit_lines
from packcheck.cli.progress import steps, working
from packcheck.cli.targets import OUTPUT, Target, spared
from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.comparison import Comparison
    from packcheck.scene.model.scene import Stage

__all__ = ["arrangements", "command"]


@click.command("compare", short_help="Which arrangement is best, and what changes from one to the other?")
@click.argument("scene", type=click.Path())
@click.argument("others", nargs=-1, metavar="[LAYOUT ...] | [OTHER.yaml]")
@STAGE
@click.option("--json", "form", flag_value="json", help="Print the comparison as JSON.")
@click.option("--csv", "form", flag_value="csv", help="Print one line per change, for a spreadsheet.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
def command(
    *, scene: str, others: tuple[str, ...], stage: Stage | None, form: str | None, output: Target | None
) -> None:
    """Which layout of SCENE is best, why, and what changes from one to the other?

    Without LAYOUT, all layouts of the scene are held against the scene as written. With another scene file in
    their place, that one is held against SCENE.
    """
    from packcheck.comparison import compared
    from packcheck.report.compared import comparison_lines
    from packcheck.report.text.as_text import PIPED_WIDTH
    from packcheck.report.text.caution import CAUTION

    asked = Asked(scene, stage=stage)
    with working("reading", quietly=form is not None):
        bays = arrangements(asked, asked.bay(), others)
    (place,) = spared([source for bay in bays.values() for source in bay.sources], output)
    with steps("checking", quietly=form is not None) as progress:
        checked = []
        for done, (name, bay) in enumerate(bays.items()):
            progress(done, len(bays))
            checked.append(bay.alternative(name))
    comparison = compared(checked)
    if place is not None:
        place.write(_written(comparison, form))
    elif form is not None:
        emit(_written(comparison, form))
        if form == "csv":
            click.echo(CAUTION, err=True)
    else:
        emit_lines(lambda width: comparison_lines(comparison, width), PIPED_WIDTH)


def arrangements(asked: Asked, bay: Bay, others: Sequence[str]) -> dict[str, Bay]:
    """What is compared, by name: `bay`, as `asked` for, and what is held against it: other files, or layouts.

    Raises click.UsageError where that is nothing, or the same again.
    """
    from packcheck.bay import AS_WRITTEN

    if others and all(Path(other).suffix in (".yaml", ".yml") for other in others):
        if len({asked.scene, *others}) <= len(others):
            raise click.UsageError("a scene is compared with itself")
        return {asked.scene: bay} | {path: replace(asked, scene=path, layout=None).bay() for path in others}
    layouts = others or [name for name in bay.assembly.scene.layouts if name != asked.layout]
    if not layouts:
        has_none = f"{asked.scene} has no layouts to compare"
        raise click.UsageError(f"{has_none}; name another scene file, or add layouts to it")
    named = {layout: replace(asked, layout=layout).bay() for layout in layouts}
    return {asked.layout or AS_WRITTEN: bay} | named


def _written(comparison: Comparison, form: str | None) -> str:
    from packcheck.report.compared import comparison_csv, comparison_json, comparison_text

    if form == "json":
        return comparison_json(comparison, version=__version__)
    return comparison_csv(comparison) if form == "csv" else comparison_text(comparison)
