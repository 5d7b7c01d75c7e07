"""What both kinds of session know of a journal that cannot be written here: another program has it, or the disk refuses."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from readiness.records.chained import Chained


class Held:
    """A session whose journal may be only read. Knows no widget."""

    if TYPE_CHECKING:

        @property
        def journal(self) -> Chained[Any]: ...

    person: str
    clock: Callable[[], datetime]

    @property
    def barred(self) -> str:
        """Why nothing can be entered, a sentence; empty where something can."""
        locked = self.journal.locked
        return f"Nothing can be entered: {locked} Ctrl+W tries again." if locked else ""

    def take_up(self) -> None:
        """Enter here from now on, with what others entered meanwhile. Raises JournalError."""
        self.journal.take(self.person, self.clock())
        self.look_anew()

    def look_again(self) -> bool:
        """Whether another program entered something meanwhile; it is then seen here too. Raises JournalError."""
        new = self.journal.look_again()
        if new:
            self.look_anew()
        return new

    def look_anew(self) -> None:
        """The journal says something else now."""
