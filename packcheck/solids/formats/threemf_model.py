"""The XML of a 3MF model part: objects, what they are made of, and what is built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final
from xml.parsers import expat

from packcheck.solids.formats.gate import RefusedError

__all__ = ["Content", "Model", "Reference", "model_of"]

_UNREAD: Final = frozenset({"beamlattice", "displacementmesh", "implicit", "levelset", "booleans"})


@dataclass(frozen=True, slots=True)
class Reference:
    """An object put somewhere: `path` names another part of the archive, "" this one."""

    object: str
    path: str = ""
    transform: str = ""


@dataclass(frozen=True, slots=True)
class Content:
    """One object: its own mesh as words (three a vertex, three a triangle), or other objects."""

    vertices: list[str] = field(default_factory=list)
    triangles: list[str] = field(default_factory=list)
    components: list[Reference] = field(default_factory=list)
    name: str = ""


@dataclass(slots=True)
class Model:
    """One model part. `unit` as the file spells it."""

    unit: str = "millimeter"
    objects: dict[str, Content] = field(default_factory=dict)
    items: list[Reference] = field(default_factory=list)


def model_of(text: bytes) -> Model:
    """The model that `text` describes; entities and document types are refused, whatever they say.

    Raises
    ------
    RefusedError
        When the XML is broken, lacks an attribute, or holds shapes that are not triangles.
    """
    reader = _Reader()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = reader.start
    parser.StartDoctypeDeclHandler = _refuse_doctype
    try:
        parser.Parse(text, True)
    except expat.ExpatError as error:
        raise RefusedError(f"has broken XML ({error})") from None
    except KeyError as error:
        line = parser.CurrentLineNumber
        raise RefusedError(f"has an element without its {error} (line {line} of its model)") from None
    except (LookupError, ValueError) as error:
        raise RefusedError(f"has XML in an encoding that is not known ({error})") from None
    return reader.model


def _refuse_doctype(*_: object) -> None:
    raise RefusedError("declares XML entities or a document type, which no 3MF file may")


class _Reader:
    def __init__(self) -> None:
        self.model = Model()
        self._current = Content()

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        """Take in one element; those that hold no geometry pass."""
        match name.rpartition(" ")[2]:
            case "vertex":
                self._current.vertices.extend((attributes["x"], attributes["y"], attributes["z"]))
            case "triangle":
                self._current.triangles.extend((attributes["v1"], attributes["v2"], attributes["v3"]))
            case "object":
                self._begin(attributes["id"], attributes.get("name", ""))
            case "component":
                self._current.components.append(_reference(attributes))
            case "item":
                self.model.items.append(_reference(attributes))
            case "model":
                self.model.unit = attributes.get("unit", self.model.unit)
            case "mesh" if self._current.vertices:
                raise RefusedError("holds an object of two meshes")
            case unread if unread in _UNREAD:
                raise RefusedError(
                    f"holds a shape that is not made of triangles ({unread})", mend="export a plain mesh"
                )

    def _begin(self, number: str, name: str) -> None:
        if number in self.model.objects:
            raise RefusedError(f"holds two objects of one number ({number})")
        self._current = self.model.objects[number] = Content(name=name)


def _reference(attributes: Mapping[str, str]) -> Reference:
    path = next((value for key, value in attributes.items() if key.rpartition(" ")[2] == "path"), "")
    return Reference(attributes["objectid"], path, attributes.get("transform", ""))
