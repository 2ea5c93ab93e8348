"""`packcheck rules`: which limit applies between which parts."""

from __future__ import annotations

import click

from packcheck.cli.output import deliver, emit_lines
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared
from packcheck.version import __version__

__all__ = ["command"]


@click.command("rules", short_help="Which limit applies between which parts, and why?")
@click.argument("scene", type=click.Path())
@click.option("--part", "parts", multiple=True, metavar="NAME", help="Only pairs with this part; may be repeated.")
@click.option("--json", "as_json", is_flag=True, help="Print every pair as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the table there, whole or not at all.")
def command(*, scene: str, parts: tuple[str, ...], as_json: bool, output: Target | None) -> None:
    """Which limit applies between which parts of SCENE, and why?

    `packcheck explain rules` tells how limits are chosen.
    """
    import packcheck
    from packcheck.report.as_json import table_as_json
    from packcheck.report.text.as_text import PIPED_WIDTH
    from packcheck.report.text.rules_text import rules_lines, rules_text

    with working("reading", quietly=as_json):
        bay = packcheck.load(scene)
    (place,) = spared(bay.sources, output)
    table, units = bay.rules(parts), bay.assembly.scene.units
    written = table_as_json(table, version=__version__) if as_json else rules_text(table, units)
    if place is not None or as_json:
        deliver(written, place)
    else:
        emit_lines(lambda width: rules_lines(table, units, width), PIPED_WIDTH)
