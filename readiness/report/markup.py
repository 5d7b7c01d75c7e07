"""A page of HTML, built of values: no text becomes markup, and nothing is asked for from outside.

    page("HB-0417", [el("h1", "HB-0417"), el("p", {"class": "quiet"}, "seen by ", said(reading.by))], css=BASE)

Text and attributes are escaped where the page is written out, in one place. What steers a terminal or turns
writing round is left out; `said` keeps writing from right to left to itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from html import escape
from typing import Final

from readiness import __version__
from readiness.report.text import clean, harmless

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a page may load and run: its own styles. A script would be a fault, and does not run."""
VOID: Final = frozenset({"br", "col", "hr", "img", "input", "link", "meta", "wbr"})
"""Elements that hold nothing and have no end tag (HTML Living Standard, 13.1.2)."""
NEVER: Final = frozenset({"script", "iframe", "object", "embed", "base", "style", "form"})
ON_LINES_OF_THEIR_OWN: Final = frozenset(
    {
        "article", "aside", "body", "caption", "col", "colgroup", "dd", "div", "dl", "dt", "figcaption", "figure", "footer",
        "h1", "h2", "h3", "h4", "head", "header", "html", "li", "main", "meta", "nav", "ol", "p", "section", "svg",
        "table", "tbody", "td", "tfoot", "th", "thead", "title", "tr", "ul",
    }
)  # fmt: skip
"""A line end after them shows nowhere and keeps the file readable."""
_NAME = re.compile(r"[a-zA-Z][a-zA-Z0-9-]*")
_WITHIN = re.compile(r"#[A-Za-z0-9_-]+|data:image/[a-z+]+;base64,[A-Za-z0-9+/=]*")
"""Where a link or a picture may lead: to a place on the page, or to bytes that stand in it."""

Value = str | int | float | bool | None
"""Of an attribute; True is its bare name, False and None leave it out."""


@dataclass(frozen=True, slots=True)
class Element:
    """A tag with its attributes and what it holds. Make one with `el`."""

    tag: str
    attributes: tuple[tuple[str, Value], ...]
    children: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture that `report.svg` made: finished SVG, every text in it escaped there."""

    svg: str

    def __post_init__(self) -> None:
        if not (self.svg.startswith("<svg ") and self.svg.rstrip().endswith("</svg>")):
            raise ValueError("a drawing is one <svg> element")


Node = Element | Drawing | str
Child = Node | None | Iterable["Child"]
"""What may stand in an element: text, elements, any list of these; None is nothing."""


def el(tag: str, attributes: Mapping[str, Value] | Child = None, *children: Child) -> Element:
    """An element; attributes may be left out: `el("p", "text")`. Raises ValueError for a name that is none."""
    if isinstance(attributes, Mapping):
        given = tuple(attributes.items())
    else:
        given, children = (), (attributes, *children)
    if not _NAME.fullmatch(tag) or tag.lower() in NEVER:
        raise ValueError(f"<{tag}> has no place on a page")
    for name, value in given:
        _check_attribute(name, value)
    held = tuple(_flat(children))
    if held and tag in VOID:
        raise ValueError(f"<{tag}> holds nothing")
    return Element(tag, given, held)


def said(text: str) -> Element:
    """Words from a person: on one line, and whichever way they are written, the words around them stay."""
    return el("bdi", clean(text))


def page(title: str, body: Iterable[Child], *, css: str, lang: str = "en") -> str:
    """A whole page, in UTF-8; `css` is ours and must not end its own element. Raises ValueError if it does."""
    if "<" in css:
        raise ValueError("a style sheet holds no markup")
    head = (
        el("meta", {"charset": "utf-8"}),
        el("meta", {"http-equiv": "Content-Security-Policy", "content": POLICY}),
        el("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}),
        el("meta", {"name": "referrer", "content": "no-referrer"}),
        el("meta", {"name": "generator", "content": f"readiness {__version__}"}),
        el("meta", {"name": "color-scheme", "content": "light dark"}),
        el("title", clean(title)),
    )
    written = "".join((*map(html, head), f"<style>\n{css.strip()}\n</style>\n"))
    inside = "".join(_written(el("body", *body)))
    return f'<!DOCTYPE html>\n<html lang="{_quoted(lang)}">\n<head>\n{written}</head>\n{inside}</html>\n'


def html(node: Node) -> str:
    """An element or a text as it stands in the file."""
    return "".join(_written(node))


def text_of(node: Child) -> str:
    """The words of an element without its tags; of a drawing none."""
    return "".join(
        part if isinstance(part, str) else text_of(part.children) if isinstance(part, Element) else ""
        for part in _flat((node,))
    )


def _flat(children: Iterable[Child]) -> Iterator[Node]:
    for child in children:
        if isinstance(child, str | Element | Drawing):
            yield child
        elif child is not None:
            yield from _flat(child)


def _written(node: Node) -> Iterator[str]:
    if isinstance(node, str):
        yield escape(harmless(node), quote=False)
        return
    if isinstance(node, Drawing):
        yield node.svg
        return
    end = "\n" if node.tag in ON_LINES_OF_THEIR_OWN else ""
    yield f"<{node.tag}{''.join(_attribute(n, v) for n, v in node.attributes)}>"
    for child in node.children:
        yield from _written(child)
    yield end if node.tag in VOID else f"</{node.tag}>{end}"


def _attribute(name: str, value: Value) -> str:
    if value is None or value is False:
        return ""
    return f" {name}" if value is True else f' {name}="{_quoted(str(value))}"'


def _quoted(value: str) -> str:
    return escape(clean(value), quote=True)


def _check_attribute(name: str, value: Value) -> None:
    if not _NAME.fullmatch(name) or name.lower().startswith("on"):
        raise ValueError(f"{name} is no attribute of a page")
    if name.lower() in ("href", "src") and not _WITHIN.fullmatch(str(value)):
        raise ValueError(f"{name} leads off the page: {value}")
