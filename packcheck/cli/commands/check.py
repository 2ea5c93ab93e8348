"""`packcheck check`: what clashes and what is tight."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from packcheck.budget import Budget, BudgetError, read_budget
from packcheck.cli.asking import Asked, asking
from packcheck.cli.exit_codes import exit_code
from packcheck.cli.joints import Joinable, state_joints
from packcheck.cli.output import emit, emit_lines
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Output, Target, spared
from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.findings import Report

__all__ = ["command"]


class BudgetType(click.ParamType):  # type: ignore[type-arg]  # generic only since click 8.2
    """How much may be asked."""

    name = "budget"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Budget:
        try:
            return value if isinstance(value, Budget) else read_budget(str(value))
        except BudgetError as error:
            self.fail(str(error), param, ctx)


BUDGET: Final = BudgetType()

JOINTS = """State pairs that look like joints as bolted_to in the scene: asks which, or WHICH is all, or
part+part,part+part. Shows the change first; comments and order are kept."""

EPILOG = """\b
Exit codes:
  0  nothing falls short, as described in the file
  1  something falls short (with --strict: or is close)
  2  the command or the scene cannot be used
  3  something is unsure or not checked, and nothing falls short"""


@click.command(
    "check", short_help="What clashes, what is tight, and which move mends it?", epilog=EPILOG, cls=Joinable
)
@click.option("--json", "form", flag_value="json", help="Print the report as JSON.")
@click.option("--csv", "form", flag_value="csv", help="Print one line per finding, for a spreadsheet.")
@click.option(
    "--draws", type=click.IntRange(200), metavar="N", help="Draw gaps that are only likely N times, to test the +-."
)
@click.option("--seed", type=int, default=1, show_default=True, help="Of the draws: the same seed, the same draws.")
@click.option("--joints", metavar="[WHICH]", help=JOINTS)
@click.option(
    "--budget", type=BUDGET, metavar="MUCH", help="For motions, then moves: 30s of work, or 20000 questions."
)
@click.option("-q", "--quiet", is_flag=True, help="Print the verdict line only.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the report there, whole or not at all.")
@asking
@click.pass_context
def command(
    ctx: click.Context,
    *,
    asked: Asked,
    form: str | None,
    draws: int | None,
    seed: int,
    joints: str | None,
    budget: Budget | None,
    quiet: bool,
    output: Target | None,
) -> None:
    """What clashes, what is tight, by how much, where, and which move mends it?

    SCENE is a scene file; `packcheck new` writes one to start from.
    """
    _refuse_contradictions(form, output, quiet=quiet)
    if joints is not None:
        _refuse_beside_joints(form or output or quiet, asked.layout)
    with working("reading", quietly=form is not None):
        bay = asked.bay()
    if joints is not None:
        ctx.exit(state_joints(bay, joints, asked.parts, strict=asked.strict))
    (place,) = spared(bay.sources, output)
    moves = not (asked.no_moves or (quiet and output is None))
    with working("checking", quietly=form is not None):
        report = bay.check(asked.parts, moves=moves, draws=draws or 0, seed=seed, budget=budget)
    _deliver(report, form, place, quiet=quiet)
    ctx.exit(exit_code(report, strict=asked.strict))


def _refuse_contradictions(form: str | None, output: Target | None, *, quiet: bool) -> None:
    if quiet and form and output is None:
        raise click.UsageError(f"--quiet prints one line and --{form} the whole report: choose one, or add -o FILE")


def _refuse_beside_joints(shaped: object, layout: str | None) -> None:
    if shaped:
        raise click.UsageError("--joints writes to the scene and prints a list: leave out what shapes the report")
    if layout is not None:
        raise click.UsageError("joints are stated for the scene as written: leave out --layout")


def _deliver(report: Report, form: str | None, output: Output | None, *, quiet: bool) -> None:
    """The report to its file and the verdict to the screen, or the report to the screen."""
    from packcheck.report.text.as_text import PIPED_WIDTH, report_lines
    from packcheck.report.text.caution import CAUTION
    from packcheck.report.text.headline import headline

    if output is not None:
        output.write(_written(report, form))
    if output is not None or quiet:
        emit(f"{headline(report)}\n")
    elif form is not None:
        emit(_written(report, form))
        if form == "csv":  # the other forms carry it themselves
            click.echo(CAUTION, err=True)
    else:
        emit_lines(lambda width: report_lines(report, width), PIPED_WIDTH)


def _written(report: Report, form: str | None) -> str:
    from packcheck.report.as_csv import as_csv
    from packcheck.report.as_json import as_json
    from packcheck.report.text.as_text import as_text

    if form == "json":
        return as_json(report, version=__version__)
    return as_csv(report) if form == "csv" else as_text(report)
