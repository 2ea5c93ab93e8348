"""`packcheck report`: the report as one page for the phone, the bench and the printer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from packcheck.cli.asking import Asked, asking
from packcheck.cli.commands.compare import arrangements
from packcheck.cli.exit_codes import exit_code
from packcheck.cli.output import emit
from packcheck.cli.progress import steps, working
from packcheck.cli.targets import OUTPUT, Target, spared
from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.report.page_compared import SideBySide

__all__ = ["command"]


@click.command("report", short_help="One HTML page with pictures and a 3D model, for the phone and the printer.")
@asking
@click.argument("beside", nargs=-1, metavar="[LAYOUT ...] | [OTHER.yaml]")
@click.option("--compare", "all_layouts", is_flag=True, help="Set all layouts of the scene beside it.")
@click.option(
    "-o", "--output", type=OUTPUT, metavar="FILE", required=True, help="Where it goes, whole or not at all."
)
@click.pass_context
def command(
    ctx: click.Context, *, asked: Asked, beside: tuple[str, ...], all_layouts: bool, output: Target
) -> None:
    """Check SCENE and write the report as one HTML file that needs no network.

    With LAYOUT, or another scene file, these are set beside it as in packcheck compare, each with a picture from
    the same place. The page opens on a phone, prints on A4 and Letter, and can be read with scripts switched off.
    Exit codes are those of packcheck check.
    """
    from packcheck.report.as_page import as_page
    from packcheck.report.text.headline import headline

    with working("reading"):
        bay = asked.bay()
        bays = arrangements(asked, bay, beside) if beside or all_layouts else {}
    (place,) = spared([source for one in (bay, *bays.values()) for source in one.sources], output)
    assert place is not None
    with working("checking"):
        report = bay.check(asked.parts, moves=not asked.no_moves)
    with steps("drawing pictures") as progress:
        page = as_page(
            report, bay.model(report), version=__version__, progress=progress, side_by_side=_side_by_side(bays)
        )
    place.write(page)
    emit(f"{headline(report)}\nwrote {place.path}\n")
    ctx.exit(exit_code(report, strict=asked.strict))


def _side_by_side(bays: Mapping[str, Bay]) -> SideBySide | None:
    """The arrangements compared, and what can be seen of each."""
    from packcheck.comparison import compared
    from packcheck.report.page_compared import SideBySide

    if not bays:
        return None
    comparison = compared([bay.alternative(name) for name, bay in bays.items()])
    return SideBySide(comparison, tuple(bay.model() for bay in bays.values()))
