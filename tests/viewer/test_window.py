"""The drawn picture and the real window: pixels that mean something, keys and clicks that do something."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

from tests.cli.running import own_process, run

ROOT = Path(__file__).parents[2]

SCENE = """packcheck: 1
parts:
  left_box: {kind: engine, box: [60, 60, 60], at: [0, 0, 0]}
  middle_box: {kind: air, box: [60, 60, 60], at: [0, 80, 0]}
  right_box: {kind: oil, box: [60, 60, 60], at: [0, 160, 0]}
  far_box: {kind: fuel, box: [60, 60, 60], at: [0, 600, 0]}
clearances: {use: none, default: 30 mm}
"""

SHOOT = """
import json, sys
import numpy as np
from pathlib import Path
from packcheck.viewer.desk import Desk
from packcheck.viewer.window import Window
desk = Desk(Path(sys.argv[1]))
told = []
for number in map(int, [given for given in sys.argv[3:] if given != "beside"]):
    desk.go_to(number)
    window = Window(desk, off_screen=True, beside="beside" in sys.argv)
    window.screenshot(Path(sys.argv[2]) / f"{number}.png")
    points = desk.finding.points
    told.append({"pixels": [window.picture.pixel(p).tolist() for p in points], "points": points.tolist(),
                 "eye": list(window.plotter.camera.position), "aim": list(window.plotter.camera.focal_point),
                 "middle": window.picture.pixel(points.mean(axis=0)).tolist(), "subjects": desk.finding.subjects})
print(json.dumps(told))
"""

DRIVE = """
import json, sys
import numpy as np
from pathlib import Path
from packcheck.viewer.desk import Desk
from packcheck.viewer.window import Window
desk = Desk(Path(sys.argv[1]))
window = Window(desk, size=(640, 480))
seen = []
steps = iter(["n", "n", "Home", "click", "Right", "Return", "Return", "c", "b", "l", "d", "h", "a", "Escape", "row",
              "kind", "wheel", "q"])

def press(item):
    x, y = round(item.left + item.width / 2), 480 - round(item.top + item.height / 2)
    interactor = window.plotter.iren.interactor
    interactor.SetEventPosition(x, y)
    interactor.InvokeEvent("LeftButtonPressEvent")
    interactor.InvokeEvent("LeftButtonReleaseEvent")

def beat(interactor, _):
    step = next(steps, "q")
    if step == "row":
        press([item for item in window.items if item.sort == "row"][1])
    elif step == "kind":
        press(next(item for item in window.items if item.act == ("kind", "oil")))
        seen.append(["hidden", sorted(window.controls.shown.hidden), None, []])
    elif step == "wheel":
        interactor.SetEventPosition(20, 400)
        interactor.InvokeEvent("MouseWheelBackwardEvent")
    elif step == "click":
        x, y = window.picture.pixel(np.array([0.0, 80.0, 0.0]))
        window.click(round(x), 480 - round(y))
    else:
        interactor.SetKeySym(step)
        interactor.InvokeEvent("KeyPressEvent")
    seen.append([step, desk.at, None if desk.nudge is None else desk.nudge.part, desk.said[:1]])

window.plotter.iren.interactor.AddObserver("TimerEvent", beat)
window.open()
print(json.dumps(seen))
"""

Pixels = npt.NDArray[np.int64]


MOVING = """packcheck: 1
parts:
  slider: {kind: air, box: [40, 40, 40], at: [0, 0, 0]}
  stop: {kind: engine, box: [40, 40, 40], at: [0, 130, 0]}
motions:
  slides: {carries: slider, travel: {by: [0, 1, 0], from: 0, to: 80}}
clearances: {use: none, default: 60 mm}
"""

PLAY = """
import json, sys
import numpy as np
from pathlib import Path
from packcheck.viewer.desk import Desk
from packcheck.viewer.window import Window
desk = Desk(Path(sys.argv[1]))
window = Window(desk, off_screen=True)
told = {}
for name, act, share in [("rest", ("whole",), 0.0), ("middle", ("slide", "slides"), 0.5),
                         ("bare", ("switch", "ends"), 0.0), ("hidden", ("kind", "air"), 0.0)]:
    window.controls.do(act, share)
    window.again()
    window.screenshot(Path(sys.argv[2]) / f"{name}.png")
told["middle"] = window.picture.pixel(np.array([0.0, 40.0, 20.0])).tolist()
told["end"] = window.picture.pixel(np.array([0.0, 80.0, 20.0])).tolist()
told["corners"] = [window.picture.pixel(np.array(p)).tolist() for p in
                   ([20.0, 100.0, 20.0], [20.0, 100.0, -20.0])]
print(json.dumps(told))
"""

CUT = """
import json, sys
import numpy as np
from pathlib import Path
from packcheck.viewer.desk import Desk
from packcheck.viewer.window import Window
desk = Desk(Path(sys.argv[1]))
desk.go_to(1)
window = Window(desk, off_screen=True, beside=False)
eye = desk.eye().toward
middle = desk.finding.points.mean(axis=0)
for name, keys in [("whole", []), ("cut", ["c"]), ("off", ["braceright"] * 12)]:
    for key in keys:
        window.controls.key(key)
    window.again()
    window.screenshot(Path(sys.argv[2]) / f"{name}.png")
