"""What became of each answer: every reading with what was taken back, put right and noted since. Nothing is left out.

`stories(journal.entries)["tyres", "", "pressure.lr"].in_short` is 'measured three times, fix in between'.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import msgspec
from msgspec.structs import replace

from readiness.checks.kind import Place
from readiness.job import Again, Fix, Reading, Waiver
from readiness.records.lines import Entry
from readiness.records.replay import harmless, held
from readiness.spotcheck.words import result

if TYPE_CHECKING:
    from datetime import datetime

What = Literal["read", "withdrawn", "fixed", "noted", "set aside", "checked"]

MISTYPED = "mistyped"
RETOLD = "instrument or evidence corrected"
UNDONE = "undone"
TAKEN_BACK = "taken back"
"""Why a reading was withdrawn, as the wizard writes it."""

_Told = Reading | Fix | Waiver
_KINDS: dict[str, type[_Told]] = {"reading": Reading, "fix": Fix, "waiver": Waiver}
_DONE: dict[str, What] = {
    "reading": "read", "fix": "fixed", "waiver": "set aside", "withdrawn": "withdrawn", "note": "noted",
    "re-measured": "checked",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that was done about an answer, by whom and when."""

    at: datetime
    by: str
    what: What
    text: str
    """As it was typed; what was put right; the note; why it was taken back or set aside; what a spot check found."""
    reading: Reading | None = None
    """What was read, taken back, noted or checked; None where it was a fix, or a whole check that was set aside."""
    number: int = 0
    """Its line in the journal."""
    of: int = 0
    """The line that was taken back, noted or checked; its own line otherwise."""
    then: datetime | None = None
    """When it took place, where that was before it was entered: as of another reading, or typed in from paper."""

    @property
    def took_place(self) -> datetime:
        return self.then or self.at

    @property
    def order(self) -> tuple[datetime, int]:
        """By this, what came first; not what was typed first."""
        return self.took_place, self.number


@dataclass(frozen=True)
class Story:
    """Everything that was done about one answer, or about one check as a whole, in its order."""

    place: Place
    """Its question is empty for what was done about a check as a whole."""
    steps: tuple[Step, ...]

    @cached_property
    def readings(self) -> tuple[Step, ...]:
        """Every reading, also those taken back."""
        return tuple(s for s in self.steps if s.what == "read")

    @cached_property
    def _withdrawals(self) -> dict[int, Step]:
        return {s.of: s for s in self.steps if s.what == "withdrawn"}

    def withdrawal(self, step: Step) -> Step | None:
        """The step that took this one back; None while it stands."""
        return self._withdrawals.get(step.number)

    def standing(self, what: What) -> tuple[Step, ...]:
        """The steps of a kind that were not taken back."""
        return tuple(s for s in self.steps if s.what == what and self.withdrawal(s) is None)

    @property
    def plain(self) -> bool:
        """Whether it is one reading and nothing else: there is nothing to tell of it."""
        return len(self.steps) == 1 and len(self.readings) == 1

    @property
    def in_short(self) -> str:
        """'measured three times, fix in between'; empty for one reading about which nothing else was done."""
        if not self.readings:
            return ", ".join(_without_reading(self))
        told = [_how_often(self), *_fixes(self), *_taken_back(self), *_notes(self), *_checked(self),
                *_not_read_since(self)]  # fmt: skip
        return ", ".join(told) if len(told) > 1 or len(self.readings) > 1 else ""


def stories(entries: Iterable[Entry], until: datetime | None = None) -> dict[Place, Story]:
    """The story of each answer, and of each check that was set aside or put right as a whole.

    `entries` as a journal gives them; what took place later than `until` is not seen. A fix belongs to every answer that it
    starts anew, be it read before or after; to its own place if there is none.
    """
    steps = (_step(entry, what) for entry, what in _about_answers(entries))
    told = [(step, what) for step, what in steps if until is None or step.took_place <= until]
    answered = dict.fromkeys(_place(what) for _, what in told if isinstance(what, Reading))
    found: dict[Place, list[Step]] = {}
    for step, what in told:
        for place in _places(what, answered):
            found.setdefault(place, []).append(step)
    return {place: Story(place, tuple(steps)) for place, steps in found.items()}


def typed_in_later(found: Iterable[Story]) -> list[Step]:
    """Readings that say of themselves that they were taken earlier, by the time at which they were typed in.

    What was put down anew for another reading is none of them: it was taken when that one was.
    """
    later = [
        step
        for story in found
        for n, step in enumerate(story.readings)
        if step.then is not None and all(s.took_place != step.then for s in story.readings[:n])
    ]
    return sorted(later, key=lambda step: step.at)


def of_check(found: Mapping[Place, Story], check: str, side: str) -> list[Story]:
    """The stories of one check on one side: that of the whole check first, the others as they began."""
    mine = [story for place, story in found.items() if place[:2] == (check, side)]
    return sorted(mine, key=lambda story: story.place[2] != "")


# --- from entries to steps -----------------------------------------------------------------------


def _about_answers(entries: Iterable[Entry]) -> Iterator[tuple[Entry, _Told]]:
    """The entries that tell of answers, each with the reading, fix or waiver that it is about."""
    kept: dict[int, _Told] = {}
    for entry in entries:
        if kind := _KINDS.get(entry.kind):
            kept[entry.n] = held(replace(entry, body=harmless(entry.body)), kind)
        about = kept.get(_of(entry))
        if about is not None:
            yield entry, about


def _of(entry: Entry) -> int:
    """The line that an entry is about."""
    if entry.kind in _KINDS:
        return entry.n
    of = entry.body.get("entry") if entry.kind in ("withdrawn", "note", "re-measured") else None
    return of if isinstance(of, int) else 0


