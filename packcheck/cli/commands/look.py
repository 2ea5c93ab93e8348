"""`packcheck look`: what a geometry file holds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from packcheck.cli.output import deliver, emit_lines
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared
from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.scene.model.scene import LengthUnit

__all__ = ["command"]


@click.command("look", short_help="What does a geometry file hold, and how is it put into a scene?")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(["mm", "cm", "m", "in"]), help="Read its numbers in this unit.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
def command(*, file: Path, units: str | None, as_json: bool, output: Target | None) -> None:
    """What does a geometry FILE hold, and how is it put into a scene?

    Format, unit, size, bodies, whether it is closed, what reading it would mend, and a part to paste.
    """
    (place,) = spared([file], output)
    import packcheck
    from packcheck.report.text.as_look import look_as_json, look_lines
    from packcheck.report.text.as_text import PIPED_WIDTH

    with working("reading", quietly=as_json):
        seen = packcheck.look(file, cast("LengthUnit | None", units))
    if as_json:
        deliver(look_as_json(seen, version=__version__), place)
    elif place is not None:
        place.write("".join(f"{line.text}\n" for line in look_lines(seen, PIPED_WIDTH)))
    else:
        emit_lines(lambda width: look_lines(seen, width), PIPED_WIDTH)