print(json.dumps([window.picture.pixel(middle + s * 12 * desk.finding.direction).tolist() for s in (2, -2)]))
"""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return path


def shown(path: Path) -> Pixels:
    return np.array(Image.open(path).convert("RGB"), dtype=np.int64)


def orange(pixels: Pixels) -> npt.NDArray[np.bool_]:
    """Pixels that are a shade of the hue of what falls short."""
    red, green, blue = pixels[..., 0], pixels[..., 1], pixels[..., 2]
    found: npt.NDArray[np.bool_] = (red > 90) & (blue < 0.15 * red) & (abs(green - 0.41 * red) < 0.12 * red)
    return found


def scripted(code: str, *args: object) -> str:
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    if "DISPLAY" not in settings:
        settings["VTK_DEFAULT_OPENGL_WINDOW"] = "vtkEGLRenderWindow"
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, args)],
        capture_output=True,
        text=True,
        env=settings,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_highlight_and_the_witness_follow_the_finding(scene: Path, tmp_path: Path) -> None:
    """Oracle: the projection of the camera worked out by hand; by head which boxes are short, 20 mm apart of 30.

    The ends of the gap's line lie within 3 px of where its witness points are projected; beyond each end the first
    part's colour is plain and the second's striped; in the next finding they have changed.
    """
    told = json.loads(scripted(SHOOT, scene, tmp_path, 1, 2))
    assert [entry["subjects"] for entry in told] == [["left_box", "middle_box"], ["middle_box", "right_box"]]
    pictures = [shown(tmp_path / f"{number}.png") for number in (1, 2)]
    for entry, pixels in zip(told, pictures, strict=True):
        first, second = (np.array(place) for place in entry["pixels"])
        along = (second - first) / np.linalg.norm(second - first)
        for end, out in ((first, -along), (second, along)):
            assert inked_end(pixels, end, out) < 3.0
        below = np.array([0.0, 40.0])  # the witness points lie on the upper edges of the two faces
        assert share(pixels, first - along * 30 + below) > 0.95
        assert 0.15 < share(pixels, second + along * 30 + below) < 0.65
    assert (orange(pictures[0]) != orange(pictures[1])).mean() < 0.5
    assert orange(pictures[0]).sum() > 20_000


def inked_end(pixels: Pixels, end: npt.NDArray[np.float64], out: npt.NDArray[np.float64]) -> float:
    """How far from `end` the dark line stops, px, going along it outward from 10 px inside."""
    for step in np.arange(-10, 12, 0.5):
        x, y = (end + out * step).round().astype(int)
        if pixels[y - 1 : y + 2, x - 1 : x + 2].sum(axis=2).min() > 220:
            return abs(float(step))
    return np.inf


def share(pixels: Pixels, place: npt.NDArray[np.float64]) -> float:
    """How much of a square of 30 px around `place` is in the hue of what falls short."""
    x, y = place.round().astype(int)
    return float(orange(pixels[y - 15 : y + 15, x - 15 : x + 15]).mean())


def grey(pixels: Pixels) -> npt.NDArray[np.bool_]:
    """Pixels of a part that passes, whatever its shade: neither white nor ink nor of a hue."""
    spread = pixels.max(axis=2) - pixels.min(axis=2)
    found: npt.NDArray[np.bool_] = (spread < 40) & (pixels.max(axis=2) > 70) & (pixels.max(axis=2) < 245)
    return found


def test_a_slider_moves_the_part_and_its_ends_are_outlined(tmp_path: Path) -> None:
    """Oracle: the projection by hand. The part is seen where half of 80 mm takes it; its other end in dashes.

    With the switch off the dashes are gone: dark pixels along the edge that stands farthest to the right.
    """
    path = tmp_path / "scene.yaml"
    path.write_text(MOVING, encoding="utf-8")
    told = json.loads(scripted(PLAY, path, tmp_path))
    rest, middle, bare, hidden = (shown(tmp_path / f"{n}.png") for n in ("rest", "middle", "bare", "hidden"))
    x, y = np.round(told["middle"]).astype(int)
    assert (rest[y, x] != middle[y, x]).any()
    assert (hidden[y - 3 : y + 3, x - 3 : x + 3] > 250).all()
    (x0, y0), (x1, y1) = np.round(told["corners"]).astype(int)
    strips = [pixels[min(y0, y1) : max(y0, y1), min(x0, x1) - 4 : max(x0, x1) + 4] for pixels in (middle, bare)]
    dashes, nothing = ((strip.max(axis=2) < 110).any(axis=1).mean() for strip in strips)
    assert 0.5 < dashes < 0.95
    assert nothing < dashes - 0.4


def test_a_section_takes_away_what_is_nearer_and_fills_what_it_cuts(scene: Path, tmp_path: Path) -> None:
    """Oracle: by head. Boxes cut through their middles show flat faces in the full hue; slid away, others."""
    places = json.loads(scripted(CUT, scene, tmp_path))
    whole, cut, off = (shown(tmp_path / f"{name}.png") for name in ("whole", "cut", "off"))
    x, y = np.round(places[0]).astype(int)
    area = np.s_[y + 5 : y + 25, x - 10 : x + 10]
    assert np.ptp(cut[area].reshape(-1, 3), axis=0).max() <= 2
    assert (np.abs(cut[area] - [204, 84, 0]) <= 2).all()
    assert (cut != whole).any(axis=2).mean() > 0.02
    assert (off != cut).any(axis=2).mean() > 0.02


def test_the_panel_stands_beside_the_picture(scene: Path, tmp_path: Path) -> None:
    """Oracle: the words and marks of two findings: orange bars at the left edge, ink, and a box for each kind."""
    scripted(SHOOT, scene, tmp_path, 1, "beside")
    pixels = shown(tmp_path / "1.png")
    panel = pixels[:, :318]
    bars = (np.abs(panel[:, 1:4] - [204, 84, 0]).max(axis=2) <= 3).all(axis=1)
    assert 60 < bars.sum() < 80
    assert ((panel < 90).all(axis=2)).sum() > 1500
    assert (panel[:, 200:] == [245, 246, 247]).all(axis=2).mean() > 0.7
    assert orange(pixels[:, 318:]).sum() > 15_000


def test_a_screenshot_needs_no_display(scene: Path, tmp_path: Path) -> None:
    target = tmp_path / "bay.png"
    done = own_process("view", scene, "--screenshot", target, DISPLAY="")
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"2 shortfalls found in 6 pairs: 2 tight\nwrote {target}\n"
    pixels = shown(target)
    assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 5
    assert orange(pixels).sum() > 3000


def test_a_finding_can_be_asked_for_by_number(scene: Path, tmp_path: Path) -> None:
    done = own_process("view", scene, "--finding", "2", "--screenshot", tmp_path / "two.png", DISPLAY="")
    assert done.stdout.startswith("2 of 2  tight: middle_box - right_box")
    refused = own_process("view", scene, "--finding", "9", "--screenshot", tmp_path / "nine.png", DISPLAY="")
    assert refused.returncode == 2
    assert "there is no finding 9" in refused.stderr
    assert not (tmp_path / "nine.png").exists()


def test_a_real_window_hears_keys_and_clicks_and_writes_the_nudge(scene: Path) -> None:
    """Oracle: by head. Two steps, home, a click on the middle box, 1 mm to the right, shown, written."""
    server = shutil.which("xvfb-run")
    assert server, "the window's test needs a virtual display: apt-get install xvfb xauth"
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [server, "-a", sys.executable, "-c", DRIVE, str(scene)],
        capture_output=True,
        text=True,
        env=settings,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout.strip().splitlines()[-1])
    assert [seen[k][1] for k in (0, 1, 2)] == [0, 1, None]
    assert seen[3][2] == "middle_box"
    assert seen[4][3][0].startswith("middle_box: 1 mm right")
    assert seen[6][3] == ["written"]
    assert ["hidden", ["oil"], None, []] in seen
    assert next(entry for entry in seen if entry[0] == "row")[1] == 1
    assert seen[-1][0] == "q"
    assert scene.read_text(encoding="utf-8") == SCENE.replace("at: [0, 80, 0]", "at: [0, 81, 0]")


def test_without_a_display_the_window_says_what_to_do(scene: Path) -> None:
    done = own_process("view", scene, DISPLAY="", WAYLAND_DISPLAY="")
    assert done.returncode == 2
    assert "--screenshot FILE draws a picture" in done.stderr


def test_without_the_extra_the_command_that_installs_it_is_told(
    scene: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("packcheck.cli.commands.view.find_spec", lambda _: None)
    result = run("view", scene)
    assert result.exit_code == 2
    assert 'pip install ".[view]"' in result.stderr


def test_without_graphics_the_packages_are_told(scene: Path, tmp_path: Path) -> None:
    done = own_process(
        "view",
        scene,
        "--screenshot",
        tmp_path / "a.png",
        DISPLAY="",
        VTK_DEFAULT_OPENGL_WINDOW="vtkXOpenGLRenderWindow",
    )
    assert done.returncode == 2
    assert "libegl1" in done.stderr
    assert not (tmp_path / "a.png").exists()


def test_check_never_loads_the_graphics(scene: Path) -> None:
    code = "import sys, packcheck; packcheck.load(sys.argv[1]).check(); print('pyvista' in sys.modules)"
    assert scripted(code, scene) == "False\n"


def test_a_picture_that_takes_too_long_is_given_up(
    scene: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Oracle: by construction: no process starts, checks and draws within a twentieth of a second."""
    monkeypatch.setattr("packcheck.cli.commands.view.PATIENCE", 0.05)
    result = run("view", scene, "--screenshot", tmp_path / "bay.png")
    assert result.exit_code != 0
    assert "the picture took over 0.05 s to draw, and was given up" in result.stderr
    assert not (tmp_path / "bay.png").exists()
