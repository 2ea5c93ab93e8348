"""`packcheck list`: every part in words, and drawn from three sides."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from packcheck.cli.output import deliver, emit_lines
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Output, Target, spared
from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.findings import Table
    from packcheck.scene.model.scene import Stage

__all__ = ["command"]

SIDES: Final = {
    "aft": ("front", "rear"),
    "right": ("left", "right"),
    "up": ("bottom", "top"),
}
"""What the paper's edges are called where a direction runs across or up it."""


@click.command("list", short_help="Where does every part stand, in words and drawn?")
@click.argument("scene", type=click.Path())
@click.option("--json", "form", flag_value="json", help="Print the list as JSON.")
@click.option("--csv", "form", flag_value="csv", help="Print one line a part, for a spreadsheet.")
@click.option("--part", "parts", multiple=True, metavar="NAME", help="Only this part; may be repeated.")
@click.option("--layout", metavar="NAME", help="List this layout of the scene.")
@click.option("--stage", type=click.Choice(["mockup", "roller", "final"]), help="Leave out what is gone by then.")
@click.option(
    "--svg", type=OUTPUT, metavar="FILE", help="Draw all parts from above, from the left and from behind."
)
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the list there, whole or not at all.")
def command(
    *,
    scene: str,
    form: str | None,
    parts: tuple[str, ...],
    layout: str | None,
    stage: Stage | None,
    svg: Target | None,
    output: Target | None,
) -> None:
    """Where does every part of SCENE stand, how large is it, how well is it known, what is it joined to?

    Read it beside the car: a wrong sign or a wrong datum shows at once.
    """
    import packcheck

    with working("reading", quietly=form is not None):
        bay = packcheck.load(scene, layout=layout, stage=stage)
    drawing, place = spared(bay.sources, svg, output)
    table = bay.inventory(parts)
    if drawing is not None:
        drawing.write(_drawn(bay))
        click.echo(f"wrote {drawing.path}", err=True)
    _deliver(table, form, place)


def _deliver(table: Table, form: str | None, output: Output | None) -> None:
    from packcheck.report.as_csv import table_as_csv
    from packcheck.report.as_json import table_as_json
    from packcheck.report.text.as_text import PIPED_WIDTH
    from packcheck.report.text.inventory_text import inventory_lines, inventory_text

    if form is None and output is None:
        emit_lines(lambda width: inventory_lines(table, width), PIPED_WIDTH)
        return
    if form == "json":
        written = table_as_json(table, version=__version__)
    else:
        written = table_as_csv(table) if form == "csv" else inventory_text(table)
    deliver(written, output)


def _drawn(bay: Bay) -> str:
    from packcheck.drawing.views import VIEWS, View, datum_marks, outlines
    from packcheck.report.sheet_svg import DrawnPart, DrawnView, sheet_svg

    def drawn(view: View) -> DrawnView:
        parts = tuple(DrawnPart(one.part, one.kinds, one.polygons) for one in outlines(bay.assembly, view))
        sides = (*SIDES[view.across], *SIDES[view.up])
        return DrawnView(view.name, parts, tuple(datum_marks(bay.assembly, view)), sides)

    scene = bay.assembly.scene
    layout = "" if scene.layout is None else f"layout {scene.layout}"
    title = ": ".join(filter(None, [scene.title or scene.path, layout]))
    return sheet_svg(title, [drawn(view) for view in VIEWS], scene.units)
