"""The rail: which steps there are, how far each is, where one stands."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from readiness.verdict import Verdict
from readiness.wizard.plates import Plate
from readiness.wizard.rows import StepState

WIDTH = 18


class Rail(Plate):
    """One line a step, and one for the verdict."""

    def show_steps(self, states: Sequence[StepState], at: int, verdict: Verdict) -> None:
        lines: list[tuple[str, str]] = []
        for k, state in enumerate(states):
            glyph, style = _progress(state)
            lines.append(_line(state.step.title, glyph, k == at, style))
        lines.append(
            _line(
                "Go / no-go",
                "✓" if verdict.go else "",
                at >= len(states),
                "$text-success" if verdict.go else "",
            )
        )
        self.show(Content.assemble(*lines))


def _progress(state: StepState) -> tuple[str, str]:
    if state.outcome == "pass":
        return "✓", "$text-success"
    count = f"{state.answered}/{state.asked}" if state.answered < state.asked else ""
    if state.outcome == "fail":
        return f"{count} ✗".strip(), "$text-error"
    return count or "·", "$text-muted"


def _line(title: str, mark: str, here: bool, style: str) -> tuple[str, str]:
    front = "▸ " if here else "  "
    room = WIDTH - 2 - len(front) - len(mark)
    shown = title if len(title) <= room else title[: room - 1] + "…"
    return f"{front}{shown:<{room}} {mark}\n", f"bold {style}" if here else style
