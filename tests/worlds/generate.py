"""Random small scenes, made so that a source of doubt is met in a role that was asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tests.oracles.shapes import Array
from tests.worlds.evaluate import Drawn, MissedError, Settings
from tests.worlds.gap import gap, way_apart
from tests.worlds.maker import Maker, Tree, resting
from tests.worlds.roles import PLACES, SURFACES
from tests.worlds.scene import read

__all__ = ["KINDS", "MAKERS", "Made", "made"]

KINDS = ("frame ball", "part ball", "frame box", "part box")


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A scene, and the pair it was made for, with the setting at which the two are near."""

    tree: Tree
    a: str
    b: str
    settings: Settings


Build: TypeAlias = Callable[[Maker], tuple[str, str]]


def _part(m: Maker) -> tuple[str, str]:
    f = m.carrier("f")
    return m.part("a", **{"in": f}), m.part("b")


def _both(m: Maker, *, turning: bool) -> tuple[str, str]:
    f = m.carrier("f")
    m.part("a", **{"in": f})
    m.moving("m", "a", None, turning=turning)
    return "a", m.part("b", **{"in": f})


def _line(m: Maker, *, turning: bool = True, a: bool = False, b: bool = False) -> tuple[str, str]:
    f = m.carrier("f")
    m.part("a", **({"in": f} if a else {}))
    m.moving("m", "a", f, turning=turning)
    return "a", m.part("b", **({"in": f} if b else {}))


def _outer(m: Maker, *, inner: bool = False, a: bool = False, b: bool = False) -> tuple[str, str]:
    f = m.carrier("f")
    m.frames["g"] = {"at": m.spot(60), **({"in": f} if a else {})}
    m.part("a", **{"in": "g"})
    m.moving("outer", "g", f, plain=True)
    m.moving("inner", "a", f if inner else "g", plain=True)
    return "a", m.part("b", **({"in": f} if b else {}))


def _image(m: Maker, *, across: bool = False, source: bool = False, b: bool = False) -> tuple[str, str]:
    """The image of a part, or of one in the carrier, across a frame in the carrier or an exact one."""
    f = m.carrier("f")
    m.frames["mid"] = {"at": m.spot(30), "turn": m.turn(), **({"in": f} if across else {})}
    m.part("src", **({"in": f} if source else {}))
    m.parts["a"] = {"mirror_of": {"part": "src", "across": "mid"}}
    if source and not b and m.rng.random() < 0.3 and not across:
        return "a", "src"
    return "a", m.part("b", **({"in": f} if b else {}))


def _across(m: Maker) -> tuple[str, str]:
    """Against a third part or the one that it is the image of."""
    pair = _image(m, across=True)
    return pair if m.rng.random() < 0.6 else ("a", "src")


def _rests(m: Maker, *, part: bool = False, b: bool = False, moved: bool = False) -> tuple[str, str]:
    """A part that rests on a rail in the carrier, from any of the six sides."""
    f = m.carrier("f")
    rail = m.part("rail", **{"in": f, "at": m.spot(20)})
    resting(m, "a", rail, **({"in": f} if part else {}))
    if moved:
        m.moving("m", "a", rail)
    return "a", m.part("b", **({"in": f} if b else {}))


def _placed(m: Maker, *, line: bool) -> tuple[str, str]:
    """Drawn open: a line in the carrier, or a part of the carrier that is turned back."""
    f = m.carrier("f")
    m.part("a", **({} if line else {"in": f}))
    hinge = {
        "through": m.spot(60),
        "axis": m.letter(),
        "from": 0,
        "to": 110,
        "placed_at": float(m.rng.integers(20, 110)),
    }
    m.motions["m"] = {"carries": ["a"], "hinge": hinge, "during": "service", **({"in": f} if line else {})}
    return "a", m.part("b")


def _image_line(m: Maker, *, across: bool) -> tuple[str, str]:
    """A line that is given in an image."""
    f = m.carrier("f")
    m.frames["mid"] = {"at": m.spot(30), **({"in": f} if across else {})}
    m.part("src", **({} if across else {"in": f}))
    m.parts["img"] = {"mirror_of": {"part": "src", "across": "mid"}}
    m.part("a")
    m.moving("m", "a", "img")
    return "a", m.part("b")


def _surface(m: Maker) -> tuple[str, str]:
    return m.part("a", **m.doubt("part ball")), m.part("b")


def _bearer(m: Maker) -> tuple[str, str]:
    m.part("a", **m.doubt("part ball"))
    return "a", m.part("b", **{"in": "a"})


