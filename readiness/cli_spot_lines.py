"""Answers of a spot check, line by line: at a terminal, or from lines that are piped in."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Sequence
from datetime import date

import click

from readiness.checks.entry import in_words
from readiness.checks.kind import Place, Question
from readiness.job import Again, Drawn, Instrument, Reading, System
from readiness.records.spot_checks import Asked, Item, LeftOut, Stopped, Typed
from readiness.report.spot_checks import MARGIN, item_lines, outcome_lines, tool_line, unit_line
from readiness.report.text import clean, wrapped

LONGEST = 1_000
"""Characters of a line that somebody types."""
ROOM = 60
"""Characters of a prompt that leave room for what is typed after it."""
HOW = (
    "Answer as in the wizard. 'none: REASON' where it cannot be taken again, 'stop' to go on another time. Each answer is "
    "kept as it is entered, and cannot be taken back."
)
SAME_TOOL = "Another instrument would see more: with the same one, an error of its own does not show."
_NONE = re.compile(r"none\b[\s:,-]*(.*)", re.IGNORECASE)


class LineAnswers:
    """Asks with plain prompts. `write` shows text; where somebody sits there (`asks_twice`), each answer is confirmed."""

    def __init__(
        self, write: Callable[[str], None], system: System, today: date, *, asks_twice: bool
    ) -> None:
        self._write, self._system, self._today, self._asks_twice = write, system, today, asks_twice
        self._chosen: dict[str, str] = {}
        """What is measured -> the instrument chosen last."""
        self._at_hand: dict[Place, str] = {}
        """The instruments of the item that is asked for: an answer that is refused needs no second choice."""

    def begin(self, item: Item, question: Question) -> None:
        self._at_hand.clear()
        self._lines(["", *item_lines(item, question)])

    def answer(self, asked: Asked) -> Typed:
        if asked.place not in self._at_hand:
            self._at_hand[asked.place] = self._tool(asked)
        tool = self._at_hand[asked.place]
        last = asked.last
        said = self._line(self._prompt(asked))
        if not said and last is not None:
            return Typed(last.text, tool)
        if (none := _NONE.fullmatch(said)) is not None:
            return self._left_out(none[1])
        return Typed(said, tool)

    def _prompt(self, asked: Asked) -> str:
        """What is typed here; choices that have no room beside it stand above it."""
        question, last = asked.question, asked.last
        label = question.label.rstrip(",") if asked.beside else "Now"
        default = f" (Enter: {clean(last.text)})" if last is not None else ""
        choices = ", ".join(f"{c.key} {c.label}" for c in question.choices)
        if not choices:
            return f"{label}{unit_line(question, self._system)}{default}: "
        if len(f"{label} ({choices}){default}") <= ROOM:
            return f"{label} ({choices}){default}: "
        self._lines([line for c in question.choices for line in wrapped(f"{c.key} {c.label}", MARGIN)])
        return f"{label}{default}: "

    def _left_out(self, why: str) -> Typed:
        while not any(c.isalnum() for c in why):
            why = self._line("Why can it not be taken again: ")
        raise LeftOut(clean(why))

    def refused(self, asked: Asked, why: str) -> None:
        self._lines(wrapped(why, MARGIN))

    def sure(self, asked: Asked, reading: Reading) -> bool:
        """Before anything is shown of the first reading: once that is known, nobody corrects."""
        if not self._asks_twice or asked.beside:
            return True
        keeps = not self._line(f"{clean(in_words(asked.question, reading))}: Enter keeps it, n asks again: ")
        if not keeps:
            self._at_hand.clear()
        return keeps

    def outcome(self, drawn: Drawn, again: Again) -> None:
        self._lines(outcome_lines(drawn, again, self._system))

    # --- instruments -----------------------------------------------------------------------------

    def _tool(self, asked: Asked) -> str:
        offers, measures = asked.offers, asked.question.measures
        if not offers:
            return ""
        best = self._chosen.get(measures, offers[0].id)
        best = offers[0].id if best in asked.used else best
        if len(offers) > 1:
            self._lines(_offer_lines(asked, self._today))
            best = self._choice(asked.question, offers, best)
            self._chosen[measures] = best
        else:
            self._lines(wrapped(f"with {tool_line(offers[0], best in asked.used, self._today)}", MARGIN))
        if best in asked.used:
            self._lines(wrapped(SAME_TOOL, MARGIN))
        return best

    def _choice(self, question: Question, offers: Sequence[Instrument], best: str) -> str:
        while True:
            said = self._line(f"With which (Enter: {best}): ")
            if not said:
                return best
            found = [t.id for n, t in enumerate(offers, 1) if said in (str(n), t.id)]
            if found:
                return found[0]
            if (none := _NONE.fullmatch(said)) is not None:
                self._left_out(none[1])
            self._lines(wrapped(f"Type 1 to {len(offers)}, or the instrument's name.", MARGIN))

    # --- lines -----------------------------------------------------------------------------------

    def _lines(self, lines: Sequence[str]) -> None:
        self._write("".join(f"{line}\n" for line in lines))

    def _line(self, prompt: str) -> str:
        """What is typed after a prompt. Raises Stopped at the end of the input."""
        self._write(f"{MARGIN}{clean(prompt)} ")
        try:
            said = rest = sys.stdin.readline(LONGEST)
            while rest and not rest.endswith("\n"):  # what is too long for an answer is no next answer
                rest = sys.stdin.readline(LONGEST)
        except UnicodeDecodeError as fault:
            raise click.ClickException(
                "The lines that were piped in are no text in UTF-8; write them so."
            ) from fault
        if not self._asks_twice or not said:
            self._write("\n")
        if not said or said.strip().lower() == "stop":
            raise Stopped
        return said.strip()


def _offer_lines(asked: Asked, today: date) -> list[str]:
    return [
        line
        for n, tool in enumerate(asked.offers, 1)
        for line in wrapped(tool_line(tool, tool.id in asked.used, today), f"{MARGIN}{n} ")
    ]
