"""`packcheck export`: the posed bay as a geometry file."""

from __future__ import annotations

from typing import Final

import click

from packcheck.cli.output import emit
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]

SUFFIXES: Final = (".glb", ".stl", ".ply", ".obj")

EPILOG = """\b
What each format holds:
  .glb  names, colours; metres, y up, front towards +z
  .obj  names, colours; mm, along the scene's axes
  .ply  colours; mm, along the scene's axes
  .stl  bare triangles; mm, along the scene's axes"""


@click.command("export", short_help="Write the posed bay as GLB, STL, PLY or OBJ.", epilog=EPILOG)
@click.argument("scene", type=click.Path())
@click.option(
    "-o", "--output", type=OUTPUT, metavar="FILE", required=True, help="Where it goes, whole or not at all."
)
@click.option("--findings", is_flag=True, help="Add a rod for each finding, from the one part to the other.")
@click.option("--layout", metavar="NAME", help="Write this layout of the scene in place of what is written first.")
@click.option("--no-cache", is_flag=True, help="Read every mesh anew.")
def command(*, scene: str, output: Target, findings: bool, layout: str | None, no_cache: bool) -> None:
    """Write every part of SCENE where it stands, to be looked at or worked on elsewhere.

    Curved faces are drawn with facets, up to a few tenths of a millimetre off: measure with
    packcheck, not in the file.
    """
    suffix = output.path.suffix.lower()
    if suffix not in SUFFIXES:
        raise click.UsageError(
            f"{output.path} says no format: end its name in {', '.join(SUFFIXES[:-1])} or {SUFFIXES[-1]}"
        )
    import packcheck

    with working("reading"):
        bay = packcheck.load(scene, layout=layout, use_cache=not no_cache)
    (place,) = spared(bay.sources, output)
    assert place is not None
    if not bay.assembly.parts:
        raise click.ClickException(f"{scene} holds no part to write")
    with working("checking and writing" if findings else "writing"):
        data = bay.exported(suffix, bay.check(moves=False) if findings else None)
    place.write(data)
    emit(f"wrote {len(bay.assembly.parts)} parts to {place.path}\n")
