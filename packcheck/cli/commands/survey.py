"""`packcheck survey`: what the readings come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from packcheck.cli.exit_codes import PASSED, REFUSED, UNDECIDED
from packcheck.cli.output import deliver, deliver_tables
from packcheck.cli.progress import working
from packcheck.cli.targets import NEW, OUTPUT, Target, spared

if TYPE_CHECKING:
    from packcheck.bay import Bay

__all__ = ["command"]


EPILOG = """\b
Exit codes:
  0  the readings agree
  2  the command, the scene or its survey cannot be used
  3  a reading is suspicious, or all of them scatter too much"""


@click.command("survey", short_help="Where do the readings put everything, and how sure is that?", epilog=EPILOG)
@click.argument("scene", type=click.Path())
@click.option("--part", "parts", multiple=True, metavar="NAME", help="What to measure next, for these parts only.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables as JSON.")
@click.option("--svg", type=OUTPUT, metavar="FILE", help="Draw the network with its error ellipses there.")
@click.option("--blank", is_flag=True, help="Print a measuring sheet to fill in with a pencil.")
@click.option("--csv", "as_csv", is_flag=True, help="With --blank: as CSV, for `readings` of the scene.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write it there, whole or not at all.")
@click.pass_context
def command(
    ctx: click.Context,
    *,
    scene: str,
    parts: tuple[str, ...],
    as_json: bool,
    svg: Target | None,
    blank: bool,
    as_csv: bool,
    output: Target | None,
) -> None:
    """Where do the readings of SCENE put everything, how sure is that, and which of them is wrong?

    `packcheck explain survey` tells how. A sheet is never written over a file that is there.
    """
    if as_csv and not blank:
        raise click.UsageError("--csv goes with --blank")
    if blank and output is not None and output.path.is_file():
        output = NEW.convert(output.path, None, None)  # it may be a sheet filled in, not yet named by the scene
    import packcheck

    with working("reading", quietly=as_json or as_csv):
        bay = packcheck.load(scene, trust=False)
    drawing, place = spared(bay.sources, svg, output)
    if drawing is not None:
        drawing.write(_picture(bay))
    if blank:
        deliver(_sheet(bay, as_csv=as_csv), place)
        return
    deliver_tables(bay.survey(parts), place, as_json=as_json)
    ctx.exit(_exit_code(bay))


def _exit_code(bay: Bay) -> int:
    """2 when the survey is no ground to stand on, 3 when a reading or all of them are suspicious, else 0."""
    from packcheck.studies.surveys.survey_words import poor_fit
    from packcheck.surveying.survey_faults import survey_faults

    surveyed = bay.assembly.surveyed
    if surveyed is not None and survey_faults(surveyed):
        return REFUSED
    return UNDECIDED if surveyed and (surveyed.verdicts.suspects or poor_fit(surveyed)) else PASSED


def _picture(bay: Bay) -> str:
    from packcheck.report.survey_svg import survey_svg

    return survey_svg(bay.survey_drawing())


def _sheet(bay: Bay, *, as_csv: bool) -> str:
    from packcheck.report.sheet_text import sheet_as_csv, sheet_as_text

    sheet = bay.measuring_sheet()
    scene = bay.assembly.scene
    return sheet_as_csv(sheet) if as_csv else sheet_as_text(sheet, f"{scene.path}: {scene.title}".rstrip(": "))
