"""The command line: arguments in, exit code out.

Nothing heavy is imported here or at the top of any command, so that `packcheck --help` answers at once.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from difflib import get_close_matches
from importlib import import_module
from typing import Any, Final, NoReturn

import click

from packcheck.cli.exit_codes import INTERRUPTED, REFUSED
from packcheck.cli.output import OutputError, reader_may_leave
from packcheck.cli.verbose import VERBOSE
from packcheck.errors import PackcheckError
from packcheck.threads import pin_process
from packcheck.version import __version__

__all__ = ["cli", "main"]

COMMANDS: Final = (
    *("check", "new", "blank", "list", "look", "rules"),
    *("report", "view", "watch", "export", "sweep"),
    *("compare", "leeway", "place", "size", "survey", "weigh"),
    *("explain", "schema", "completion"),
)
"""One module of this package each, in the order of the help; each holds its click command as `command`."""

DEBUG: Final = "PACKCHECK_DEBUG"
"""Set to anything, an unexpected error shows where it happened."""


class LazyGroup(click.Group):
    """Commands that are imported when they are asked for, and errors that say what to do about them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"packcheck.cli.commands.{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            near = get_close_matches(name, COMMANDS, n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"the commands are {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command '{name}': {hint}", ctx)
        return super().resolve_command(ctx, args)

    def main(self, *args: Any, **extra: Any) -> NoReturn:
        extra["standalone_mode"] = False
        sys.exit(_guarded(lambda: super(LazyGroup, self).main(*args, **extra)))


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Start with: packcheck new, then packcheck check scene.yaml",
)
@click.version_option(__version__, prog_name="packcheck", message="%(prog)s %(version)s")
@VERBOSE
def cli() -> None:
    """Does everything in the engine compartment fit, and how sure can that be?

    A scene file describes the parts as simple shapes and meshes. packcheck measures the gaps between them and says
    what clashes, what is tight, where, by which rule, and which move would mend it.
    """


def main() -> NoReturn:
    """Run the command line and leave with its exit code."""
    pin_process()
    cli.main(prog_name="packcheck")


def _guarded(run: Callable[[], object]) -> int:
    """The exit code of `run`, with every error told to the user."""
    code: object = 0
    try:
        with reader_may_leave():
            code = run()
            sys.stdout.flush()
    except click.ClickException as error:
        error.show()
        return REFUSED
    except PackcheckError as error:
        return _told(error)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        return INTERRUPTED
    except SystemExit as left:
        if left.code != 1:
            raise
        return 0  # the reader of a help text has gone, which click takes for a failure
    except OutputError as error:
        click.echo(f"cannot print the result: {error}", err=True)
        return REFUSED
    except Exception as error:
        if os.environ.get(DEBUG):
            raise
        what = f"{type(error).__name__}: {error}".splitlines()[0]
        click.echo(f"internal error: {what}: please report it, with the scene", err=True)
        click.echo(f"  {DEBUG}=1 shows where it happened", err=True)
        return REFUSED
    return code if isinstance(code, int) else 0


def _told(error: PackcheckError) -> int:
    """Every fault, then how many there are."""
    from packcheck.report.text.printable import printable

    for fault in error.faults:
        click.echo("\n".join(map(printable, str(fault).splitlines())), err=True)
    count = len(error.faults)
    click.echo(f"{count} fault{'' if count == 1 else 's'}", err=True)
    return REFUSED
