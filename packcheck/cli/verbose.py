"""`--verbose`: what is done on the way, and what was left out of it, told on stderr."""

from __future__ import annotations

import click

__all__ = ["VERBOSE"]


def _listen(_ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if not wanted:
        return
    import logging

    log = logging.getLogger("packcheck")
    log.setLevel(logging.INFO)
    if not log.handlers:
        told = logging.StreamHandler()
        told.setFormatter(logging.Formatter("%(message)s"))
        log.addHandler(told)


VERBOSE = click.option(
    "-v",
    "--verbose",
    is_flag=True,
    expose_value=False,
    callback=_listen,
    help="Tell also what is not kept.",
)
"""May stand before the command, or behind the commands that check."""
