"""The rail: which steps there are, how far each is, where one stands."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from readiness.verdict import Verdict, Word
from readiness.wizard.looks import GLYPHS
from readiness.wizard.plates import Plate
from readiness.wizard.rows import StepState

WIDTH = 18
GO: dict[Word, tuple[str, str]] = {
    "go": (GLYPHS["pass"], "$text-success"),
    "go-with-waivers": (GLYPHS["waived"], "$text-warning"),
    "no-go": ("", ""),
}
"""Glyph and colour of what is done, and of what is done but for what a person set aside."""


class Rail(Plate):
    """One line a step, one for the verdict, and under a rule what comes after it."""

    def show_steps(
        self, before: Sequence[StepState], after: Sequence[StepState] | None, at: int, verdict: Verdict
    ) -> None:
        """`after`: the steps after the calibration; None as long as nobody asked for them."""
        lines = [*_steps(before, at), rail_line("Go / no-go", *GO[verdict.word], here=at == len(before))]
        if after is not None:
            first = len(before) + 1
            lines.append((f"  {'─' * (WIDTH - 5)}\n", "$text-muted"))
            lines += [
                *_steps(after, at - first),
                rail_line("End of the job", "", "", here=at >= first + len(after)),
            ]
        self.show(Content.assemble(*lines))


def _steps(states: Sequence[StepState], at: int) -> list[tuple[str, str]]:
    lines = []
    for k, state in enumerate(states):
        glyph, style = _progress(state)
        lines.append(rail_line(state.step.title, glyph, style, here=k == at))
    return lines


def _progress(state: StepState) -> tuple[str, str]:
    if state.outcome == "pass":
        return GO["go-with-waivers" if state.waived else "go"]
    count = f"{state.answered}/{state.asked}" if state.answered < state.asked else ""
    if state.outcome == "fail":
        return f"{count} ✗".strip(), "$text-error"
    return count or "·", "$text-muted"


def rail_line(title: str, mark: str, style: str, *, here: bool) -> tuple[str, str]:
    front = "▸ " if here else "  "
    room = WIDTH - 2 - len(front) - len(mark)
    shown = title if len(title) <= room else title[: room - 1] + "…"
    return f"{front}{shown:<{room}} {mark}\n", f"bold {style}" if here else style
