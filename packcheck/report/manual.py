"""The manual: chapters in Markdown beside this package, one by one or all on one page."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from jinja2 import Environment

from packcheck.report.text.caution import CAUTION

if TYPE_CHECKING:
    from markdown_it.token import Token

__all__ = ["CHAPTERS", "chapters", "manual_page", "title"]

CHAPTERS: Final = (
    *("start", "describe", "placing", "copies", "listing", "files", "known", "measuring", "air", "clearances"),
    *("motions", "layouts", "reading", "trying", "seeing", "promised", "faults", "data", "cautions"),
)
"""In the order in which they are read; each stands in a file of its name."""

MEDIA: Final = {"svg": "image/svg+xml", "png": "image/png"}


@cache
def chapters() -> Mapping[str, str]:
    """Every chapter as Markdown, by its name."""
    return {name: (files("packcheck") / "manual" / f"{name}.md").read_text(encoding="utf-8") for name in CHAPTERS}


def title(chapter: str) -> str:
    """What a chapter in Markdown is called."""
    return chapter.partition("\n")[0].removeprefix("# ")


def manual_page() -> str:
    """All chapters as one page that needs no network: contents, search, pictures; fit to be printed."""
    template = Environment(autoescape=True).from_string(_file("report", "page", "manual.html").decode())
    written = [(name, title(text), _html(name, text)) for name, text in chapters().items()]
    return template.render(chapters=written, caution=CAUTION)


def _html(name: str, text: str) -> str:
    """One chapter as HTML: its links lead to places of the page, its pictures are in it."""
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(text)
    for k, token in enumerate(tokens):
        if token.type == "heading_open" and token.tag != "h1":
            token.attrSet("id", f"{name}-{_slug(tokens[k + 1].content)}")
    for token in _within(tokens):
        _lead_within(name, token)
    return str(reader.renderer.render(tokens, reader.options, {}))


def _within(tokens: list[Token]) -> Iterator[Token]:
    for token in tokens:
        yield from token.children or ()


def _lead_within(name: str, token: Token) -> None:
    """Have a link lead to its chapter or heading on the page, and a picture bring its bytes."""
    if token.type == "link_open":
        chapter, _, heading = str(token.attrs["href"]).partition("#")
        chapter = chapter.removesuffix(".md") or name
        token.attrSet("href", f"#{chapter}-{heading}" if heading else f"#{chapter}")
    elif token.type == "image":
        source = str(token.attrs["src"])
        data = b64encode(_file("manual", *source.split("/"))).decode()
        token.attrSet("src", f"data:{MEDIA[source.rpartition('.')[2]]};base64,{data}")


def _slug(heading: str) -> str:
    """A heading as links name it."""
    return re.sub(r"[^\w\- ]", "", heading).strip().lower().replace(" ", "-")


def _file(*names: str) -> bytes:
    return files("packcheck").joinpath(*names).read_bytes()
