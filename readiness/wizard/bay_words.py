"""What the list of bays and the words beside it say, as content. Knows no widget."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from readiness.bayfit.found import Fit, Mode
from readiness.checks.words import capital
from readiness.job import System
from readiness.report import bay_words as words
from readiness.wizard.bay_search import BaySearch, Looked

Piece = tuple[str, str]

MODES: dict[Mode, str] = {"in_turn": "in turn", "at_once": "both at once"}
"""Only where both sides are asked for does it go without saying no more."""
AROUND, SHORTEST_TITLE, SHORTEST_SAID = 5, 14, 40
"""Cells round key and title; those that a title has at least; those that are kept for what is said of a bay."""
NOT_YET = "·"
GOOD, BAD, QUIET = "$text-success", "$text-error", "$text-muted"


def keys_of(names: Sequence[str]) -> dict[str, str]:
    """A key for each bay: 1 to 9, then letters; c and q have a meaning of their own."""
    keys = "123456789abdefghijklmnoprstuvwxyz"
    return {name: keys[n] if n < len(keys) else "" for n, name in enumerate(names)}


def heading(search: BaySearch) -> str:
    sides = "" if len(search.checklist.sides) == 1 else f", {' and '.join(search.sides)} side"
    sides = sides.replace("left and right side", "both sides")
    return f" {search.sheet.title}{sides}: which bay"


def line(key: str, looked: Looked, search: BaySearch, width: int) -> Content:
    """One bay of the list: key, title, verdict. `width` in cells."""
    room = _room_for_titles(search, width)
    said, style = in_short(looked, search)
    return Content.assemble((f"{key or ' '}  {_cut(looked.bay.title, room)}  ", ""), (said, style)).truncate(
        max(10, width), ellipsis=True
    )


def _room_for_titles(search: BaySearch, width: int) -> int:
    """As many cells as the longest verdict leaves, and no more than the longest title needs."""
    looked = search.looked.values()
    verdicts = (cell_len(in_short(x, search)[0]) for x in looked if x.fit is not None)
    left = width - AROUND - max((SHORTEST_SAID, *verdicts))
    return min(max(cell_len(x.bay.title) for x in looked), max(SHORTEST_TITLE, left))


def _cut(text: str, width: int) -> str:
    return set_cell_size(text if cell_len(text) <= width else f"{set_cell_size(text, width - 1)}…", width)


def in_short(looked: Looked, search: BaySearch) -> Piece:
    """The verdict for the list, the word that matters first."""
    fit = looked.fit
    if fit is not None:
        return _fit_in_short(fit, search.system)
    if search.running and looked.bay.bay == search.now:
        return f"{NOT_YET} being looked at", QUIET
    if looked.own is None or not looked.own.reason:
        return NOT_YET, QUIET
    return f"{NOT_YET} {looked.own.reason}", QUIET


def _fit_in_short(fit: Fit, system: System) -> Piece:
    if not fit.fits:
        return f"✗ no place, {words.short(fit.spare, system)} too little room", BAD
    parts = [MODES.get(fit.mode, ""), words.to_spare(max(fit.spare, 0.0), system)]
    if fit.moved:
        parts.append(f"{len(fit.moved)} to move")
    parts += ["across"] if fit.across else ["other way"] * fit.turned
    return "✓ " + ", ".join(filter(None, parts)), GOOD


def sentence(looked: Looked, search: BaySearch) -> Content:
    """What is known of one bay: whether and where the car fits, what binds, what its own marks are good for."""
    fit = looked.fit
    pieces = _found(fit, looked, search.system) if fit is not None else [(_not_found(looked, search), QUIET)]
    return Content.assemble(*pieces, *_own(looked, search.system))


def _not_found(looked: Looked, search: BaySearch) -> str:
    if search.stopped:
        return "The search was ended before this bay."
    return "Being looked at." if looked.bay.bay == search.now else "Not looked at yet."


def _found(fit: Fit, looked: Looked, system: System) -> list[Piece]:
    said = words.verdict(fit, system)
    pieces: list[Piece] = [(f"{capital(said)}.", GOOD if fit.fits else BAD)]
    if not fit.fits:
        return [*pieces, (f" {words.needed(fit, system)}", "")]
    pieces += [(f"\n{tapes}", "bold") for tapes in words.park(fit, system)]
    more = (words.way_round(fit, looked.bay.standing, system), words.closest(fit, system))
    pieces.append(("\n" + " ".join(filter(None, more)), ""))
    if looked.there is not None and looked.there.reason and not fit.moved:
        pieces.append((f" But there: {looked.there.reason}", "$text-warning"))
    return pieces


def _own(looked: Looked, system: System) -> list[Piece]:
    """What the bay's own marks are good for: how much room there is, or what else would fail there."""
    fit, own = looked.fit, looked.own
    if own is None:
        return []
    if own.reason and not (
        own.in_the_way and fit is not None and fit.on_marks is not None and fit.on_marks < 0
    ):
        return [(f"\nOn the bay's own marks: {own.reason}", "$text-warning")]
    if fit is not None and fit.on_marks is not None:
        said = words.on_marks(fit, system)
        return [(f"\n{said}", QUIET)] if said else []
    return [("\nOn the bay's own marks nothing is known to stand in the way.", QUIET)]


def details(looked: Looked, search: BaySearch) -> Content:
    """How it was worked out, for who asks."""
    if looked.found is None:
        return Content("This bay has not been looked at yet.")
    pieces: list[Piece] = [("\n\n", "")]
    for fit in looked.found.fits:
        pieces.append((f"{words.TITLES[fit.mode]}\n", "bold"))
        lines = [words.verdict(fit, search.system, alone=False), words.proof(fit, search.system)]
        lines += [capital(words.apart(b, search.system)) for b in fit.binding]
        pieces += [(f"• {text}\n", "") for text in lines]
        pieces.append(("\n", ""))
    return sentence(looked, search) + Content.assemble(
        *pieces, (words.PARKED, QUIET), ("\n\n" + words.MAKER_FIRST, QUIET)
    )


def progress(search: BaySearch) -> str:
    """How far the search is; empty while there is nothing to wait for."""
    count = len(search.looked)
    if search.done:
        return (
            f"{'Both' if count == 2 else f'All {count}'} bays are looked at, the best first."
            if count > 1
            else ""
        )
    if search.stopped:
        return "The search was ended. Enter takes a bay all the same."
    if not search.now:
        return ""
    at = 1 + sum(x.found is not None for x in search.looked.values())
    title = search.looked[search.now].bay.title
    what = search.what.removeprefix(title).lstrip(",: ")
    return f"Looking, {min(at, count)} of {count}, {100 * search.share:.0f} % · {title}{f', {what}' if what else ''}"


def places(looked: Looked, system: System) -> tuple[str, str]:
    """What is offered where both serve: the bay's own marks, and the place worked out."""
    fit = looked.fit
    assert fit is not None
    own = "" if fit.on_marks is None else f": {words.to_spare(fit.on_marks, system)}"
    return (
        f"on the bay's own marks{own}",
        f"at the place worked out: {words.to_spare(max(fit.spare, 0.0), system)}",
    )


def tapes(fit: Fit, system: System) -> str:
    """How to find the place again, as a note that stays with it."""
    return " ".join(words.park(fit, system))
