"""What `check` and `report` ask alike: which parts, which layout and stage, and how hard to look."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import wraps
from typing import TYPE_CHECKING, Any, Final

import click

from packcheck.cli.verbose import VERBOSE

if TYPE_CHECKING:
    from packcheck.bay import Bay
    from packcheck.scene.model.scene import Stage

__all__ = ["STAGE", "Asked", "asking"]

STAGES: Final = ("mockup", "roller", "final")

STAGE: Final = click.option("--stage", type=click.Choice(STAGES), help="Leave out parts gone by this stage.")

_OPTIONS: Final = (
    click.argument("scene", type=click.Path()),
    click.option(
        "--part", "parts", multiple=True, metavar="NAME", help="Only pairs with this part; several may be given."
    ),
    click.option("--layout", metavar="NAME", help="This layout of the scene in place of what is written first."),
    STAGE,
    click.option("--strict", is_flag=True, help="Let close gaps count as failing in the exit code."),
    click.option("--no-cache", is_flag=True, help="Read every mesh anew."),
    click.option("--no-moves", is_flag=True, help="Do not look for moves that would mend what falls short."),
    VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line says of a check."""

    scene: str
    parts: tuple[str, ...] = ()
    layout: str | None = None
    stage: Stage | None = None
    strict: bool = False
    no_cache: bool = False
    no_moves: bool = False

    def bay(self) -> Bay:
        """The scene, read and put together. Raises SceneError with every fault of it."""
        import packcheck

        return packcheck.load(self.scene, layout=self.layout, stage=self.stage, use_cache=not self.no_cache)


def asking(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command these options, which reach it together as `asked`."""

    @wraps(command)
    def gathered(*args: Any, **given: Any) -> None:
        asked = Asked(**{own.name: given.pop(own.name) for own in fields(Asked)})
        command(*args, asked=asked, **given)

    made: Callable[..., Any] = gathered
    for option in reversed(_OPTIONS):
        made = option(made)
    return made
