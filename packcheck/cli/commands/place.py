"""`packcheck place`: where else a part could go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from packcheck.cli.output import deliver_tables, emit
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Output, Target, spared

if TYPE_CHECKING:
    from packcheck.places.asked import Asked
    from packcheck.places.places import Places

__all__ = ["command"]


@click.command("place", short_help="Where could a part go? Every place in a box, and the best of them.")
@click.argument("scene", type=click.Path())
@click.argument("part")
@click.option("--within", metavar="BOX", required=True, help="Two opposite corners: 'x, y, z to x, y, z'.")
@click.option(
    "--turns", metavar="TURNS", default="now", help="'now; 0, 0, 90; lean_left 90'. Without: as it stands."
)
@click.option("--cell", metavar="LENGTH", default="10 mm", show_default=True, help="How fine the map is.")
@click.option("--beside", metavar="FRAME", help="Only where it comes near the zero of this frame.")
@click.option("--face", metavar="PART", help="Only where it comes near this part.")
@click.option("--stand-off", metavar="LENGTH", help="How near that is; 50 mm without.")
@click.option("--layout", metavar="NAME", help="In this layout of the scene.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables as JSON.")
@click.option(
    "--glb", type=OUTPUT, metavar="FILE.glb", help="Write the bay with the pockets and places, to look at."
)
@click.option(
    "--slices", type=OUTPUT, metavar="FILE", help="Draw the map from above, each height: .png, or .svg with words."
)
@click.option("--heights", metavar="HEIGHTS", help="Of the pictures: '150 up, 200 up'; three without.")
@click.option("--write-layout", metavar="NAME", help="Write a place into the scene as a layout of this name.")
@click.option("--choose", type=click.IntRange(1), default=1, help="Which place: its number; the first without.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the tables there, whole or not at all.")
def command(
    *,
    scene: str,
    part: str,
    layout: str | None,
    as_json: bool,
    glb: Target | None,
    slices: Target | None,
    heights: str | None,
    write_layout: str | None,
    choose: int,
    output: Target | None,
    **asked: str | None,
) -> None:
    """Where in a box could PART of SCENE go, and which places are the best?

    BOX holds the places for the part's middle: two opposite corners in the car, coordinates as in a scene file.
    Turns are those of a scene file, in place of the part's own. See `packcheck explain place`.
    """
    if heights is not None and slices is None:
        raise click.UsageError("--heights says where to cut the map, but not into which file: add --slices FILE")
    from packcheck.places.asked import Asked

    with working("reading", quietly=as_json):
        wanted = Asked(scene, part, layout, **asked)
    model, drawing, tables = spared(wanted.bay.sources, glb, slices, output)
    levels = wanted.heights(heights) if slices is not None else ()
    with working("looking for places", quietly=as_json):
        found = wanted.answer()
    deliver_tables(wanted.report(found), tables, as_json=as_json)
    if model is not None:
        model.write(wanted.exported(found))
    if drawing is not None:
        _draw(wanted, found, drawing, levels)
    if write_layout is not None:
        _write(wanted, found, choose, write_layout, quietly=as_json)


def _draw(wanted: Asked, found: Places, target: Output, levels: tuple[float, ...]) -> None:
    from packcheck.report.slice_sheet import slice_svg
    from packcheck.report.slices import slice_png

    units = wanted.bay.assembly.scene.units
    sheet = target.path.suffix.lower() == ".svg"
    target.write_beside(
        {
            name: slice_svg(drawn, wanted.part, units) if sheet else slice_png(drawn)
            for name, drawn in wanted.pictures(found, levels)
        }
    )


def _write(wanted: Asked, found: Places, number: int, name: str, *, quietly: bool) -> None:
    if number > len(found.spots):
        raise click.UsageError(f"there is no place {number} to write: {len(found.spots)} were found")
    plan = wanted.layout_of(found.spots[number - 1], name)
    plan.write()
    said = "".join(f"{line}\n" for line in plan.lines())
    if quietly:
        click.echo(said, nl=False, err=True)
    else:
        emit(said)
