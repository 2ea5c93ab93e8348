"""`packcheck size`: how big a param may be."""

from __future__ import annotations

import click

from packcheck.cli.output import deliver_tables
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]


@click.command("size", short_help="How big can a param be, and what stops it?")
@click.argument("scene", type=click.Path())
@click.argument("param")
@click.argument("second", required=False)
@click.option("--least", is_flag=True, help="The least value that passes, in place of the largest.")
@click.option(
    "--to",
    metavar="LENGTH",
    help="Look up to this value; without it, to three times the value, 100 mm on at the least.",
)
@click.option(
    "--points", type=click.IntRange(2, 50), default=7, help="Of two params: how many values of the first."
)
@click.option("--layout", metavar="NAME", help="In this layout of the scene.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables as JSON.")
@click.option("--plot", type=OUTPUT, metavar="FILE.svg", help="Of two params: draw the frontier.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the tables there, whole or not at all.")
def command(
    *,
    scene: str,
    param: str,
    second: str | None,
    least: bool,
    to: str | None,
    points: int,
    layout: str | None,
    as_json: bool,
    plot: Target | None,
    output: Target | None,
) -> None:
    """What is the largest value of PARAM in SCENE for which everything that rests on it passes?

    With SECOND, for each of several values of PARAM the largest value of SECOND. See `packcheck explain size`.
    """
    from packcheck.report.frontier import frontier_svg
    from packcheck.sizing.sizes import Asked, frontier, one_size

    if plot is not None and second is None:
        raise click.UsageError("--plot draws what two params allow each other: name a second one")
    asked = Asked(scene, param, layout, least=least, to=to)
    tables, drawing = spared(asked.sources, output, plot)
    with working("growing it", quietly=as_json):
        report = one_size(asked) if second is None else frontier(asked, second, points)
    if drawing is not None:
        drawing.write(frontier_svg(report.tables[0]))
    deliver_tables(report, tables, as_json=as_json)
