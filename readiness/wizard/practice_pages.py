"""What practice says beside the form, as content: what was called, and afterwards what it was worth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from readiness.practice.model import GoMark, Mark, Worth
from readiness.wizard.looks import WORDS as OUTCOMES
from readiness.wizard.pages import Piece, wrapped
from readiness.wizard.practice_session import CALLS, PracticeSession

if TYPE_CHECKING:
    from readiness.practice.model import Marked

CALL_TITLE, REVIEW_TITLE = "Your call", "What it really was"
KEYS_CALL = "g go  n no-go  Enter or a number goes there  F1 help  PgUp last step  Esc back"
KEYS_REVIEW = "Enter the next car  PgUp look through it  F1 help  Esc back to the start"
KEYS_FORM = (
    "Enter looks, Enter again keeps  ? looks anew  F1 why and how  F4 instrument  Ctrl+K call  F10 go/no-go",
    "Enter looks, again keeps  ? anew  F1 why  F4 instrument  Ctrl+K call  F10 go/no-go",
    "Enter looks, again keeps  ? anew  F1 why  F4 instrument  Ctrl+K call  F10 go",
)
KEYS_AFTER = "PgUp and PgDn change the step  F1 why and how  Ctrl+L picture  F10 what it was"
WORTH: dict[Worth, tuple[str, str]] = {
    "right": ("✓ right", "$text-success"),
    "caught": ("✓ caught", "$text-success"),
    "missed": ("✗ missed", "bold $text-error"),
    "false_alarm": ("✗ false alarm", "bold $text-warning"),
}
WORTH_OF_GO: dict[Worth, tuple[str, str]] = {
    "right": ("✓ You said go, and it was ready.", "$text-success"),
    "caught": ("✓ You said no-go, and rightly.", "$text-success"),
    "missed": ("✗ You said go, and it was not ready.", "bold $text-error"),
    "false_alarm": ("✗ You said no-go, and all was in order.", "bold $text-warning"),
}
NEAR = "✓ You said no-go: something was too near its limit to tell, so rightly."
BY_LUCK = (
    "It was within its limit, but you could not know that: too close to call would have been the safe word."
)
MARGIN = 16
"""Cells in front of what is said of a check: what the call was worth stands there."""


def banner(session: PracticeSession) -> str:
    exercise = session.exercise
    return f"PRACTICE, car {exercise.seed}, level {exercise.level}. Nothing of it goes into the shop's jobs."


def call_page(session: PracticeSession, width: int) -> Content:
    """What was called so far, and what is still to be called; then the sides."""
    pieces: list[Piece] = [("Checks\n", "bold")]
    pieces += _calls(session)
    pieces.append(("\n", ""))
    for side in session.exercise.sides:
        name = "Go or no-go" if side == "single" else f"{side.capitalize()} side, go or no-go"
        said = session.go_calls.get(side)
        pieces.append((f"{name}: ", "bold"))
        pieces.append(
            (f"{'go' if said.go else 'no-go'}\n", "") if said else ("not called yet\n", "$text-warning")
        )
    told = (
        "Say it before the program does: g for go, n for no-go. A go needs every check called a pass; no-go may be said "
        "at once, as at a real car. Ctrl+K in a step calls it anew."
    )
    pieces.append((f"\n{wrapped(told, width, 0, 0)}\n", "$text-muted"))
    return Content.assemble(*pieces)


def _calls(session: PracticeSession) -> Iterator[Piece]:
    open_ = {topic: k for k, topic in enumerate(session.all_uncalled, 1)}
    room = 2 + max((cell_len(session.title(t)) for t in session.exercise.topics), default=0)
    for topic in session.exercise.topics:
        called = session.calls.get(topic)
        number = f"{open_[topic]:>2} " if topic in open_ else "   "
        yield (f"  {number}{session.title(topic):<{room}}", "")
        yield (f"{CALLS[called.said]}\n", "bold") if called else ("not called yet\n", "$text-warning")


def review_page(marked: Marked, session: PracticeSession, kept: str, width: int) -> Content:
    """First the sides, then every check: what was missed before what was right. `kept`: where it is kept, or why not."""
    pieces: list[Piece] = []
    for go in marked.sides:
        pieces += _go(go)
    order: list[Worth] = ["missed", "false_alarm", "caught", "right"]
    in_order = sorted(marked.checks, key=lambda m: order.index(m.worth))
    for mark in in_order:
        pieces += [] if _plain(mark) else _mark(mark, session.title(mark.topic), width)
    if plain := "; ".join(session.title(mark.topic) for mark in in_order if _plain(mark)):
        words, style = WORTH["right"]
        line = wrapped(f"{plain}. So says the program.", width, MARGIN, MARGIN)
        pieces += [(f"\n{words:<{MARGIN}}", style), (f"{line}\n", "")]
    for topic, truth in session.missed_out:
        title, line = session.title(topic), wrapped(f"{truth.was} {truth.why}".strip(), width, 2, 2)
        pieces += [
            (f"\n{'not called':<{MARGIN}}", "$text-warning"),
            (f"{title}\n", "bold"),
            (f"  {line}\n", ""),
        ]
    if uncalled := "; ".join(session.title(t) for t in session.all_uncalled):
        pieces.append((f"\n{wrapped(f'Not called: {uncalled}.', width, 0, 2)}\n", "$text-muted"))
    pieces.append((f"\n{wrapped(kept, width, 0, 0)}\n", "$text-muted"))
    return Content.assemble(*pieces)


def _plain(mark: Mark) -> bool:
    """Whether a call was right and there is nothing to learn from it."""
    return mark.worth == "right" and mark.engine == mark.said and not any(_told(mark))


def _go(mark: GoMark) -> list[Piece]:
    words, style = WORTH_OF_GO[mark.worth]
    words = words if mark.said or mark.worth != "right" else NEAR
    side = "" if mark.side == "single" else f"{mark.side.capitalize()} side: "
    return [(side, "bold"), (f"{words}\n", style)]


def _mark(mark: Mark, title: str, width: int) -> list[Piece]:
    words, style = WORTH[mark.worth]
    told = f"you said {CALLS[mark.said]}, {_program(mark)}"
    taken = MARGIN + cell_len(title) + 2
    pieces: list[Piece] = [
        (f"\n{words:<{MARGIN}}", style),
        (title, "bold"),
        (f"  {wrapped(told, width, taken, MARGIN)}\n", "$text-muted"),
    ]
    pieces += [(f"  {wrapped(line, width, 2, 2)}\n", "") for line in _told(mark)]
    return pieces


def _program(mark: Mark) -> str:
    if mark.engine == mark.said:
        return "so did the program"
    if mark.engine == "not_done":
        return "the program had too few answers"
    found = next((w for outcome, w in OUTCOMES.items() if outcome == mark.engine), mark.engine)
    return f"the program says {found}"


def _told(mark: Mark) -> Iterator[str]:
    """What was true and why it matters; what would have shown it; what was measured again for nothing."""
    if mark.truth.was:
        yield " ".join(x for x in (mark.truth.was, mark.truth.why) if x)
    if mark.truth.near and mark.worth == "right" and mark.said == "pass":
        yield BY_LUCK
    if mark.unseen:
        yield f"It would have shown at: {_list(mark.unseen)}."
    if mark.for_nothing:
        yield f"Measured again for nothing, the first reading had decided it: {_list(mark.for_nothing)}."


def _list(words: Sequence[str]) -> str:
    return ", ".join(words)
