"""Writes the outputs that the README and the manual show anew, from what packcheck prints now.

    python -m tests.demo.rewrite_readme            shows what changes, and writes it
    python -m tests.demo.rewrite_readme --check    shows it, and writes nothing; exit code 1 where something would

To be read through afterwards: the text around a block speaks of its numbers. Blocks that are right stay as they
are. What a block leaves out (`...`) stays left out: each shown stretch is found again by likeness, line by line.
Where nothing like it is printed any more, the block is named, left alone, and has to be mended by hand.
"""

from __future__ import annotations

import argparse
import doctest
import os
import re
import shlex
import sys
from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher, unified_diff
from pathlib import Path

from tests.cli.running import run
from tests.test_readme import PAGES, ROOT, SKIP, first_missing, runs_of

FENCED = re.compile(r"^```(console|pycon)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SESSION = re.compile(r"^\$ (?P<command>packcheck .+)\n(?P<shown>(?:(?!\$ ).*\n)+)", re.MULTILINE)
ALIKE = 0.5  # likeness from which two lines are the same one
LOST = 0.4  # the share of shown lines that may have gone
BESIDE = 0.3  # cost of a line without a partner within a stretch, where a pair of lines is worth up to 1
CARRIED_ON = " " * 4  # how a line begins that carries on the one before


def rewritten(text: str, lost: list[str]) -> str:
    """The page with every shown output as it is now; `lost` gets the commands whose block a hand must mend."""

    def block(match: re.Match[str]) -> str:
        language, body = match.groups()
        new = python_session(body) if language == "pycon" else SESSION.sub(lambda one: session(one, lost), body)
        return f"```{language}\n{new}```"

    return FENCED.sub(block, text)


def session(match: re.Match[str], lost: list[str]) -> str:
    """A command and what it shows, as it prints now."""
    command, shown = match["command"], tuple(match["shown"].splitlines())
    output = run(*shlex.split(command)[1:]).output.splitlines()
    if first_missing(shown, output) is None:
        return match[0]
    new = shown_now(shown, output)
    if new is None:
        lost.append(command)
        return match[0]
    return "\n".join([f"$ {command}", *new, ""])


def shown_now(shown: Sequence[str], output: Sequence[str]) -> list[str] | None:
    """The stretches of `output` like those shown, with what is left out between; None where too few are."""
    runs = runs_of(tuple(shown))
    wanted = [(k, line) for k, stretch in enumerate(runs) for line in stretch]
    partners = paired([line for _, line in wanted], output, [k for k, _ in wanted])
    if len(partners) < (1 - LOST) * len(wanted):
        return None
    spans = [span([there for here, there in partners if wanted[here][0] == k], output) for k in range(len(runs))]
    if runs[0]:  # nothing was left out before it
        spans[0] = range(max(spans[0].stop, 1))
    if runs[-1] and spans[-1]:  # nor behind it
        spans[-1] = range(spans[-1].start, len(output))
    return stitched(spans, output)


def span(places: Sequence[int], output: Sequence[str]) -> range:
    """From the first to the last of some lines, and to the end of what the last one says."""
    if not places:
        return range(0)
    end = max(places) + 1
    while end < len(output) and output[end].startswith(CARRIED_ON):
        end += 1
    return range(min(places), end)


def stitched(spans: Sequence[range], output: Sequence[str]) -> list[str]:
    """The lines of the spans, one mark between two of them for all that is left out."""
    lines: list[str] = []
    at = 0
    for one in (one for one in spans if one):
        if one.start > at:
            lines.append(SKIP)
        lines += output[max(at, one.start) : one.stop]
        at = max(at, one.stop)
    return [*lines, SKIP] if at < len(output) else lines


def paired(wanted: Sequence[str], output: Sequence[str], stretch: Sequence[int]) -> list[tuple[int, int]]:
    """The lines that are the same ones, in order, so that the likeness is largest in all.

    A line of `output` without a partner costs nothing between two stretches, and `BESIDE` within one.
    """
    free = [k == 0 or k == len(wanted) or stretch[k] != stretch[k - 1] for k in range(len(wanted) + 1)]
    best = [[0.0] * (len(output) + 1) for _ in range(len(wanted) + 1)]
    came: dict[tuple[int, int], tuple[int, int]] = {}
    for i in range(len(wanted) + 1):
        for j in range(len(output) + 1):
            ways = [(0.0, (0, 0))] if (i, j) == (0, 0) else []
            if j:
                ways.append((best[i][j - 1] - (0.0 if free[i] else BESIDE), (i, j - 1)))
            if i:
                ways.append((best[i - 1][j] - BESIDE, (i - 1, j)))
            if i and j and (worth := likeness(wanted[i - 1], output[j - 1])) >= ALIKE:
                ways.append((best[i - 1][j - 1] + worth, (i - 1, j - 1)))
            best[i][j], came[i, j] = max(ways)
    return list(walked(came, len(wanted), len(output)))


def walked(came: dict[tuple[int, int], tuple[int, int]], i: int, j: int) -> Iterator[tuple[int, int]]:
    while (i, j) != (0, 0):
        before = came[i, j]
        if before == (i - 1, j - 1):
            yield before
        i, j = before


def likeness(one: str, other: str) -> float:
    """From 0 to 1: by their words, whatever their figures; 1 for the same line."""
    if one == other:
        return 1.0
    mine, its = (re.findall(r"[^\W\d]+?(?=s?\b)|[:,-]", line) for line in (one, other))
    return 0.95 * SequenceMatcher(None, mine, its, autojunk=False).ratio() if mine or its else 0.0


def python_session(body: str) -> str:
    """A session at the prompt, with what it answers now."""
    answers: list[str] = []

    class Answers(doctest.DocTestRunner):
        def report_success(self, *told: object) -> None:
            answers.append(str(told[-1]))

        def report_failure(self, *told: object) -> None:
            answers.append(str(told[-1]))

    test = doctest.DocTestParser().get_doctest(body, {}, "README.md", "README.md", 0)
    Answers().run(test, out=lambda _: None)
    lines: list[str] = []
    for example, answer in zip(test.examples, answers, strict=True):
        first, *rest = example.source.splitlines()
        lines += [f">>> {first}", *(f"... {line}" for line in rest), *answer.splitlines()]
    return "\n".join([*lines, "", ""]) if body.endswith("\n\n") else "\n".join([*lines, ""])


def main() -> int:
    asked = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    asked.add_argument("pages", nargs="*", type=Path, default=PAGES)
    asked.add_argument("--check", action="store_true", help="write nothing; exit code 1 if something changes")
    arguments = asked.parse_args()
    os.chdir(ROOT)
    stale, lost = False, list[str]()
    for page in arguments.pages:
        old = page.read_text(encoding="utf-8")
        new = rewritten(old, lost)
        stale |= new != old
        sys.stdout.writelines(unified_diff(old.splitlines(True), new.splitlines(True), page.name, page.name))
        if not arguments.check:
            page.write_text(new, encoding="utf-8")
    for command in lost:
        sys.stderr.write(f"by hand: nothing like what is shown is printed by: {command}\n")
    return int(bool(lost) or (stale and arguments.check))


if __name__ == "__main__":
    sys.exit(main())
