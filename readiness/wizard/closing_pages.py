"""What the last page of a job says, as content: what will stand on paper, and what its keys do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.cells import cell_len
from textual.content import Content

from readiness.checks.finding import Finding
from readiness.job import Attached, Job, Outcome
from readiness.jobstate import JobState
from readiness.records.account import Account, SideAccount
from readiness.report import spot_data
from readiness.wizard.looks import GLYPHS, STYLES, said
from readiness.wizard.pages import WORDS, Piece, clock, wrapped

TITLE = "The end of the job: this will stand on paper"
MARGIN = 14
KEYS_ENDED = "p report  g go on with it after all  PgUp look through it  Esc to the jobs"
BASES = {
    "result": "when the result was read at",
    "last entry": "as of the last entry at",
    "asked": "at",
}


def keys(job: Job, sides: Sequence[str], open_points: Sequence[str], width: int) -> str:
    """What the keys of the last page do, in fewer words or fewer of them where the line is short.

    `sides` are those of the checklist.
    """
    if job.ended is not None:
        return KEYS_ENDED
    take_back = ["x take back"] * bool(job.attached)
    first = ["p report", "a attach", *take_back, *["Enter what is open"] * bool(open_points)]
    others = [f"o {side} side" for side in sides if side not in job.sides]
    long = ["e end the job", *first, *others, "F1 help", "Esc back"]
    short = ["e end", *long[1:]]
    ways = (
        long,
        short,
        [k for k in short if k not in take_back],
        [k for k in short if k not in (*take_back, "F1 help")],
    )
    lines = ["  ".join(told) for told in ways]
    return next((line for line in lines if cell_len(line) <= width), lines[-1])


def end_page(account: Account, open_points: Sequence[str], width: int) -> Content:
    """Each side with its go, what is open, what came after the calibration, what was set aside, files. `width` in cells."""
    pieces: list[Piece] = [*_ended(account, width)]
    for side in account.sides.values():
        pieces += _ready(side, width)
    pieces += [("\nOpen\n", "bold")] * bool(open_points)
    pieces += [(f"  {wrapped(point, width, 2, 2)}\n", "$text-warning") for point in open_points]
    pieces += _afterwards(account, width)
    pieces += _waivers(account, width)
    pieces += _spot_checks(account.visit.job, width)
    pieces += _files(account.visit.job.attached, width)
    return Content.assemble(*pieces)


def _spot_checks(job: Job, width: int) -> list[Piece]:
    told = list(spot_data.in_short(job))
    pieces: list[Piece] = [("\nSpot checks\n", "bold")] * bool(told)
    return [*pieces, *((f"  {wrapped(text, width, 2, 2)}\n", "") for text in told)]


def _afterwards(account: Account, width: int) -> list[Piece]:
    """What was answered after the calibration; what was not stands among the open points."""
    told = [s for s in account.closing_findings if _answered(s.finding)]
    pieces: list[Piece] = [("\nAfter the calibration\n", "bold")] * bool(told)
    for shared in told:
        pieces += _finding(shared.finding, "" if shared.every else f", {' and '.join(shared.sides)}", width)
    return pieces


def _answered(finding: Finding) -> bool:
    return finding.outcome == "waived" or any(p.readings for p in finding.parts)


def _ended(account: Account, width: int) -> list[Piece]:
    ended = account.visit.job.ended
    if ended is None:
        return []
    why = f": {ended.why}" if ended.why else ""
    line = wrapped(f"Ended {clock(ended.at)} by {ended.by}{why}", width, 0, 2)
    return [
        (f"{line}\n", "bold"),
        ("Nothing more can be entered; g goes on with it after all.\n\n", ""),
    ]


def _ready(side: SideAccount, width: int) -> list[Piece]:
    outcome, word, style = WORDS[side.verdict.verdict]
    name = "" if side.side == "single" else f"{side.side.capitalize()} side: "
    until = ""
    if side.verdict.lapses_at is not None and side.basis != "result":
        until = f", until {clock(side.verdict.lapses_at)}"
    word = f"{GLYPHS[outcome]} {word}"
    told = wrapped(f"{BASES[side.basis]} {clock(side.at)}{until}", width, cell_len(f"{name}{word}  "), 2)
    pieces: list[Piece] = [(name, "bold"), (word, style), (f"  {told}\n", "")]
    wrong = [f.title for f in side.verdict.findings if not f.counts]
    if wrong:
        line = wrapped(f"Does not pass: {', '.join(wrong)}", width, 2, 2)
        pieces.append((f"  {line}\n", ""))
    return pieces


def _finding(finding: Finding, which: str, width: int) -> list[Piece]:
    title = f"{finding.title}{which}  "
    head: list[Piece] = [
        (f"  {said(finding.outcome):<{MARGIN - 2}}", STYLES[finding.outcome]),
        (title, "bold"),
    ]
    told = " ".join((finding.reason, *_more(finding), *finding.notes))
    line = wrapped(told, width, MARGIN + cell_len(title), MARGIN)
    return [*head, (f"{line}\n", "")]


def _more(finding: Finding) -> Iterator[str]:
    """What was said in words beside what decided, such as the route of a road test."""
    for part in finding.parts:
        in_words = isinstance(part.value, str) and part.value not in ("yes", "no")
        if in_words and part.outcome == "pass" and part is not finding.deciding:
            yield part.reason


def _waivers(account: Account, width: int) -> list[Piece]:
    """Set aside before the calibration; who did so and why stands in the finding's reason."""
    reasons = dict.fromkeys(f.reason for s in account.sides.values() for f in s.verdict.waived)
    title: list[Piece] = [("\nSet aside\n", "bold")] * bool(reasons)
    return [*title, *((f"  {wrapped(reason, width, 2, 2)}\n", "") for reason in reasons)]


