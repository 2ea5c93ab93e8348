"""What the grammar has at a place in the file, for messages: which keys, and whether a list."""

from __future__ import annotations

from collections.abc import Iterator
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, Tag

from packcheck.scene.grammar.grammar import SceneFile

__all__ = ["keys_at", "list_at"]


def keys_at(loc: tuple[str | int, ...]) -> tuple[str, ...]:
    """The keys that may be written in the map at `loc`; none when it takes names of the user's own."""
    kind = _kind_at(loc, "as a map")
    return tuple(_fields(kind)) if isinstance(kind, type) and issubclass(kind, BaseModel) else ()


def list_at(loc: tuple[str | int, ...]) -> bool:
    """Whether the grammar has a list at `loc`."""
    return get_origin(_kind_at(loc)) in (list, tuple)


def _kind_at(loc: tuple[str | int, ...], form: str = "") -> Any:
    """What the grammar has at `loc`, in the `form` asked for where a slot takes several."""
    kind: Any = SceneFile
    for step in loc:
        forms = dict(_forms(kind))
        if step in forms:  # not written by the user: the form that was taken
            kind = forms[str(step)]
            continue
        bare = _bare(kind)
        kind = _fields(bare).get(str(step)) if isinstance(bare, type) else get_args(bare)[-1]
    return _bare(dict(_forms(kind)).get(form, kind))


def _forms(kind: Any) -> Iterator[tuple[str, Any]]:
    """The forms a slot may take, by the tags that tell them apart."""
    if get_origin(kind) is Annotated:
        tags = [extra.tag for extra in kind.__metadata__ if isinstance(extra, Tag)]
        yield from ((tag, get_args(kind)[0]) for tag in tags)
    if get_origin(kind) in (Annotated, Union, UnionType):
        for below in get_args(kind):
            yield from _forms(below)


def _bare(kind: Any) -> Any:
    """`kind` without its annotations, in its first form, and without None when it may be left out."""
    while get_origin(kind) in (Annotated, Union, UnionType):
        kind = get_args(kind)[0]
    return kind


def _fields(kind: type[BaseModel]) -> dict[str, Any]:
    """What may be written, in the order of the class; what it shares with others comes behind, and notes last."""
    fields = kind.model_fields
    order = sorted(fields, key=lambda name: (name == "note", name not in kind.__annotations__))
    return {fields[name].alias or name: fields[name].annotation for name in order}
