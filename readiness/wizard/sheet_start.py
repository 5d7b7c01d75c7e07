"""The first screen of 'sheet new': painted at once, then the shop is read, and a draft gone on with or begun."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual import work
from textual.screen import Screen

from readiness.wizard.app import ReadinessApp, run_app
from readiness.wizard.beginning import AGAIN, Beginning

if TYPE_CHECKING:
    from readiness.records.drafts import KeptDraft
    from readiness.records.shop import ShopFolder

NEW = "new"


class SheetStart(Beginning):
    """Stays under the form. What cannot be opened is said here, and Enter tries again."""

    HEAD = " readiness: what the maker's procedure says, written down once for every job"

    def __init__(
        self, shop: Path | Callable[[], Path], clock: Callable[[], datetime], source: str, new_id: str
    ) -> None:
        """`source` is a sheet's id or file to begin with; empty: none."""
        super().__init__()
        self.shop_path, self.clock, self.source, self.new_id = shop, clock, source, new_id

    @work(thread=True, exclusive=True, group="shop")
    def open_shop(self) -> None:
        """Read what is needed, off the way to the first paint."""
        from readiness import units
        from readiness.records.shop import ShopError, ShopFolder

        try:
            path = self.shop_path
            folder = ShopFolder(path if isinstance(path, Path) else path())
            _ = folder.shop, folder.checklist_paths
            units.prepare()
        except (ShopError, OSError) as fault:
            self.app.call_from_thread(self.stop, f"{fault}\n\n{AGAIN}")
            return
        self.app.call_from_thread(self.begin, folder)

    @work(exclusive=True, group="begin")
    async def begin(self, folder: ShopFolder) -> None:
        from readiness.records.shop import ShopError

        try:
            kept = await self._old_or_new(folder)
            if kept is not None:
                self._open(folder, kept)
            else:
                self._busy = False
                self.say("Nothing was begun. Enter begins, Esc leaves.")
        except ShopError as fault:
            self.stop(f"{fault}\n\n{AGAIN}")

    async def _old_or_new(self, folder: ShopFolder) -> KeptDraft | None:
        """A draft that was left, or a new one; None where somebody went back."""
        from readiness.records.drafts import draft_from, drafts, new_draft, open_draft
        from readiness.sheetmaking.draft import Draft
        from readiness.wizard.dialogs import Pick, numbered

        if self.source:
            # another sheet has another document, and nobody is to pass by that with Enter
            return new_draft(folder, draft_from(folder, self.source, self.new_id).drop("document"))
        fresh = Draft().put("sheet", self.new_id) if self.new_id else Draft()
        there = drafts(folder)
        if self.new_id or not there:
            return new_draft(folder, fresh)
        offers = [(NEW, "a new sheet")]
        for line in there[:34]:
            said = f"{line.answers} answers, {line.at:%Y-%m-%d %H:%M}" if line.at else "cannot be read"
            offers.append((str(line.path), f"go on: {line.title} ({said})"))
        chosen = await self.app.push_screen_wait(Pick("Which sheet", numbered(offers)))
        if chosen == NEW:
            return new_draft(folder, fresh)
        return open_draft(Path(chosen)) if chosen else None

    def _open(self, folder: ShopFolder, kept: KeptDraft) -> None:
        from readiness.wizard.sheet_screen import SheetScreen
        from readiness.wizard.sheet_session import SheetSession

        session = SheetSession.of(folder, kept, self.clock)
        self.app.push_screen(SheetScreen(session), lambda _: self.app.exit())


class SheetApp(ReadinessApp):
    """The same application, begun at another place."""

    def __init__(
        self,
        shop: Path | Callable[[], Path],
        source: str = "",
        new_id: str = "",
        clock: Callable[[], datetime] | None = None,
    ) -> None:
        super().__init__(shop, clock=clock)
        self.source, self.new_id = source, new_id

    def get_default_screen(self) -> Screen[None]:
        from readiness.wizard.start import local_now

        return SheetStart(self.shop_path, self.clock or local_now, self.source, self.new_id)

    async def action_quit(self) -> None:
        """What is half typed is kept first; where it cannot be, that is said, and Ctrl+Q once more leaves."""
        from readiness.wizard.sheet_screen import SheetScreen

        if not isinstance(self.screen, SheetScreen) or self.screen.may_leave():
            self.exit()


def run_sheet(shop: Path | Callable[[], Path], source: str = "", new_id: str = "") -> int:
    """Write a sheet on the screen; the process's exit code."""
    return run_app(SheetApp(shop, source, new_id))
