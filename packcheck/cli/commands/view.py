"""`packcheck view`: the bay in a window, or a picture of it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import click

from packcheck.cli.output import emit
from packcheck.cli.progress import working
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command"]

MISSING = """the viewer needs pyvista, which is not installed
  why: it is large, and nothing else of packcheck needs it
  mend: in the folder of packcheck run  pip install ".[view]\""""

PATIENCE = 900.0
"""s. Longest that a picture may take, the check before it included."""

NO_GRAPHICS = """the picture could not be drawn: no usable graphics here
  mend: on Debian and its relatives  sudo apt install libegl1 libgl1-mesa-dri"""

EPILOG = """\b
Keys:
  N, P           next and previous finding
  Home           the whole bay
  C              cut through the finding, or leave off
  [, ]           slide the cut 1 mm away from you, towards you; 5 mm with Shift
  M              play a motion to its worst pose, or stop it; Shift+M plays the next
  comma, period  slide the motion back and forth
  B, L, D, E     body panels, names of parts, datums, extreme poses, on and off
  H, A           hide the kinds of the selected part, show all again
  click          pick a point and select its part; two tell a distance, three a frame
  arrows         nudge the selected part 1 mm fore, aft, left, right; 5 mm with Shift
  Page Up, Down  the same up and down
  X, Y, Z        turn it 1 degree about that axis; with Shift the other way
  Enter          show what would be written to the scene; again to write it
  Escape         put the part back, forget the picks
  Q              close"""


@click.command("view", short_help="Look at the bay in a window: findings, cuts, picks, nudges.", epilog=EPILOG)
@click.argument("scene", type=click.Path(path_type=Path))
@click.option("--layout", metavar="NAME", help="Show this layout of the scene in place of what is written first.")
@click.option("--finding", "number", type=int, metavar="N", help="Go to finding N, as the report numbers them.")
@click.option("--screenshot", type=OUTPUT, metavar="FILE", help="Draw a PNG without a window, and leave.")
def command(*, scene: Path, layout: str | None, number: int | None, screenshot: Target | None) -> None:
    """Look at SCENE in a window that follows every save.

    Orange falls short, the second part of a pair is striped, blue and dashed is undecided. Ends of motions are
    outlined in long dashes and double dots. The panel at the left lists findings, plays motions and hides kinds.
    """
    if find_spec("pyvista") is None:
        raise click.ClickException(MISSING)
    if screenshot is not None:
        _shoot(scene, layout, number, screenshot)
        return
    from packcheck.viewer.desk import Desk
    from packcheck.viewer.window import Window, no_display

    if no_display():
        raise click.ClickException("there is no display to open a window on; --screenshot FILE draws a picture")
    with working("checking"):
        desk = Desk(scene, layout, patient=number is not None)
        desk.patient = False
    if number is not None:
        desk.go_to(number)
    Window(desk).open()


def _shoot(scene: Path, layout: str | None, number: int | None, screenshot: Target) -> None:
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "picture.png"
        with working("drawing"):
            title, sources = _drawn(scene, layout, number, target)
        (place,) = spared(sources, screenshot)
        assert place is not None
        place.write(target.read_bytes())
    emit(f"{title}\nwrote {place.path}\n")


def _drawn(scene: Path, layout: str | None, number: int | None, target: Path) -> tuple[str, tuple[Path, ...]]:
    """Draw in a process of its own, since a missing driver ends the process that asks for it."""
    from multiprocessing import get_context

    from packcheck.errors import Fault, SceneError
    from packcheck.viewer.window import shoot

    context = get_context("spawn")
    hear, tell = context.Pipe(duplex=False)
    worker = context.Process(target=_aside, args=(shoot, str(scene), layout, number, str(target), tell))
    worker.start()
    tell.close()
    try:
        if not hear.poll(PATIENCE):
            worker.kill()
            raise click.ClickException(f"the picture took over {PATIENCE:g} s to draw, and was given up")
        outcome = hear.recv()
    except EOFError:
        raise click.ClickException(NO_GRAPHICS) from None
    except BaseException:
        worker.kill()
        raise
    finally:
        worker.join()
    if isinstance(outcome[0], Fault):
        raise SceneError(outcome)
    return outcome[0], outcome[1]


def _aside(draw: Callable[..., None], *asked: object) -> None:
    """Draw, and leave it to the process that asks for it what being stopped means."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    draw(*asked)
