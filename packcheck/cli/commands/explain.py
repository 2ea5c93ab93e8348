"""`packcheck explain`: what a study or the rules do, in their own words."""

from __future__ import annotations

import inspect
from difflib import get_close_matches
from types import ModuleType

import click

from packcheck.cli.output import emit

__all__ = ["command"]


@click.command("explain", short_help="What does a study or the rules do?")
@click.argument("topic", required=False)
def command(*, topic: str | None) -> None:
    """What does a study ask, how does it answer, and what does it not see?

    TOPIC is a study, `rules` or `kinds`; without one, all topics are listed.
    """
    topics = _topics()
    if topic is None:
        emit("".join(f"{name:10}{text.splitlines()[0]}\n" for name, text in topics.items()))
        return
    if topic not in topics:
        near = get_close_matches(topic, topics, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"the topics are {', '.join(topics)}"
        raise click.UsageError(f"there is no topic '{topic}': {hint}")
    emit(f"{topics[topic]}\n")


def _topics() -> dict[str, str]:
    from packcheck.clearance import rules
    from packcheck.places import places
    from packcheck.scene.document import tables
    from packcheck.sizing import sizes
    from packcheck.studies import ON_REQUEST, STUDIES
    from packcheck.studies.surveys import readings

    studies = STUDIES | ON_REQUEST | {readings.ID: readings, "place": places, "size": sizes}
    return {
        **{name: _told(study) for name, study in studies.items()},
        "rules": _told(rules),
        "kinds": _kinds(),
        "tables": _told(tables),
    }


def _told(module: ModuleType) -> str:
    return inspect.cleandoc(module.__doc__ or "")


def _kinds() -> str:
    from packcheck.data import KINDS

    listed = (f"  {kind:12}{meaning}" for kind, meaning in KINDS.items())
    return "\n".join(["The kinds of part that the packaged rules know.", "", *listed])
