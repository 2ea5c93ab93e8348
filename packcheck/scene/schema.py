"""The grammar as JSON Schema, so that an editor completes keys and underlines slips."""

from __future__ import annotations

from typing import Any, get_args

from packcheck.scene.document.forms import CONTRARY
from packcheck.scene.grammar.copying import MirrorOf
from packcheck.scene.grammar.grammar import Gap, Part, SceneFile
from packcheck.scene.grammar.surveying import Survey
from packcheck.scene.model.directions import FACES
from packcheck.scene.model.scene import Known
from packcheck.scene.quantities.placement import Faces, TurnWords
from packcheck.scene.solids.ended import ROUND
from packcheck.scene.solids.shapes import SHAPES, Solid

__all__ = ["scene_schema"]

_LENGTH = {"type": ["number", "string"]}
_EMPTY: dict[str, Any] = {"enum": [None]}


def scene_schema() -> dict[str, Any]:
    """What may stand in a scene file, as JSON Schema (draft 2020-12)."""
    schema = SceneFile.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    kinds = schema["$defs"]
    kinds[Solid.__name__]["oneOf"] = _one_of(SHAPES)
    kinds[Part.__name__]["oneOf"] = [*_one_of((*SHAPES, "solids")), _without_shape()]
    _told_apart(schema)
    for key in ROUND:
        kinds[key.capitalize()]["oneOf"] = [{"required": ["length"]}, {"required": ["from", "to"]}]
    kinds[Part.__name__]["allOf"] = [*(_not_both("faces", key) for key in ("at", "anchor")), _no_face_dropped()]
    kinds[TurnWords.__name__]["allOf"] = [_not_both(*pair) for pair in CONTRARY]
    kinds[Faces.__name__]["anyOf"] = _one_of((*FACES, "middle"))
    rule = kinds["Rule"]["properties"]
    rule["gap"] = {
        "anyOf": [_LENGTH, {"$ref": f"#/$defs/{Gap.__name__}"}],
        "description": rule["gap"]["description"],
    }
    mirror = kinds[Part.__name__]["properties"]["mirror_of"]
    mirror["anyOf"] = [_LENGTH, {"$ref": f"#/$defs/{MirrorOf.__name__}"}]  # a name is written as a length is
    mirror.pop("$ref", None)
    known = schema["properties"]["known"]
    known["anyOf"] = [{"enum": list(get_args(Known))}, {"$ref": known.pop("$ref")}]
    survey = kinds[Survey.__name__]["properties"]
    for key in ("points", "place"):
        survey[key]["additionalProperties"] = _or_nothing(survey[key]["additionalProperties"])
    made: dict[str, Any] = _without_null(schema)
    _let_faces_be_dropped(made["$defs"][Faces.__name__]["properties"])
    return made


def _let_faces_be_dropped(faces: dict[str, Any]) -> None:
    """A face may be left empty, which drops it; `_no_face_dropped` keeps that to copies."""
    for name in (*FACES, "middle"):
        faces[name] = {"description": faces[name]["description"], "if": _EMPTY, "else": faces[name]}


def _no_face_dropped() -> dict[str, Any]:
    """Only a part like another has a face that could be dropped."""
    return {
        "if": {"not": {"required": ["like"]}},
        "then": {"properties": {"faces": {"additionalProperties": {"not": _EMPTY}}}},
    }


def _without_shape() -> dict[str, Any]:
    """A part that takes its shape from another, or is only there for others."""
    copied = _one_of(("like", "mirror_of", "template"))
    return {"anyOf": copied, "not": {"anyOf": _one_of((*SHAPES, "solids"))}}


def _or_nothing(schema: dict[str, Any]) -> dict[str, Any]:
    """A map whose keys may all be left out, and then the braces too."""
    return {"if": {"type": "object"}, "then": schema, "else": {"enum": [None]}}


def _one_of(keys: tuple[str, ...]) -> list[dict[str, list[str]]]:
    return [{"required": [key]} for key in keys]


def _not_both(a: str, b: str) -> dict[str, Any]:
    return {"not": {"required": [a, b]}}


def _told_apart(node: Any) -> None:
    """Slots that take a list or a map, so written that a slip in one of them is shown in its place."""
    for below in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        _told_apart(below)
    forms = node.get("oneOf", []) if isinstance(node, dict) else []
    if [form.get("type", "object") for form in forms] == ["array", "object"]:
        node["else"], node["then"] = node.pop("oneOf")
        node["if"] = {"type": "object"}


def _without_null(node: Any) -> Any:
    """The schema without what marks a key as left out: a default of null, and null as a value."""
    if isinstance(node, list):
        return [_without_null(below) for below in node if below != {"type": "null"}]
    if not isinstance(node, dict):
        return node
    kept = {key: _without_null(below) for key, below in node.items() if (key, below) != ("default", None)}
    if len(kept.get("anyOf", ())) == 1:
        kept |= kept.pop("anyOf")[0]
    return kept