def _soft_rail(m: Maker) -> tuple[str, str]:
    m.part("rail", at=m.spot(20), **m.doubt("part ball"))
    return resting(m, "a", "rail"), m.part("b")


def _copied(m: Maker) -> tuple[str, str]:
    m.part("src", **m.doubt("part ball"))
    m.frames["mid"] = {"at": m.spot(30), "turn": m.turn()}
    m.parts["a"] = {"mirror_of": {"part": "src", "across": "mid"}}
    return "a", m.part("b")


MAKERS: dict[tuple[str, ...], Build] = {
    ("part", "nothing"): _part,
    ("part + other", "turning"): lambda m: _both(m, turning=True),
    ("part + other", "shifting"): lambda m: _both(m, turning=False),
    ("line", "turning"): _line,
    ("line", "shifting"): lambda m: _line(m, turning=False),
    ("part + line", "turning"): lambda m: _line(m, a=True),
    ("other + line", "turning"): lambda m: _line(m, b=True),
    ("outer line", "turning"): _outer,
    ("outer line + line", "turning"): lambda m: _outer(m, inner=True),
    ("outer line + line + part", "turning"): lambda m: _outer(m, inner=True, a=True),
    ("other + outer line", "turning"): lambda m: _outer(m, b=True),
    ("across", "mirror"): _across,
    ("mirrored", "mirror"): lambda m: _image(m, source=True),
    ("mirrored + other", "mirror"): lambda m: _image(m, source=True, b=True),
    ("across + mirrored", "mirror"): lambda m: _image(m, source=True, across=True),
    ("across + other", "mirror"): lambda m: _image(m, across=True, b=True),
    ("rest", "rest"): _rests,
    ("rest + other", "rest"): lambda m: _rests(m, b=True),
    ("part + rest", "rest"): lambda m: _rests(m, part=True),
    ("line + rest", "turning"): lambda m: _rests(m, moved=True),
    ("placed_at", "turning"): lambda m: _placed(m, line=True),
    ("part + turned back", "nothing"): lambda m: _placed(m, line=False),
    ("line + across", "mirror"): lambda m: _image_line(m, across=True),
    ("line + mirrored", "turning"): lambda m: _image_line(m, across=False),
    ("surface", "part"): _surface,
    ("surface", "bearer"): _bearer,
    ("surface", "rest"): _soft_rail,
    ("surface", "copy"): _copied,
}
assert set(MAKERS) >= {*PLACES, *(("surface", where) for where in SURFACES)}


def made(what: tuple[str, ...], kind: str, rng: np.random.Generator) -> Made:
    """A scene for a role, its pair 0 to 60 mm apart as drawn at one setting of its motions."""
    for _ in range(200):
        maker = Maker(rng, kind)
        try:
            a, b = MAKERS[what](maker)
            _spiced(maker, a, b)
            settings = _somewhere(maker)
            if _brought_near(maker, a, b, settings, float(rng.uniform(0, 60))):
                return Made(maker.tree, a, b, settings)
        except MissedError:
            continue
    raise RuntimeError(f"no scene for {what}, {kind}")


def _spiced(m: Maker, a: str, b: str) -> None:
    """Now and then more that is not known: a frame under all frames, the pair's own tolerances."""
    if m.rng.random() < 0.25:
        for tree in (m.frames, m.parts):
            for given in tree.values():
                if "mirror_of" not in given:
                    given.setdefault("in", "base")
        kind = m.kind if m.rng.random() < 0.5 else "frame ball"
        m.frames["base"] = {"at": m.spot(50), "turn": m.turn(), **m.doubt(kind)}
    for name in (a, b):
        given = m.parts[name]
        if "tolerance" not in given and m.rng.random() < 0.15:
            given |= m.doubt("part ball" if m.rng.random() < 0.5 else "part box")


def _somewhere(m: Maker) -> Settings:
    scene = read(m.tree)
    found = {}
    for name, motion in scene.motions.items():
        found[name] = tuple(float(m.rng.uniform(*ends)) for ends in motion.ranges)
    return found


def _brought_near(m: Maker, a: str, b: str, settings: Settings, target: float) -> bool:
    """Shift B, which is placed by `at`, along the gap until that is near `target`."""
    given = m.parts[b]
    if "at" not in given:
        return True
    for _ in range(12):
        drawn = Drawn(read(m.tree))
        one, other = drawn.solid(a, settings), drawn.solid(b, settings)
        off = gap(one, other).value - target
        if abs(off) < 1.0:
            return True
        way: Array = drawn.stand(given.get("in", "car")).rotation.T @ way_apart(one, other)
        given["at"] = [round(float(v), 2) for v in np.array(given["at"]) + way * off]
    return False