def _step(entry: Entry, about: _Told) -> tuple[Step, _Told]:
    what = _DONE[entry.kind]
    reading = about if isinstance(about, Reading) else None
    then = about.at if entry.n == _of(entry) and about.at < entry.at else None
    return Step(entry.at, _said(entry, "by"), what, _text(entry), reading, entry.n, _of(entry), then), about


def _text(entry: Entry) -> str:
    if entry.kind == "re-measured":
        return _found_again(entry)
    return _said(entry, {"withdrawn": "why", "waiver": "reason"}.get(entry.kind, "text"))


def _said(entry: Entry, key: str) -> str:
    said: Any = entry.body.get(key, "")
    return str(harmless(str(said)))


def _found_again(entry: Entry) -> str:
    """'219 kPa (gauge-2), E_n -1.9: DOES NOT AGREE'."""
    again = msgspec.convert({**harmless(entry.body), "at": entry.at, "number": entry.n}, Again)
    tool = f" ({again.instrument})" if again.instrument else ""
    return f"{again.said}{tool}, {result(again)}" if again.said else result(again)


def _place(reading: Reading) -> Place:
    return reading.check, reading.side, reading.question


def _places(what: _Told, answered: Iterable[Place]) -> list[Place]:
    if isinstance(what, Reading):
        return [_place(what)]
    if isinstance(what, Waiver):
        return [(what.check, what.side, "")]
    return [p for p in answered if _starts_anew(what, p)] or [(what.check, what.side, what.question)]


def _starts_anew(fix: Fix, place: Place) -> bool:
    """Whether readings of that place from before the fix count no more; as `Scene` judges it."""
    check, side, question = place
    covers = fix.question in ("", question) or question.startswith(f"{fix.question}.")
    return (fix.check, fix.side) == (check, side) and covers


# --- a story in a few words ----------------------------------------------------------------------

_TIMES = ("never", "once", "twice")
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def _count(n: int) -> str:
    return _COUNTS[n] if n < len(_COUNTS) else str(n)


def _times(n: int) -> str:
    return _TIMES[n] if n < len(_TIMES) else f"{_count(n)} times"


def _taken(story: Story) -> list[list[Step]]:
    """The readings that somebody took, each with what was kept of it anew with another instrument or grade."""
    taken: list[list[Step]] = []
    for step in story.readings:
        if taken and _why_back(story, taken[-1]) == RETOLD and step.text == taken[-1][-1].text:
            taken[-1].append(step)
        else:
            taken.append([step])
    return taken


def _why_back(story: Story, reading: Sequence[Step]) -> str | None:
    """Why a reading was taken back; None while it stands."""
    back = story.withdrawal(reading[-1])
    return None if back is None else back.text


def _how_often(story: Story) -> str:
    taken = _taken(story)
    last = [r for step in taken if (r := step[-1].reading) is not None]
    measured = all(r.evidence == "measured" and not isinstance(r.value, str) for r in last)
    return f"{'measured' if measured else 'answered'} {_times(len(taken))}"


def _fixes(story: Story) -> list[str]:
    """Fixes between readings that stand."""
    read = [s.order for s in story.standing("read")]
    fixes = [f.order for f in story.standing("fixed")]
    between = sum(any(r < f for r in read) and any(r > f for r in read) for f in fixes)
    return ["fix in between" if between == 1 else f"{_count(between)} fixes in between"] * bool(between)


def _not_read_since(story: Story) -> list[str]:
    """A fix after which nothing was read."""
    read, fixes = story.standing("read"), story.standing("fixed")
    waits = bool(read and fixes) and max(f.order for f in fixes) > max(r.order for r in read)
    return ["then put right and not read since"] * waits


def _taken_back(story: Story) -> list[str]:
    """'the first taken back as mistyped', 'two taken back'; that it was corrected how one is known."""
    taken = _taken(story)
    gone: dict[str, list[int]] = {}
    for n, reading in enumerate(taken):
        why = _why_back(story, reading)
        if why is not None:
            gone.setdefault(_why(why), []).append(n)
    told = [f"{_which(which, len(taken))} {why}".strip() for why, which in gone.items()]
    return [*told, *[RETOLD] * any(len(reading) > 1 for reading in taken)]


def _why(text: str) -> str:
    if text in ("", UNDONE, TAKEN_BACK):
        return "taken back"
    return f"taken back as {MISTYPED}" if text == MISTYPED else f"taken back ({text})"


def _which(which: Sequence[int], of: int) -> str:
    if len(which) == of:
        return {1: "", 2: "both"}.get(of, "all")
    if len(which) == 1 and which[0] < len(_ORDINALS):
        return f"the {_ORDINALS[which[0]]}"
    return _count(len(which))


def _notes(story: Story) -> list[str]:
    """One note stands with its answer; that another stood there before is told."""
    notes = [s.of for s in story.steps if s.what == "noted"]
    first = [s.number for s in story.readings if s.reading is not None and s.reading.note]
    of = [*first, *notes]
    return ["note changed"] * (len(of) > len(set(of)))


def _checked(story: Story) -> list[str]:
    """How often a spot check took it again; what came of it, the steps say."""
    checks = sum(s.what == "checked" for s in story.steps)
    return ["spot-checked" if checks == 1 else f"spot-checked {_times(checks)}"] * bool(checks)


def _without_reading(story: Story) -> list[str]:
    """Of a check as a whole, or of what was put right and never read."""
    told = []
    for what, word in (("set aside", "set aside"), ("fixed", "put right")):
        done = [s for s in story.steps if s.what == what]
        if done:
            back = sum(story.withdrawal(s) is not None for s in done)
            told += [word if len(done) == 1 else f"{word} {_times(len(done))}"]
            told += ["taken back"] if back == len(done) else [f"{_count(back)} taken back"] * bool(back)
    return told
