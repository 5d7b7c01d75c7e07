"""A sheet of paper typed in: what is entered was read at the time that the paper says."""

from __future__ import annotations

from textual import work

from readiness.wizard.dialogs import Ask
from readiness.wizard.keeping import Keeping, enters
from readiness.wizard.session import NOW, Session

HINT = "A time of today, or with its day: 2026-03-31 14:05. 'now': read as it is typed. Enter keeps it · Esc back"


class FromPaper(Keeping):
    """One key of the walk."""

    session: Session

    @enters
    @work
    async def action_as_of(self) -> None:
        """Until it is said anew, or the job is left."""
        session = self.session
        ask = Ask("Typed in from paper: read at what time?", offered=session.as_of or NOW, hint=HINT)
        await self.asked(ask, session.read_as_of, self.row, lambda _: self._said())

    def _said(self) -> str:
        at = self.session.as_of
        if not at:
            return "From now on an answer counts from when it is typed."
        return f"From now on an answer counts from {at}, a fix and an event too. Ctrl+N says another time, or ends it."