def _files(attached: Sequence[Attached], width: int) -> list[Piece]:
    title: list[Piece] = [("\nFiles\n", "bold")] * bool(attached)
    return [*title, *((f"  {wrapped(line, width, 2, 4)}\n", "") for line in file_lines(attached))]


def file_lines(attached: Sequence[Attached]) -> Iterator[str]:
    """'photos/front.jpg, 1.2 MB: the target in place', a line a file."""
    for file in attached:
        what = f": {file.what}" if file.what else ""
        yield f"{file.path}, {size(file.size)}{what}"


def size(count: int) -> str:
    """Bytes as people say them."""
    for unit, step in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if count >= step:
            return f"{count / step:.3g} {unit}"
    return f"{count} B"


def in_short(state: JobState) -> str:
    """A job in a list of jobs: 'ended, result in range', 'ended without a go', '✓ result in range'.

    Empty where there is neither an end nor a result of every side, so that its go is what matters.
    """
    results = [side.in_range for side in state.sides]
    if state.ended is None and None in results and False not in results:
        return ""
    outcome, told = _of_results(state, results)
    if state.ended is None:
        return f"{GLYPHS[outcome]} {told}"
    return f"ended{' ' if told.startswith('without') else ', '}{told}"


def _of_results(state: JobState, results: Sequence[bool | None]) -> tuple[Outcome, str]:
    """A result says nothing of the go: that one was read without it, or under waivers, is told with it."""
    there = bool(results) and all(results)
    without = [side.side for side in state.sides if side.word not in ("go", "go-with-waivers")]
    if False in results:
        return "fail", "result out of range"
    if len(without) == len(results):
        return "fail", "without a go" if state.ended else "result without a go"
    if without:
        return "fail", f"{without[0]} without a go"
    if not there:
        return "not_done", "without a result"
    return (
        ("waived", "in range, waivers") if "go-with-waivers" in state.words else ("pass", "result in range")
    )
