"""What a report says besides its findings: notes of the file, what was left out, what a survey found wrong."""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.assembly.assembly import Assembly
from packcheck.assembly.imaging import image_notes
from packcheck.scene.model.motion import Motion
from packcheck.scene.model.scene import Frame, Part, Scene
from packcheck.studies.surveys.survey_words import poor_fit, suspicions

__all__ = ["notes_of"]


def notes_of(assembly: Assembly) -> tuple[str, ...]:
    """Every note, in the order in which it is read."""
    return (*_stated(assembly.scene), *_left_out(assembly), *_suspected(assembly))


def _stated(scene: Scene) -> tuple[str, ...]:
    """What the file notes of itself, its frames, parts and motions, to be read beside the results."""
    own = (scene.note,) if scene.note else ()
    nodes: list[Frame | Part | Motion] = [*scene.frames.values(), *scene.parts.values(), *scene.motions.values()]
    noted = (f"{getattr(node, 'family', '') or node.name}: {node.note}" for node in nodes if node.note)
    return (*own, *dict.fromkeys(noted), *(_unplaced(part) for part in scene.parts.values() if not part.placed))


def _left_out(assembly: Assembly) -> Iterator[str]:
    if assembly.gone:
        yield f"left out at the stage {assembly.scene.stage}: {', '.join(assembly.gone)}"
    if assembly.unasked:
        yield f"not measured, since they are taken from what was left out: {', '.join(assembly.unasked)}"
    yield from (*assembly.beyond.notes(), *dict.fromkeys(image_notes(assembly)))


def _suspected(assembly: Assembly) -> Iterator[str]:
    """What the survey found wrong among its readings; the places rest on the others, or on all that disagree."""
    if assembly.surveyed:
        poor = poor_fit(assembly.surveyed)
        yield from [*suspicions(assembly.surveyed), *([poor] if poor else [])]


def _unplaced(part: Part) -> str:
    return f"{part.name}: no `at` is given, so it stands at the zero of {part.parent}"
