"""The JSON of a GLB file cut down to its surface: nodes, triangles, and the numbers they need.

Materials, pictures, cameras, animations and extensions never reach the parser. What would change the surface
and is not read (skins, morphs, compressed or sparse numbers, instancing) is refused, not dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from packcheck.solids.formats.gate import MAX_BYTES, MAX_TRIANGLES, RefusedError

__all__ = ["plain_tree"]

_MAX_NODES: Final = 100_000
_BYTES: Final = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_FLOAT: Final = 5126
_INDEX_TYPES: Final = (5121, 5123, 5125)
_TRIANGLES: Final = 4
_STRIP: Final = 5
_FAN: Final = 6
_PLACING: Final = {"matrix": 16, "translation": 3, "rotation": 4, "scale": 3}
_HARMLESS: Final = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_", "KHR_xmp")
_BAKE: Final = "apply all deformations and export plain, uncompressed meshes"

Json = dict[str, Any]


def plain_tree(tree: Json, binary: int) -> tuple[Json, int, tuple[str, ...]]:
    """Only what makes the surface, how many triangles that is, and what was left out.

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
    except (KeyError, IndexError, TypeError, AttributeError, ValueError) as error:
        raise RefusedError(f"has a JSON chunk that is not valid glTF ({type(error).__name__}: {error})") from None


class _Plain:
    """Builds the plain tree; `self.triangles` holds the triangles of each mesh."""

    def __init__(self, tree: Json, binary: int) -> None:
        self.tree = tree
        self.binary = binary
        self.views: list[Json] = []
        self.accessors: list[Json] = []
        self.numbers: dict[int, int] = {}  # accessor of the file -> accessor of the plain tree
        self.bytes = 0
        self.left_out = 0

    def result(self) -> tuple[Json, int, tuple[str, ...]]:
        self._refuse_foreign()
        meshes = [self._mesh(mesh) for mesh in self.tree.get("meshes", [])]
        nodes = [self._node(node) for node in self.tree.get("nodes", [])]
        roots, remarks = self._roots(nodes)
        triangles = self._reached(nodes, roots, [count for _, count in meshes])
        if not triangles:
            raise RefusedError("holds no triangles")
        if self.left_out:
            remarks += (f"left out {self.left_out} sets of points or lines",)
        # a mesh without triangles has no primitives left, and a node may not refer to it
        for node in nodes:
            if "mesh" in node and not meshes[node["mesh"]][1]:
                del node["mesh"]
        plain = {
            "asset": {"version": "2.0"},
            "scene": 0,
            "scenes": [{"nodes": roots}],
            "nodes": nodes,
            "meshes": [mesh for mesh, _ in meshes],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": self.binary}],
        }
        return plain, triangles, remarks

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

    def _mesh(self, mesh: Json) -> tuple[Json, int]:
        primitives = []
        triangles = 0
        for primitive in mesh["primitives"]:
            mode = primitive.get("mode", _TRIANGLES)
            if mode not in (_TRIANGLES, _STRIP):
                if mode == _FAN:
                    raise RefusedError("holds triangle fans", mend="export it as plain triangles")
                self.left_out += 1
                continue
            if "targets" in primitive:
                raise RefusedError("holds morph targets", mend=_BAKE)
            plain, corners = self._primitive(primitive, mode)
            triangles += corners // 3 if mode == _TRIANGLES else max(corners - 2, 0)
            if corners >= 3:
                primitives.append(plain)
        return {"primitives": primitives}, triangles

    def _primitive(self, primitive: Json, mode: int) -> tuple[Json, int]:
        place = primitive["attributes"]["POSITION"]
        corners = self._accessor(place, lambda a: a["type"] == "VEC3" and a["componentType"] == _FLOAT)
        plain: Json = {"mode": mode, "attributes": {"POSITION": self.numbers[place]}}
        if "indices" in primitive:
            place = primitive["indices"]
            corners = self._accessor(place, lambda a: a["type"] == "SCALAR" and a["componentType"] in _INDEX_TYPES)
            plain["indices"] = self.numbers[place]
        if mode == _TRIANGLES and corners % 3:
            raise RefusedError(f"has a mesh of {corners} corners, which is not a multiple of 3")
        return plain, corners

    def _accessor(self, place: int, fits: Callable[[Json], bool]) -> int:
        """Take an accessor over, when it lies wholly within the binary chunk; how many values it has."""
        source = self.tree["accessors"][_count(place)]
        if "sparse" in source or "bufferView" not in source:
            raise RefusedError("holds compressed or sparse numbers", mend=_BAKE)
        if not fits(source) or source.get("normalized"):
            raise RefusedError("holds coordinates or indices of a rare type (quantized?)", mend=_BAKE)
        view = self.tree["bufferViews"][_count(source["bufferView"])]
        count = _count(source["count"])
        size = _BYTES[source["componentType"]] * (3 if source["type"] == "VEC3" else 1)
        step = _count(view.get("byteStride", size))
        start = _count(view.get("byteOffset", 0)) + _count(source.get("byteOffset", 0))
        length = step * (count - 1) + size if count else 0
        inside = _count(source.get("byteOffset", 0)) + length <= _count(view["byteLength"])
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

    def _node(self, node: Json) -> Json:
        if "skin" in node:
            raise RefusedError("holds a skinned mesh", mend=_BAKE)
        if "EXT_mesh_gpu_instancing" in node.get("extensions", {}):
            raise RefusedError("holds instanced meshes", mend=_BAKE)
        plain: Json = {key: [float(x) for x in node[key]] for key in _PLACING if key in node}
        for key, numbers in plain.items():
            if len(numbers) != _PLACING[key]:
                raise RefusedError(f"has a node whose {key} has {len(numbers)} numbers, needed {_PLACING[key]}")
        if "mesh" in node:
            plain["mesh"] = _count(node["mesh"])
            self.tree["meshes"][plain["mesh"]]
        if node.get("children"):
            plain["children"] = [_count(child) for child in node["children"]]
        return plain

    def _roots(self, nodes: list[Json]) -> tuple[list[int], tuple[str, ...]]:
        """Roots of the default scene; of all nodes when the file has no scenes."""
        scenes = self.tree.get("scenes", [])
        if not scenes:
            inner = {child for node in nodes for child in node.get("children", [])}
            return [place for place in range(len(nodes)) if place not in inner], ()
        shown = scenes[_count(self.tree.get("scene", 0))]
        others = len(scenes) - 1
        remarks = (f"left out {others} scenes that are not the default one",) if others else ()
        return [_count(root) for root in shown.get("nodes", [])], remarks

    def _reached(self, nodes: list[Json], roots: list[int], triangles: list[int]) -> int:
        """Triangles in the scene, each node counted once: a node reached twice is no tree."""
        seen: set[int] = set()
        queue = list(roots)
        total = 0
        while queue:
            place = queue.pop()
            if place in seen or len(seen) >= _MAX_NODES:
                raise RefusedError("has nodes that hang on each other in a circle, or too many of them")
            seen.add(place)
            total += triangles[nodes[place]["mesh"]] if "mesh" in nodes[place] else 0
            queue += nodes[place].get("children", [])
        if total > MAX_TRIANGLES:
            raise RefusedError(f"holds {total} triangles, the most is {MAX_TRIANGLES}", mend="simplify the mesh")
        return total


def _count(value: Any) -> int:
    """A whole number from 0, as JSON has it."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{value!r:.40} where a whole number must be")
    return value
