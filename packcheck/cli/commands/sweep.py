"""`packcheck sweep`: a motion to look at."""

from __future__ import annotations

import click

from packcheck.cli.output import emit
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]

FEWEST, MOST = 2, 200


@click.command("sweep", short_help="Write copies of what a motion carries, to look at.")
@click.argument("scene", type=click.Path())
@click.argument("motion")
@click.option(
    "-o", "--output", type=OUTPUT, metavar="FILE", required=True, help="A .glb file, written whole or not at all."
)
@click.option(
    "--copies", type=click.IntRange(FEWEST, MOST), default=13, show_default=True, help="How many, evenly."
)
@click.option("--alone", is_flag=True, help="Leave out everything that does not move.")
@click.option("--layout", metavar="NAME", help="Take this layout of the scene in place of what is written first.")
@click.option("--no-cache", is_flag=True, help="Read every mesh anew.")
def command(
    *, scene: str, motion: str, output: Target, copies: int, alone: bool, layout: str | None, no_cache: bool
) -> None:
    """Write what MOTION of SCENE carries, at several settings along its way, beside the rest of the bay.

    This is a picture, not the proof: between two copies it shows nothing. What clears is told by packcheck check,
    which searches the whole motion. A rocking frame is shown at every end of its ranges. Of what turns all the way
    round, everything it sweeps is there too, as one solid: nowhere inside of it, 0.2 mm or so outside at the most.
    """
    if output.path.suffix.lower() != ".glb":
        raise click.UsageError(f"{output.path} needs to end in .glb")
    import packcheck

    with working("reading"):
        bay = packcheck.load(scene, layout=layout, use_cache=not no_cache)
    (place,) = spared(bay.sources, output)
    assert place is not None
    with working("writing"):
        data = bay.swept(motion, copies, alone=alone)
    place.write(data)
    emit(f"{motion}: {bay.deed(motion)}\n")
    emit(f"wrote {motion} to {place.path}: a picture, not the proof; packcheck check searches the whole motion\n")
