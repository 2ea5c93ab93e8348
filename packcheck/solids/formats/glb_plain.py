"""The JSON of a GLB file cut down to its surface: nodes, triangles, and the numbers they need.

Materials, pictures, cameras, animations and extensions never reach the parser. What would change the surface
and is not read (skins, morphs, compressed or sparse numbers, instancing) is refused, not dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from packcheck.solids.formats.gate import MAX_BYTES, MAX_TRIANGLES, RefusedError
from packcheck.solids.formats.glb_nodes import placed_meshes, whole_number

__all__ = ["Plain", "plain_tree"]

_MAX_NODES: Final = 100_000
_BYTES: Final = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_FLOAT: Final = 5126
_INDEX_TYPES: Final = (5121, 5123, 5125)
_TRIANGLES: Final = 4
_STRIP: Final = 5
_FAN: Final = 6
_HARMLESS: Final = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_", "KHR_xmp")
_BAKE: Final = "apply all deformations and export plain, uncompressed meshes"

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Plain:
    """A tree with one node and one mesh (named b0, b1, ...) for each body, in the order of the file.

    `triangles` of all bodies; `names` of the bodies, "" where the file has none; `remarks` say what was left out.
    """

    tree: Json
    triangles: int
    names: tuple[str, ...]
    remarks: tuple[str, ...]


def plain_tree(tree: Json, binary: int) -> Plain:
    """Only what makes the surface.

    Parameters
    ----------
    tree : dict
        JSON of the file.
    binary : int
        Bytes of its binary chunk.

    Raises
    ------
    RefusedError
        When something points outside the file or past its end, repeats itself, or is of a kind not read.
    """
    try:
        return _Plain(tree, binary).result()
    except (LookupError, TypeError, AttributeError, ValueError, OverflowError) as error:
        raise RefusedError(f"has a JSON chunk that is not valid glTF ({type(error).__name__}: {error})") from None


@dataclass(slots=True)
class _Mesh:
    """Sets of triangles taken over, how many they hold, and how many vertices and corners."""

    primitives: list[Json] = field(default_factory=list)
    triangles: int = 0
    size: int = 0


class _Plain:
    """Builds the plain tree, keeping count of what the parser will have to hold."""

    def __init__(self, tree: Json, binary: int) -> None:
        self.tree = tree
        self.binary = binary
        self.views: list[Json] = []
        self.accessors: list[Json] = []
        self.numbers: dict[int, int] = {}  # accessor of the file -> accessor of the plain tree
        self.bytes = 0
        self.corners = 0
        self.left_out = 0

    def result(self) -> Plain:
        self._refuse_foreign()
        nodes = self.tree.get("nodes", [])
        if len(nodes) > _MAX_NODES:
            raise RefusedError(f"has more than {_MAX_NODES} nodes", mend="join its bodies before exporting")
        meshes = [self._mesh(mesh) for mesh in self.tree.get("meshes", [])]
        roots, remarks = self._roots(nodes)
        placed = [body for body in placed_meshes(nodes, roots) if meshes[body.mesh].triangles]
        for body in placed:
            self._spend(meshes[body.mesh].size)
        if not placed:
            raise RefusedError("holds no triangles")
        if self.left_out:
            remarks += (f"sets of points or lines left out: {self.left_out}",)
        plain = {
            "asset": {"version": "2.0"},
            "scene": 0,
            "scenes": [{"nodes": list(range(len(placed)))}],
            "nodes": [{"mesh": k, "matrix": body.matrix.T.ravel().tolist()} for k, body in enumerate(placed)],
            "meshes": [
                {"name": f"b{k}", "primitives": meshes[body.mesh].primitives} for k, body in enumerate(placed)
            ],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": self.binary}],
        }
        names = tuple(body.name or self._name(body.mesh) for body in placed)
        return Plain(plain, sum(meshes[body.mesh].triangles for body in placed), names, remarks)

    def _name(self, mesh: int) -> str:
        return str(self.tree["meshes"][mesh].get("name", ""))

    def _refuse_foreign(self) -> None:
        for buffer in self.tree.get("buffers", []):
            if "uri" in buffer:
                raise RefusedError(
                    f"refers to data outside itself ({str(buffer['uri'])[:40]!r})",
                    mend="export one self-contained .glb file",
                )
        unread = [name for name in self.tree.get("extensionsRequired", []) if not str(name).startswith(_HARMLESS)]
        if unread:
            raise RefusedError(f"needs {', '.join(map(str, unread))[:80]}, which is not read", mend=_BAKE)

    def _mesh(self, mesh: Json) -> _Mesh:
        plain = _Mesh()
        for primitive in mesh["primitives"]:
            mode = primitive.get("mode", _TRIANGLES)
            if mode not in (_TRIANGLES, _STRIP):
                if mode == _FAN:
                    raise RefusedError("holds triangle fans", mend="export it as plain triangles")
                self.left_out += 1
                continue
            if "targets" in primitive:
                raise RefusedError("holds morph targets", mend=_BAKE)
            self._primitive(primitive, mode, plain)
        return plain

    def _primitive(self, primitive: Json, mode: int, mesh: _Mesh) -> None:
        """Take one set of triangles over into `mesh`, unless it is empty."""
        place = primitive["attributes"]["POSITION"]
        points = self._accessor(place, lambda a: a["type"] == "VEC3" and a["componentType"] == _FLOAT)
        plain: Json = {"mode": mode, "attributes": {"POSITION": self.numbers[place]}}
        corners = points
        if "indices" in primitive:
            place = primitive["indices"]
            corners = self._accessor(place, lambda a: a["type"] == "SCALAR" and a["componentType"] in _INDEX_TYPES)
            plain["indices"] = self.numbers[place]
        if mode == _TRIANGLES and corners % 3:
            raise RefusedError(f"has a mesh of {corners} corners, which is not a multiple of 3")
        if corners >= 3:
            mesh.primitives.append(plain)
            mesh.triangles += corners // 3 if mode == _TRIANGLES else corners - 2
            mesh.size += points + corners
            self._spend(points + corners)

    def _spend(self, corners: int) -> None:
        self.corners += corners
        if self.corners > 4 * MAX_TRIANGLES:
            raise RefusedError(f"holds more than {MAX_TRIANGLES} triangles", mend="simplify the mesh")

    def _accessor(self, place: int, fits: Callable[[Json], bool]) -> int:
        """Take an accessor over, when it lies wholly within the binary chunk; how many values it has."""
        source = self.tree["accessors"][whole_number(place)]
        if "sparse" in source or "bufferView" not in source:
            raise RefusedError("holds compressed or sparse numbers", mend=_BAKE)
        if not fits(source) or source.get("normalized"):
            raise RefusedError("holds coordinates or indices of a rare type (quantized?)", mend=_BAKE)
        view = self.tree["bufferViews"][whole_number(source["bufferView"])]
        count = whole_number(source["count"])
        size = _BYTES[source["componentType"]] * (3 if source["type"] == "VEC3" else 1)
        step = whole_number(view.get("byteStride", size))
        start = whole_number(view.get("byteOffset", 0)) + whole_number(source.get("byteOffset", 0))
        length = step * (count - 1) + size if count else 0
        inside = whole_number(source.get("byteOffset", 0)) + length <= whole_number(view["byteLength"])
        if not (inside and step >= size and start + length <= self.binary and view["buffer"] == 0):
            raise RefusedError("is cut short: numbers are declared past the end of their data")
        if place not in self.numbers:
            self._take_over(place, source, start, length, step if step != size else 0)
        return count

    def _take_over(self, place: int, source: Json, start: int, length: int, stride: int) -> None:
        self.bytes += length
        if self.bytes > MAX_BYTES:
            raise RefusedError("declares more numbers than it can hold")
        self.numbers[place] = len(self.accessors)
        view = {"buffer": 0, "byteOffset": start, "byteLength": length}
        self.views.append(view | ({"byteStride": stride} if stride else {}))
        kept = {key: source[key] for key in ("componentType", "type", "count")}
        self.accessors.append(kept | {"bufferView": len(self.views) - 1})

    def _roots(self, nodes: list[Json]) -> tuple[list[int], tuple[str, ...]]:
        """Roots of the default scene; of all nodes when the file has no scenes."""
        scenes = self.tree.get("scenes", [])
        if not scenes:
            inner = {child for node in nodes for child in node.get("children", [])}
            return [place for place in range(len(nodes)) if place not in inner], ()
        shown = scenes[whole_number(self.tree.get("scene", 0))]
        others = len(scenes) - 1
        remarks = (f"scenes left out, not being the default one: {others}",) if others else ()
        return [whole_number(root) for root in shown.get("nodes", [])], remarks
