"""`packcheck completion`: words completed by the shell."""

from __future__ import annotations

import click

from packcheck.cli.output import emit

__all__ = ["command"]

EPILOG = """\b
To switch it on:
  bash   packcheck completion bash > ~/.packcheck-complete.bash
         echo '. ~/.packcheck-complete.bash' >> ~/.bashrc
  zsh    packcheck completion zsh > ~/.packcheck-complete.zsh
         echo '. ~/.packcheck-complete.zsh' >> ~/.zshrc
  fish   packcheck completion fish > ~/.config/fish/completions/packcheck.fish"""


@click.command("completion", short_help="Print a script for your shell to complete words.", epilog=EPILOG)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def command(ctx: click.Context, *, shell: str) -> None:
    """Print the script that lets SHELL complete packcheck's commands and options."""
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    emit(kind(ctx.find_root().command, {}, "packcheck", "_PACKCHECK_COMPLETE").source())
