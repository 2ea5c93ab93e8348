"""Mesh files as they come broken, hostile or misnamed, each with words that its refusal must hold."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from typing import Any, Final

import numpy as np

from tests.solids.mesh_bytes import (
    as_3mf,
    as_ascii_ply,
    as_ascii_stl,
    as_glb,
    as_obj,
    as_off,
    as_ply,
    as_stl,
    box,
    glb_tree,
    model_xml,
    packed_glb,
    zipped,
)

__all__ = ["MALFORMED"]

_BOX: Final = box()
_STL, _ASCII, _OBJ, _OFF = as_stl(_BOX), as_ascii_stl(_BOX), as_obj(_BOX), as_off(_BOX)
_PLY, _ASCII_PLY, _GLB, _3MF = as_ply(_BOX), as_ascii_ply(_BOX), as_glb(_BOX), as_3mf(_BOX)


def _with_vertex(value: float) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    vertices, faces = box()
    vertices[3, 1] = value
    return vertices, faces


def _glb(change: Callable[[dict[str, Any]], object]) -> bytes:
    tree, binary = glb_tree(_BOX)
    change(tree)
    return packed_glb(tree, binary)


def _model(**changes: str) -> bytes:
    return zipped({"3D/3dmodel.model": model_xml(_BOX, **changes)})


def _doubling(levels: int) -> str:
    """Objects each made of two of the one before: two to the power of `levels` copies."""
    twice = '<object id="{}"><components><component objectid="{}"/><component objectid="{}"/></components></object>'
    return "".join(twice.format(k + 2, k + 1, k + 1) for k in range(levels))


_ENTITIES: Final = (
    '<?xml version="1.0"?><!DOCTYPE model [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    "<model><resources>&b;</resources></model>"
)
_OUTSIDE: Final = (
    '<?xml version="1.0"?><!DOCTYPE model [<!ENTITY secret SYSTEM "file:///etc/hostname">]><model>&secret;</model>'
)
_CROSSED: Final = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [4, -5, 0], [0, 10, 0]]

MALFORMED: Final[dict[str, tuple[str, bytes, str]]] = {
    "nothing at all": ("a.stl", b"", "is empty"),
    "zeros": ("a.stl", bytes(84), "holds no triangles"),
    "cut within a facet": ("a.stl", _STL[:-20], "is cut short by 20 bytes: its header promises 12 triangles"),
    "cut at a facet": ("a.stl", _STL[:-50], "is cut short by 50 bytes"),
    "bytes too many": ("a.stl", _STL + bytes(37), "has 37 bytes too many"),
    "ten million promised": ("a.stl", _STL[:80] + struct.pack("<I", 10_000_000) + _STL[84:], "is cut short by"),
    "four thousand million promised": ("a.stl", _STL[:80] + b"\xff" * 4 + _STL[84:], "is cut short by"),
    "one promised of twelve": ("a.stl", _STL[:80] + struct.pack("<I", 1) + _STL[84:], "has 550 bytes too many"),
    "less than a header": ("a.stl", b"\x01" * 60, "at least 84"),
    "noise": ("a.stl", bytes(range(1, 256)) * 3, "its header promises"),
    "nan in binary": ("a.stl", as_stl(_with_vertex(np.nan)), "4 vertices without finite coordinates"),
    "infinity in binary": ("a.stl", as_stl(_with_vertex(np.inf)), "4 vertices without finite coordinates"),
    "ascii cut short": ("a.stl", _ASCII[: len(_ASCII) // 2], "is cut short"),
    "ascii cut within a facet": ("a.stl", _ASCII.replace(b"endloop\nendfacet\nendsolid", b"endsolid"), "facet 12"),
    "ascii facet of four corners": (
        "a.stl",
        _ASCII.replace(b"outer loop", b"outer loop\nvertex 1 2 3", 1),
        "facet",
    ),
    "ascii decimal commas": ("a.stl", _ASCII.replace(b".", b","), "write decimal points"),
    "ascii nan": ("a.stl", as_ascii_stl(_with_vertex(np.nan)), "without finite"),
    "ascii number of two points": ("a.stl", _ASCII.replace(b"5.0", b"5.0.1", 1), "'-5.0.1'"),
    "ascii without facets": ("a.stl", b"solid part\nendsolid part\n", "holds no triangles"),
    "ascii with text after it": ("a.stl", _ASCII + b"facet normal 0 0 1\n", "between solid and endsolid"),
    "web page as stl": ("a.stl", b"<!DOCTYPE html><html><body>404</body></html>" * 20, "holds a web page"),
    "ply as stl": ("a.stl", _PLY, "holds PLY"),
    "obj as stl": ("a.stl", _OBJ, "holds OBJ"),
    "step as stl": ("a.stl", b"ISO-10303-21;\nHEADER;\nENDSEC;\n" * 9, "holds a STEP model"),
    "zip as stl": ("a.stl", _3MF, "holds a ZIP archive"),
    "stl as obj": ("a.obj", _ASCII, "holds ASCII STL"),
    "binary stl as obj": ("a.obj", as_stl(_BOX, b"exported"), "is named .obj but holds binary STL"),
    "pointer file": ("a.stl", b"version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 9\n", "Git LFS"),
    "unknown ending": ("a.dae", b"<COLLADA/>", "ends in .dae, which packcheck does not read"),
    "no ending": ("part", _STL, "has no ending that says what it is"),
    "obj face of vertex 0": ("a.obj", _OBJ.replace(b"f 1 4 2", b"f 0 4 2"), "use vertices 0"),
    "obj face of vertex 99": ("a.obj", _OBJ.replace(b"f 1 4 2", b"f 99 4 2"), "asks for vertex 99 of 8"),
    "obj face back beyond the first": ("a.obj", _OBJ + b"f -1 -2 -9\n", "count back beyond"),
    "obj face of letters": ("a.obj", _OBJ.replace(b"f 1 4 2", b"f 1 4 b"), "'b' where a whole number"),
    "obj face of two corners": ("a.obj", _OBJ + b"f 1 2\n", "fewer than three corners"),
    "obj vertex of letters": ("a.obj", _OBJ.replace(b"v -5.0", b"v five", 1), "'five' where a number"),
    "obj vertex with an underscore": ("a.obj", _OBJ.replace(b"v -5.0", b"v 1_0", 1), "'1_0' where a number"),
    "obj vertex of two numbers": ("a.obj", _OBJ + b"v 1 2\n", "vertex 9 has 2 numbers"),
    "obj nan": (
        "a.obj",
        as_obj(_with_vertex(np.nan)),
        "has 1 vertex without finite coordinates (first: 4)",
    ),
    "obj infinity": ("a.obj", as_obj(_with_vertex(np.inf)), "without finite"),
    "obj beyond numbers": ("a.obj", as_obj(_with_vertex(1e200)), "without finite"),
    "obj points only": ("a.obj", as_obj((_BOX[0], [])), "holds 8 points but no faces"),
    "obj of curves": ("a.obj", _OBJ + b"cstype bspline\n", "free-form"),
    "obj with a strange line": ("a.obj", _OBJ + b"face 1 2 3\n", "line 21 begins with 'face'"),
    "obj polygon that crosses itself": (
        "a.obj",
        as_obj((np.array(_CROSSED), [range(5)])),
        "crosses or touches itself",
    ),
    "obj flat to a line": ("a.obj", b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n", "no face that has an area"),
    "ply bad index": ("a.ply", as_ply((_BOX[0], [(0, 1, 99)])), "asks for 99 of 8"),
    "ply negative index": ("a.ply", as_ply((_BOX[0], [(0, 1, -1)])), "asks for -1 of 8"),
    "ply fractional index": ("a.ply", _ASCII_PLY.replace(b"3 0 3 1", b"3 0 3.5 1"), "asks for 3.5"),
    "ply cut short": ("a.ply", _PLY[:-3], "is cut short"),
    "ply too long": ("a.ply", _PLY + b"1234", "4 bytes more than its header declares"),
    "ascii ply too long": ("a.ply", _ASCII_PLY + b"7 7\n", "2 numbers more"),
    "ascii ply of letters": ("a.ply", _ASCII_PLY.replace(b"3 0 3 1", b"3 0 three 1"), "'three'"),
    "ply many promised": ("a.ply", _PLY.replace(b"vertex 8", b"vertex 4000000000"), "is cut short"),
    "ply negative count": ("a.ply", _PLY.replace(b"vertex 8", b"vertex -8"), "is cut short"),
    "ply points only": ("a.ply", as_ply((_BOX[0], [])), "holds 8 points but no faces"),
    "ply without end of header": ("a.ply", _PLY.split(b"end_header")[0], "its header does not end"),
    "ply of an unknown type": ("a.ply", _PLY.replace(b"double x", b"quad x"), "line 4: 'property quad x'"),
    "ply of no kind": ("a.ply", _PLY.replace(b"format binary_little_endian 1.0\n", b""), "ascii or binary"),
    "ply without z": ("a.ply", _PLY.replace(b"double z", b"double w"), "no vertices with x, y and z"),
    "off bad index": ("a.off", as_off((_BOX[0], [(0, 1, 8)])), "vertices it does not have (0 to 7)"),
    "off too few lines": ("a.off", _OFF[: _OFF.rindex(b"3 ")], "8 vertices and 12 faces declared, 19 lines follow"),
    "off face of more than it lists": (
        "a.off",
        as_off((_BOX[0], [(0, 1, 2)])).replace(b"3 0 1 2", b"4 0 1 2"),
        "face 1",
    ),
    "off of four coordinates": ("a.off", _OFF.replace(b"OFF", b"4OFF", 1), "rare kind"),
    "off points only": ("a.off", as_off((_BOX[0], [])), "holds 8 points but no faces"),
    "off without counts": ("a.off", b"OFF\n", "no line of vertex and face counts"),
    "glb cut short": ("a.glb", _GLB[:-8], "header promises"),
    "glb too long": ("a.glb", _GLB + bytes(4), "header promises"),
    "glb of version 1": ("a.glb", _GLB[:4] + struct.pack("<I", 1) + _GLB[8:], "GLB version 1"),
    "glb header only": ("a.glb", _GLB[:12], "is cut short"),
    "glb broken json": ("a.glb", packed_glb(b'{"asset": ', b""), "broken JSON"),
    "glb json list": ("a.glb", packed_glb(b"[]", b""), "not an object"),
    "glb deep json": ("a.glb", packed_glb(b"[" * 100_000, b""), "broken JSON"),
    "glb without meshes": (
        "a.glb",
        packed_glb(json.dumps({"asset": {"version": "2.0"}}).encode(), b""),
        "no triangles",
    ),
    "glb node circle": ("a.glb", _glb(lambda t: t["nodes"][0].update(children=[0])), "in a circle"),
    "glb outside buffer": (
        "a.glb",
        _glb(lambda t: t["buffers"][0].update(uri="../../secret.bin")),
        "outside itself",
    ),
    "glb buffer in text": (
        "a.glb",
        _glb(lambda t: t["buffers"][0].update(uri="data:;base64,AAAA")),
        "outside itself",
    ),
    "glb huge accessor": ("a.glb", _glb(lambda t: t["accessors"][0].update(count=10**9)), "past the end"),
    "glb negative count": ("a.glb", _glb(lambda t: t["accessors"][0].update(count=-1)), "not valid glTF"),
    "glb missing accessor": ("a.glb", _glb(lambda t: t.pop("accessors")), "not valid glTF"),
    "glb zero placeholders": ("a.glb", _glb(lambda t: t["accessors"][0].pop("bufferView")), "compressed or sparse"),
    "glb sparse": ("a.glb", _glb(lambda t: t["accessors"][0].update(sparse={"count": 1})), "compressed or sparse"),
    "glb quantized": ("a.glb", _glb(lambda t: t["accessors"][0].update(componentType=5122)), "quantized"),
    "glb needs an extension": (
        "a.glb",
        _glb(lambda t: t.update(extensionsRequired=["KHR_draco_mesh_compression"])),
        "KHR_draco_mesh_compression, which is not read",
    ),
    "glb skin": ("a.glb", _glb(lambda t: t["nodes"][0].update(skin=0)), "skinned"),
    "glb morph": ("a.glb", _glb(lambda t: t["meshes"][0]["primitives"][0].update(targets=[{}])), "morph"),
    "glb fan": ("a.glb", _glb(lambda t: t["meshes"][0]["primitives"][0].update(mode=6)), "fans"),
    "glb points only": ("a.glb", _glb(lambda t: t["meshes"][0]["primitives"][0].update(mode=0)), "no triangles"),
    "glb index past its body": ("a.glb", as_glb((_BOX[0], np.array([[0, 1, 8]]))), "vertices it does not have"),
    "glb nan": ("a.glb", as_glb(_with_vertex(np.nan)), "without finite"),
    "glb wild node": ("a.glb", _glb(lambda t: t["nodes"][0].update(scale=[1e300, 1, 1])), "without finite"),
    "glb number beyond all": (
        "a.glb",
        _glb(lambda t: t["nodes"][0].update(scale=[10**400, 1, 1])),
        "not valid glTF",
    ),
    "glb short matrix": (
        "a.glb",
        _glb(lambda t: t["nodes"][0].update(matrix=[1.0] * 9)),
        "has 9 numbers, needed 16",
    ),
    "web page as glb": ("a.glb", b"<html></html>", "holds a web page"),
    "3mf not a zip": ("a.3mf", b"PK\x03\x04 but no more", "broken ZIP"),
    "3mf cut short": ("a.3mf", _3MF[:-30], "broken ZIP"),
    "3mf without a model": ("a.3mf", zipped({"readme.txt": "hello"}), "no 3D model"),
    "3mf bomb": ("a.3mf", zipped({"3D/3dmodel.model": b" " * (1 << 24)}), "times its size"),
    "3mf bomb beside the model": (
        "a.3mf",
        zipped({"3D/3dmodel.model": model_xml(_BOX), "Metadata/x.png": bytes(1 << 24)}),
        "times its size",
    ),
    "3mf entity bomb": ("a.3mf", zipped({"3D/3dmodel.model": _ENTITIES}), "entities"),
    "3mf outside entity": ("a.3mf", zipped({"3D/3dmodel.model": _OUTSIDE}), "entities"),
    "3mf broken xml": ("a.3mf", zipped({"3D/3dmodel.model": "<model><resources>"}), "broken XML"),
    "3mf missing coordinate": (
        "a.3mf",
        zipped({"3D/3dmodel.model": model_xml(_BOX).replace(' z="', ' w="', 1)}),
        "'z'",
    ),
    "3mf bad index": ("a.3mf", zipped({"3D/3dmodel.model": model_xml((_BOX[0], np.array([[0, 1, 8]])))}), "of 8"),
    "3mf in a circle": (
        "a.3mf",
        _model(
            more='<object id="2"><components><component objectid="2"/></components></object>',
            build='<item objectid="2"/>',
        ),
        "without end",
    ),
    "3mf of copies without end": (
        "a.3mf",
        _model(more=_doubling(30), build='<item objectid="31"/>'),
        "without end",
    ),
    "3mf unknown object": ("a.3mf", _model(build='<item objectid="7"/>'), "does not hold (object 7"),
    "3mf builds nothing": ("a.3mf", _model(build=""), "holds no triangles"),
    "3mf short transform": (
        "a.3mf",
        _model(build='<item objectid="1" transform="1 0 0"/>'),
        "3 numbers, needed 12",
    ),
    "zip": ("a.zip", _3MF, "ends in .zip"),
}
"""What is wrong with it -> file name, bytes, words of the refusal."""
