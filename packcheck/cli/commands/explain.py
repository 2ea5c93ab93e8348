"""`packcheck explain`: a chapter of the manual, or what a study or the rules do, in their own words."""

from __future__ import annotations

import inspect
import sys
from difflib import get_close_matches
from types import ModuleType
from typing import Final

import click

from packcheck.cli.output import emit, reader_may_leave
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]

ALL: Final = "all"


@click.command("explain", short_help="Show a chapter of the manual, a study or the rules.")
@click.argument("topic", required=False)
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the manual there, as a page (with `all`).")
def command(*, topic: str | None, output: Target | None) -> None:
    """Show a chapter of the manual, or what a study asks, how it answers, and what it does not see.

    TOPIC is a chapter, a study, `rules` or `kinds`; without one, topics are listed. `all` is every chapter; with
    -o they go to one page with contents and search that needs no network.
    """
    from packcheck.report.manual import manual_page

    if output is not None:
        if topic != ALL:
            raise click.UsageError("-o writes the whole manual: packcheck explain all -o manual.html")
        (place,) = spared((), output)
        assert place is not None
        place.write(manual_page())
    elif topic is None:
        emit(_listed())
    else:
        _show(topic)


def _show(topic: str) -> None:
    from packcheck.report.manual import chapters

    if topic == ALL:
        _page("\n".join(chapters().values()))
    elif topic in chapters():
        _page(chapters()[topic])
    else:
        emit(f"{_study(topic)}\n")


def _page(markdown: str) -> None:
    """Show Markdown set out and page by page on a terminal, as it is written everywhere else."""
    if not sys.stdout.isatty():
        emit(markdown)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console()
    with reader_may_leave(), console.pager(styles=True):
        console.print(Markdown(markdown))


def _study(topic: str) -> str:
    topics = _topics()
    if topic not in topics:
        near = get_close_matches(topic, topics, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"the topics are {', '.join(topics)}"
        raise click.UsageError(f"there is no topic '{topic}': {hint}")
    return topics[topic]


def _listed() -> str:
    from packcheck.report.manual import title

    return "".join(f"{name:12}{title(text)}\n" for name, text in _topics().items())


def _topics() -> dict[str, str]:
    """What can be explained, by name: the chapters in their order, then the studies."""
    from packcheck.clearance import rules
    from packcheck.places import places
    from packcheck.report.manual import chapters
    from packcheck.scene.document import tables
    from packcheck.sizing import sizes
    from packcheck.studies import ON_REQUEST, STUDIES
    from packcheck.studies.surveys import readings

    studies = STUDIES | ON_REQUEST | {readings.ID: readings, "place": places, "size": sizes}
    return {
        **chapters(),
        **{name: _told(study) for name, study in studies.items()},
        "rules": _told(rules),
        "kinds": _kinds(),
        "tables": _told(tables),
        ALL: "Every chapter, one after the other",
    }


def _told(module: ModuleType) -> str:
    return inspect.cleandoc(module.__doc__ or "")


def _kinds() -> str:
    from packcheck.data import KINDS

    listed = (f"  {kind:12}{meaning}" for kind, meaning in KINDS.items())
    return "\n".join(["The kinds of part that the packaged rules know.", "", *listed])
