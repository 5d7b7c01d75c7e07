"""The style that all our papers share: quiet text, hairlines, figures that stand under one another.

Made for a sheet of A4 or of Letter, whichever is in the printer, and for a screen of any width, light or dark.
Colour only repeats what a word and a sign have said, so a grey print loses nothing.

The font has the same widths on every system (Arial, and the free fonts made to its measure), so that pages
break alike everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from readiness.report.text import clean

LIGHT: Final[Mapping[str, str]] = {
    "paper": "#ffffff",
    "ink": "#1b1f24",
    "quiet": "#555e68",
    "hair": "#c3c8ce",
    "band": "#d3dbe2",
    "guard": "#87929d",
    "good": "#17603a",
    "bad": "#a3231b",
    "doubt": "#754f00",
}
DARK: Final[Mapping[str, str]] = {
    "paper": "#16191d",
    "ink": "#e8eaed",
    "quiet": "#a9b2bc",
    "hair": "#454d56",
    "band": "#38414b",
    "guard": "#7b8793",
    "good": "#86d3a6",
    "bad": "#ff8f85",
    "doubt": "#e5bd62",
}
PRINT: Final[Mapping[str, str]] = {**LIGHT, "ink": "#000000", "quiet": "#444444", "hair": "#aaaaaa"}
WRITING: Final = ("ink", "quiet", "good", "bad", "doubt")
"""The colours that words are written in, on `paper`."""


def _custom(colours: Mapping[str, str]) -> str:
    return " ".join(f"--{name}: {value};" for name, value in colours.items())


COLOURS: Final = f"""
:root {{ {_custom(LIGHT)} }}
@media (prefers-color-scheme: dark) {{ :root {{ {_custom(DARK)} }} }}
@media print {{ :root {{ {_custom(PRINT)} }} }}
"""
FONT: Final = 'Arial, "Liberation Sans", Arimo, Helvetica, sans-serif'
BASE: Final = (
    COLOURS
    + """
:root { color-scheme: light dark; }
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 52rem; font: 15px/1.45 Arial, "Liberation Sans",
  Arimo, Helvetica, sans-serif; font-variant-numeric: tabular-nums; overflow-wrap: anywhere; }
h1, h2, h3 { line-height: 1.2; margin: 0; font-weight: bold; text-wrap: balance; break-after: avoid; }
h1 { font-size: 1.75em; letter-spacing: -0.01em; }
h2 { font-size: 1.15em; margin: 1.5em 0 0.4em; padding-top: 0.5em; border-top: 1px solid var(--hair); }
h3 { font-size: 1em; margin: 1.2em 0 0.3em; }
p, ul, ol, dl, figure { margin: 0 0 0.6em; }
ul, ol { padding-left: 1.3em; }
li { margin-bottom: 0.2em; }
dl { display: grid; grid-template-columns: max-content minmax(0, 1fr); gap: 0.15em 1em; }
dt { color: var(--quiet); }
dd { margin: 0; }
table { border-collapse: collapse; width: 100%; margin: 0 0 0.6em; }
caption { text-align: left; color: var(--quiet); padding: 0 0 0.3em; }
th, td { text-align: left; vertical-align: top; padding: 0.3em 0.8em 0.3em 0; border-top: 1px solid var(--hair);
  font-weight: normal; }
th:last-child, td:last-child { padding-right: 0; }
thead th { color: var(--quiet); font-size: 0.9em; border-top: 0; vertical-align: bottom; }
thead { display: table-header-group; }
tr, figure { break-inside: avoid; }
svg { display: block; max-width: 100%; height: auto; }
.quiet { color: var(--quiet); }
.good { color: var(--good); }
.bad { color: var(--bad); }
.doubt { color: var(--doubt); }
.word { font-weight: bold; white-space: nowrap; }
.number { text-align: right; white-space: nowrap; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.wide { position: relative; overflow-x: auto; margin: 0 0 0.6em; }
.wide > table { min-width: 42rem; margin: 0; }
.sheet + .sheet { margin-top: 3rem; }
@media print {
  @page { margin: 12mm 15mm 14mm; }
  html { background: none; }
  body { padding: 0; max-width: none; font-size: 9.5pt; line-height: 1.35; print-color-adjust: exact;
    -webkit-print-color-adjust: exact; }
  .sheet + .sheet { margin-top: 0; break-before: page; }
  .wide { overflow: visible; }
  .wide > table { min-width: 0; }
}
"""
)
"""Of every paper; each adds what it needs beside it."""


def running_foot(left: str, first: str = "") -> str:
    """The foot of every printed page: words on the left, on the first page others, the page's number on the right.

    CSS Paged Media, margin boxes; a browser that does not know them leaves the margin empty.
    """
    font = f"font: 6.5pt {FONT}; color: {PRINT['quiet']};"
    numbers = f'@bottom-right {{ content: counter(page) " of " counter(pages); {font} }}'

    def page(which: str, words: str) -> str:
        return f'@page{which} {{ @bottom-left {{ content: "{_in_css(words)}"; {font} }} {numbers} }}'

    return f"{page('', left)}\n{page(' :first', first or left)}\n"


def _in_css(text: str) -> str:
    """Text within a string of a style sheet: everything that is not plain is written by its number."""
    return "".join(
        c if c.isascii() and (c.isalnum() or c in " .,-") else f"\\{ord(c):x} " for c in clean(text)
    )
