"""`packcheck leeway`: how far a part may travel and turn."""

from __future__ import annotations

import click

from packcheck.cli.output import deliver_tables
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]


@click.command("leeway", short_help="How far may a part travel and turn, and what stops it?")
@click.argument("scene", type=click.Path())
@click.argument("part")
@click.option("--layout", metavar="NAME", help="In this layout of the scene.")
@click.option("--json", "as_json", is_flag=True, help="Print the table as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
def command(*, scene: str, part: str, layout: str | None, as_json: bool, output: Target | None) -> None:
    """How far may PART of SCENE travel and turn before a limit is missed, and what stops it?

    `packcheck explain leeway` tells how.
    """
    import packcheck

    with working("reading", quietly=as_json):
        bay = packcheck.load(scene, layout=layout)
    (place,) = spared(bay.sources, output)
    with working("moving it to and fro", quietly=as_json):
        report = bay.leeway(part)
    deliver_tables(report, place, as_json=as_json)
