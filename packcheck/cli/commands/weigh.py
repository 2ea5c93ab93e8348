"""`packcheck weigh`: what it weighs, and where the weight sits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from packcheck.cli.asking import STAGE
from packcheck.cli.output import deliver_tables
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

if TYPE_CHECKING:
    from packcheck.scene.model.scene import Stage

__all__ = ["command"]


@click.command("weigh", short_help="What does it weigh, and where does the weight sit?")
@click.argument("scene", type=click.Path())
@click.option(
    "--layout", "layouts", multiple=True, metavar="NAME", help="Weigh this layout; several are set side by side."
)
@STAGE
@click.option("--part", "parts", multiple=True, metavar="NAME", help="Only the rows of this part; may be repeated.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the tables there, whole or not at all.")
def command(
    *,
    scene: str,
    layouts: tuple[str, ...],
    stage: Stage | None,
    parts: tuple[str, ...],
    as_json: bool,
    output: Target | None,
) -> None:
    """What do the parts of SCENE weigh, where does the weight sit, and how much do they hold?

    `packcheck explain weigh` tells how.
    """
    import packcheck

    with working("reading", quietly=as_json):
        bays = [packcheck.load(scene, layout=layout, stage=stage) for layout in layouts or (None,)]
    (place,) = spared([source for bay in bays for source in bay.sources], output)
    report = bays[0].weigh(parts, beside=bays[1:])
    deliver_tables(report, place, as_json=as_json)
