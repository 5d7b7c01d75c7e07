"""What the watch says, as content: the time left in large figures, what lapses, what each event would undo."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from rich.cells import cell_len
from textual.content import Content

from readiness.checklist.model import Check
from readiness.checks.words import capital
from readiness.checks.words import clock as moment
from readiness.closing import RESULT, LastGo, SideClosing
from readiness.job import VOID_EVENTS
from readiness.verdict import SideVerdict
from readiness.watch import SOON, Lapse, OtherSide, Standing, lapsing, standing
from readiness.wizard.looks import GLYPHS
from readiness.wizard.pages import WORDS, Piece, clock

JUST_AFTER = 0.01
"""Seconds by which the figures have changed for sure."""
SHOWN = 4
"""Lines of what lapses first and next."""


@dataclass(frozen=True, slots=True)
class EventKey:
    """An event, the key that keeps it, and its words where room is short."""

    key: str
    event: str
    words: str


EVENT_KEYS = (
    EventKey("c", "car_moved", "car moved"),
    EventKey("d", "door_opened", "door or lid opened"),
    EventKey("g", "got_in", "someone got in or out"),
    EventKey("t", "tyre_touched", "tyre touched"),
    EventKey("f", "load_changed", "fuel or load changed"),
    EventKey("l", "light_changed", "light changed"),
    EventKey("b", "bay_rearranged", "bay rearranged"),
    EventKey("p", "power_off", "power support off"),
    EventKey("i", "ignition_cycled", "ignition switched"),
    EventKey("s", "sensor_touched", "sensor or cover touched"),
)
"""The only place where the keys of events stand: the watch and F9 take the same."""
_WORDS = max(len(e.words) for e in EVENT_KEYS)

_FIGURES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ":": (" ", "#", " ", "#", " "),
}
_HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}


def large(figures: str, *, tall: bool) -> str:
    """Figures and colons drawn with blocks, three lines high, or five where there is room."""
    rows = [" ".join(_FIGURES[c][k] for c in figures) for k in range(5)]
    if tall:
        return "\n".join("".join("██" if dot == "#" else "  " for dot in row) for row in rows)
    rows.append(" " * len(rows[0]))
    pairs = [zip(rows[k], rows[k + 1], strict=True) for k in (0, 2, 4)]
    return "\n".join("".join(_HALVES[above + below] for above, below in pair) for pair in pairs)


def time_left(left: timedelta) -> tuple[str, str]:
    """Figures and their unit: hours and minutes, minutes, or seconds too where little is left."""
    seconds = max(0, int(left.total_seconds()))
    if left <= SOON:
        return f"{seconds // 60}:{seconds % 60:02}", "min left"
    if seconds < 3600:
        return str(seconds // 60), "min left"
    return f"{seconds // 3600}:{seconds // 60 % 60:02}", "h left"


def to_next_look(left: timedelta) -> float:
    """Seconds until other figures are to be shown."""
    seconds = left.total_seconds()
    if left <= SOON:
        return seconds % 1.0 + JUST_AFTER
    return min(seconds % 60.0 + JUST_AFTER, (left - SOON).total_seconds())


def side_words(side: str) -> str:
    return "" if side == "single" else f"{side} side"


STANDINGS: Mapping[Standing, tuple[str, str]] = {
    "go": ("✓ GO", "bold $text-success"),
    "soon": ("! GO, ENDS SOON", "bold $text-warning"),
    "lapsed": ("○ LAPSED", "bold $text-warning"),
    "no-go": ("✗ NO-GO", "bold $text-error"),
}
"""A word with its glyph, and last its colour."""


def outcome(side: SideVerdict, now: datetime, width: int) -> Content:
    """'✓ GO  left side, until 10:11'; with a check set aside it is never a plain go. The side before all else that fits."""
    word, style = STANDINGS[standing(side, now)]
    if side.verdict == "go-with-waivers":
        word = word.replace("✓", GLYPHS["waived"]).replace("GO", WORDS["go-with-waivers"][1])
        style = "bold $text-warning"
    name = side_words(side.side)
    until = f"until {clock(side.lapses_at)}" if side.lapses_at is not None else ""
    whole = ", ".join(filter(None, (name, until)))
    brief = word.partition(",")[0]  # the figures say how soon it ends
    ways = ((word, whole), (word, name), (brief, name))
    word, told = next(((w, t) for w, t in ways if cell_len(f"{w}  {t}") <= width), ways[-1])
    return Content.assemble((word, style), (f"  {told}", "bold"))


def figures(side: SideVerdict, now: datetime, *, tall: bool) -> Content:
    """The time left of one side, with its unit at the foot of the figures."""
    if side.lapses_at is None:
        return Content("")
    number, unit = time_left(side.lapses_at - now)
    return Content.assemble((large(number, tall=tall), "bold"), (f"  {unit}", ""))


def lapses(side: SideVerdict, width: int) -> Content:
    """What lapses first, and what follows it."""
    lines = [_lapse(x, width, first=k == 0) for k, x in enumerate(lapsing(side)[:SHOWN])]
    return Content("\n").join(Content.styled(*line) for line in lines)


def _lapse(lapse: Lapse, width: int, *, first: bool) -> Piece:
    lead = f"{clock(lapse.at)}  "
    return fitted(lapse.titles, lead, width), "bold" if first else ""


def not_yet(side: str) -> Content:
    """A side that the job is not for."""
    return Content.assemble(("· not begun", "$text-muted"), (f"  {side_words(side)}", "bold"))


def other_page(other: OtherSide, titles: Mapping[str, str], width: int) -> Content:
    """How much of what was read serves a side that has no go yet, and what is left to do."""
    left = ((other.wrong, "to put right"), (other.to_ask, "to ask"))
    told = [f"{len(checks)} {words}" for checks, words in left if checks]
    told = [told[0].replace(" ", f" of {other.of} ", 1), *(told[1:] or ["the rest holds"])] if told else []
    pieces: list[Piece] = [(", ".join(told), "")]
    named = [titles[c] for c in (*other.wrong, *other.to_ask)]
    pieces.append((f"\n{fitted(named, '', width)}\n", ""))
    pieces.append(("Enter goes there" if other.in_job else "o takes it in and goes there", "$text-muted"))
    return Content.assemble(*pieces)


def calibrated(closed: SideClosing) -> Content:
    """A side with its result, of which nothing can lapse any more."""
    results = [f for f in closed.findings if f.kind == RESULT]
    word, style = ("✓ CALIBRATED", "bold $text-success")
    told = " ".join(f.reason for f in results)
    return Content.assemble((word, style), (f"  {side_words(closed.side)}\n", "bold"), (told, ""))


def events(undone: Mapping[str, Sequence[Check]], width: int) -> Content:
    """Every event with its key and what it would undo."""
    pieces: list[Piece] = []
    for at in EVENT_KEYS:
        lead = f"  {at.words:<{_WORDS}}  "
        ends = [c.title for c in undone[at.event]]
        told = fitted(ends, "ends ", width - 3 - cell_len(lead)) if ends else "ends nothing now"
        pieces += [
            (f"\u00a0{at.key}\u00a0", "bold reverse"),
            (lead, ""),
            (f"{told}\n", "" if ends else "$text-muted"),
        ]
    return Content.assemble(*pieces)


def fitted(titles: Sequence[str], lead: str, width: int) -> str:
    """As many titles as a line holds, then how many more there are."""
    for shown in range(len(titles), 0, -1):
        more = f" and {len(titles) - shown} more" * (shown < len(titles))
        line = f"{lead}{', '.join(titles[:shown])}{more}"
        if cell_len(line) <= width:
            return line
    return f"{lead}{len(titles)} checks" if len(titles) > 1 else f"{lead}{''.join(titles)}"


def told(
    side: SideVerdict,
    now: datetime,
    to_ask: Sequence[str] = (),
    over: LastGo | None = None,
    *,
    missed: bool = False,
) -> str:
    """What the person is to do now: the sentence of a side that is watched.

    `to_ask`: titles of what is open. `over`: the go that was. `missed`: its last calibration was not as it has to be.
    """
    state = standing(side, now)
    if state == "no-go":
        return capital(f"{_of(side)}something is to be put right first. Enter goes there.")
    if state == "lapsed":
        ended = f"To be answered again: {', '.join(to_ask)}. Enter goes there."
        return capital(f"{_of(side)}the go {_over(over, now)}. {ended}")
    first = lapsing(side)[0].titles[0] if lapsing(side) else ""
    if state == "soon":
        soon = f"begin nothing long now: {first} lapses soon. Enter goes there, to read it afresh."
        return capital(f"{_of(side)}{soon}")
    if missed:
        return capital(f"{_of(side)}the last result was not in order. {MISSED}")
    return "Calibrate now. When one of these happens, press its key: only what it undoes is asked again."


MISSED = "Put its cause right first, then calibrate again; r when the tester has its new result."


def _over(over: LastGo | None, now: datetime) -> str:
    if over is None:
        return "has lapsed"
    at = moment(over.until.astimezone(), now)
    return f"ended at {at}: {over.why}" if over.why else f"lapsed at {at}"


def _of(side: SideVerdict) -> str:
    return "" if side.side == "single" else f"{side_words(side.side).capitalize()}: "


def after_event(event: str, gone: Sequence[Check]) -> str:
    """What an event that was just kept has undone."""
    words = VOID_EVENTS[event].capitalize()
    if not gone:
        return f"Kept: {words[0].lower()}{words[1:]}. It undoes nothing that holds now. Ctrl+Z takes it back."
    titles = ", ".join(c.title for c in gone)
    return f"Kept: {words[0].lower()}{words[1:]}. To be answered again: {titles}. Enter goes there, Ctrl+Z takes it back."
