"""The line above the list of jobs: letters typed there thin the list."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input

from readiness.wizard.job_list import JobList

JUDGE_AFTER = 0.25
"""Seconds after the last letter, so that nothing is judged while somebody types."""
KEYS = "Letters of number, plate, sheet or person  Enter or ↓ to the list  Esc back"


class FindLine(Input):
    """Thins `jobs` as one types. `judge` works out how those listed stand; `open_job` opens one by its number."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("down", "to_list", "to the list", show=False)]

    def __init__(self, jobs: JobList, judge: Callable[[], object], open_job: Callable[[str], object]) -> None:
        super().__init__(placeholder="number, plate, sheet or person", id="find", compact=True, max_length=60)
        self.jobs, self.judge, self.open_job = jobs, judge, open_job

    def on_input_changed(self, message: Input.Changed) -> None:
        text = message.value.strip()
        self.jobs.find(text)
        self.set_timer(JUDGE_AFTER, lambda: self.judge_if_still(text))

    def judge_if_still(self, text: str) -> None:
        if self.jobs.wanted == text:
            self.judge()

    def on_input_submitted(self) -> None:
        """To the list; where only one job is left, into it."""
        self.jobs.focus()
        if self.jobs.wanted and len(self.jobs.shown) == 1:
            self.open_job(self.jobs.shown[0].id)

    def action_to_list(self) -> None:
        self.jobs.focus()
