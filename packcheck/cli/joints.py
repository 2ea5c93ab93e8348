"""`packcheck check --joints`: tick what is bolted together, and have it written into the scene."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import click

from packcheck.cli.exit_codes import exit_code
from packcheck.cli.output import emit
from packcheck.cli.progress import working

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.findings import Finding

__all__ = ["ASK", "Joinable", "somebody_there", "state_joints"]

ASK: Final = "ask"
"""The choice of someone who gave none: to be asked."""

PROMPT: Final = "Which are joints? Numbers such as 1,3,5-8, or all, or none"


class Joinable(click.Command):
    """A command whose `--joints` may stand alone: what follows is its choice only where it can be one."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        at = args.index("--joints") if "--joints" in args else None
        if at is not None:
            following = args[at + 1] if at + 1 < len(args) else ""
            takes = following in ("all", "none", ASK) or "+" in following
            args = [*args[:at], f"--joints={following if takes else ASK}", *args[at + 1 + takes :]]
        return super().parse_args(ctx, args)


def state_joints(bay: Bay, choice: str, parts: Sequence[str], *, strict: bool) -> int:
    """Offer the pairs that look like joints, write those chosen, and check again. The exit code of the check."""
    from packcheck.joining import likely_joints
    from packcheck.report.text.headline import headline

    with working("checking"):
        report = bay.check(parts, moves=False)
    likely = likely_joints(report.findings)
    _list(likely, bay.assembly.scene.units)
    chosen = _chosen(likely, choice)
    if chosen and _write(bay, chosen, confirmed=choice != ASK):
        with working("checking again"):
            report = _anew(bay).check(parts, moves=False)
        emit(f"{headline(report)}\n")
    return exit_code(report, strict=strict)


def _list(likely: Sequence[Finding], units: str) -> None:
    from packcheck.report.text.measured import Measured
    from packcheck.report.text.printable import printable

    if not likely:
        emit("no pair looks like a joint that the file does not state\n")
    for number, finding in enumerate(likely, start=1):
        said = f"{' - '.join(finding.subjects)}: {Measured(finding, units).number()}"
        emit(f"{number:3}  {printable(said)}\n     {printable(finding.looks_joined)}\n")


def _chosen(likely: Sequence[Finding], choice: str) -> list[Finding]:
    if not likely or choice == "none":
        return []
    if choice == "all":
        return list(likely)
    if choice != ASK:
        return _named(likely, choice)
    if not somebody_there():
        click.echo("nobody to ask here: choose with --joints all, or --joints part+part,part+part", err=True)
        return []
    while True:
        try:
            return [likely[at] for at in _numbers(click.prompt(PROMPT, default="none"), len(likely))]
        except ValueError as error:
            click.echo(str(error), err=True)


def somebody_there() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin.isatty()


def _named(likely: Sequence[Finding], choice: str) -> list[Finding]:
    by_name = {name: finding for finding in likely for name in _both_ways(finding)}
    asked = [choice] if choice in by_name else [pair.strip() for pair in choice.split(",") if pair.strip()]
    strange = [pair for pair in asked if pair not in by_name]
    if strange:
        listed = ", ".join("+".join(finding.subjects) for finding in likely)
        raise click.UsageError(f"'{strange[0]}' is not one of the pairs that look like joints: {listed}")
    return list({by_name[pair].subjects: by_name[pair] for pair in asked}.values())


def _both_ways(finding: Finding) -> tuple[str, str]:
    a, b = finding.subjects
    return f"{a}+{b}", f"{b}+{a}"


def _numbers(text: str, most: int) -> list[int]:
    """Places from 0 of what was typed. Raises ValueError with what is wrong, for the user."""
    if text.strip() in ("all", "none"):
        return list(range(most)) if text.strip() == "all" else []
    found: list[int] = []
    for span in filter(None, (piece.strip() for piece in text.split(","))):
        first, _, last = span.partition("-")
        if not (first.strip().isdecimal() and (last or first).strip().isdecimal()):
            raise ValueError(f"{span!r} is no number")
        numbers = range(int(first), int(last or first) + 1)
        if not numbers or numbers[0] < 1 or numbers[-1] > most:
            raise ValueError(f"{span!r} is not within 1 to {most}")
        found += [number - 1 for number in numbers]
    return list(dict.fromkeys(found))


def _write(bay: Bay, chosen: Sequence[Finding], *, confirmed: bool) -> bool:
    """Show the change and write it, if that is wanted."""
    plan = bay.joined(chosen)
    emit("".join(f"{line}\n" for line in plan.lines()))
    if not confirmed and not click.confirm("Write this?", default=False):
        emit("nothing was written\n")
        return False
    plan.write()
    emit(f"wrote {len(chosen)} joint{'' if len(chosen) == 1 else 's'}\n")
    return True


def _anew(bay: Bay) -> Bay:
    """The scene as it is now, at the same stage; what was measured is not measured again."""
    import packcheck

    scene = bay.assembly.scene
    return replace(packcheck.load(scene.path, stage=scene.stage), session=bay.session)
