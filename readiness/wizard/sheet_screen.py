"""The one screen of a sheet being written: a part of the questions at a time, the plan beside it, the file at the end.

It shows and passes on; what is asked, what it means and what is wrong with it is said by `readiness.sheetmaking`.
"""

from __future__ import annotations

from typing import ClassVar

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Region
from textual.widgets import Static

from readiness.sheetmaking.asking import Section
from readiness.sheetmaking.checked import Remark
from readiness.wizard import sheet_pages as pages
from readiness.wizard.dialogs import Offer, Pick, Tell
from readiness.wizard.form import Form
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Plate, Prompt, Said
from readiness.wizard.rows import Row
from readiness.wizard.sheet_deeds import SheetDeeds
from readiness.wizard.sheet_session import SheetSession

KEYS_WIDE = "Enter next  F1 about this  F5 clear  F6 let stand  F7 leave out  Ctrl+Z undo  Ctrl+L plan  F10 write  Esc back"
KEYS_NARROW = "Enter next  F1 about  F7 leave out  Ctrl+L plan  F10 write  Esc back"
KEYS_PAGE = "Enter writes the sheet, or goes to what is open  Ctrl+L plan  Esc back"
KEYS_WRITTEN = "Enter or Esc leave  Ctrl+L plan"


class SheetScreen(SheetDeeds):
    """Holds the session and which part shows; all else is derived."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,ctrl+y", "help", "about this"),
        Binding("f10", "last", "write"),
        Binding("ctrl+l", "plan", "plan", priority=True),
        Binding("ctrl+t", "app.other_look", "look", priority=True),
        Binding("pageup", "part(-1)", "part before", priority=True),
        Binding("pagedown", "part(1)", "next part", priority=True),
        Binding("escape", "back", "back"),
    ]

    def __init__(self, session: SheetSession) -> None:
        super().__init__()
        self.session = session
        self.at = session.first_open()
        self._told = ""
        """What stood in the field, and could not be kept, when somebody wanted to leave."""
        self._news: tuple[Remark, ...] = ()
        """What the last answer brought about, wherever it stands."""

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        with Horizontal(id="middle"):
            yield pages.SheetRail()
            with Vertical(id="main"):
                yield Plate(id="title")
                yield Form()
                with VerticalScroll(id="page"):
                    yield Static(id="page-text")
                yield Prompt(id="prompt")
                yield Said(id="sentence")
            yield PictureView()
        yield Plate(Content(KEYS_NARROW), id="keys")

    def on_mount(self) -> None:
        self.watch(self.form, "virtual_size", self._in_view, init=False)
        self.call_after_refresh(self.show_anew)

    # --- where one stands ------------------------------------------------------------------------

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def section(self) -> Section | None:
        """The part shown; None on the last page."""
        found = self.session.sections
        return found[self.at] if self.at < len(found) else None

    @property
    def row(self) -> Row | None:
        return None if self.section is None else self.form.row

    def _go(self, to: int, *, by: int = 1, last: bool = False) -> None:
        """To that part, past those that ask nothing."""
        self._news = ()
        found = self.session.sections
        while 0 <= to < len(found) and not found[to].asked:
            to += by
        self.at = min(max(to, 0), len(found))
        self.show_anew(last=last)

    # --- showing ---------------------------------------------------------------------------------

    def show_anew(self, key: str = "", *, last: bool = False, keep_text: bool = False) -> None:
        """Everything anew; the cursor goes to the question of that key, else to what is open."""
        section = self.section
        for name, shown in (("#page", section is None), ("Form", section is not None),
                            ("#prompt", section is not None), ("#sentence", section is not None)):  # fmt: skip
            self.query_one(name).display = shown
        self._show_frame()
        if section is None:
            self.call_after_refresh(self._show_last)
            return
        lines = pages.lines_of(self.session, section)
        self.query_one("#title", Plate).show(Content(pages.title(self.session, section)))
        self.form.show(lines, pages.cursor(lines, key, last=last), keep_text=keep_text)
        self._show_row()

    def _show_frame(self) -> None:
        width = self.size.width
        self.query_one("#head", Plate).show(Content(pages.header(self.session, width)))
        self.query_one(pages.SheetRail).show_sections(self.session, self.at)
        keys = KEYS_WIDE if width >= len(KEYS_WIDE) + 2 else KEYS_NARROW
        if self.section is None:
            keys = KEYS_WRITTEN if self.session.written else KEYS_PAGE
        self.query_one("#keys", Plate).show(Content(keys))

    def _show_row(self) -> None:
        row, section = self.row, self.section
        if section is None:
            return
        plate = self.query_one("#prompt", Plate)
        plate.show(pages.prompt(self.session, row, plate.content_size.width or 60))
        self.query_one("#sentence", Said).show(pages.sentence(self.session, row, self._remarks(), self._news))
        self._show_picture(row)

    def _show_picture(self, row: Row | None) -> None:
        picture = self.session.picture(row.question.key if row else "")
        self.query_one(PictureView).show(picture, self.session.system)

    def _show_last(self) -> None:
        if self.section is not None:
            return
        title = "Written" if self.session.written else "Before it is written"
        self.query_one("#title", Plate).show(Content(title))
        self.query_one("#page-text", Static).update(pages.last_page(self.session, self.session.finished()))
        self._show_picture(None)
        self.query_one("#page").focus()

    def _in_view(self) -> None:
        """Rows that were added have their height only now, so only now can the cursor's row come into view."""
        here = self.form.rows.here
        if here >= 0:
            self.form.scroll_to_region(Region(0, max(0, here - 1), 1, 3), animate=False, force=True)

    def say(self, text: str) -> None:
        self.query_one("#sentence").display = True
        self.query_one("#sentence", Said).show(Content.styled(text, "$text-warning"))

    def on_resize(self, _: events.Resize) -> None:
        if self.is_mounted:
            self._show_frame()
            self.call_after_refresh(self._show_last)

    # --- answering -------------------------------------------------------------------------------

    def on_form_moved(self) -> None:
        self._show_row()

    def on_form_left(self, message: Form.Left) -> None:
        self._go(self.at + message.by, by=message.by, last=message.by < 0)

    def on_form_entered(self, message: Form.Entered) -> None:
        row, text = message.row, message.text.strip()
        question = row.question
        text = text or ("" if row.answered else question.default)
        if not text:
            if row.answered or question.optional:
                self.form.move(1)
            else:
                self.say(f"{question.label.strip()}: nothing was typed. PgDn goes on and leaves it open.")
            return
        before = self.session.looked.remarks
        if self.tried(lambda: self.session.answer(question, text)):
            self._news = tuple(r for r in self.session.looked.remarks if r not in before)
            self._next(question.key)

    def _next(self, key: str) -> None:
        """Down by one row, or to stay where what was typed is wrong."""
        self.show_anew(key)
        row = self.form.row
        if row is not None and row.question.key == key and row.part is None:
            self.form.move(1)

    # --- places ----------------------------------------------------------------------------------

    def typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said and stays there."""
        text = self.form.entry.value.strip() if self.row is not None else ""
        if text:
            self.say(f"'{text}' is not kept yet. Enter keeps it, Esc clears it.")
        return bool(text)

    def may_leave(self) -> bool:
        """Whether nothing would be lost: what stands in the field is kept, or it is said once why it cannot be."""
        row, text = self.row, self.form.entry.value.strip() if self.row is not None else ""
        if row is None or not text or text == self._told:
            return True
        if self.tried(lambda: self.session.answer(row.question, text)):
            return True
        self._told = text
        return False

    def action_part(self, by: int) -> None:
        if self.section is None and by > 0:
            self.query_one("#page", VerticalScroll).scroll_page_down(animate=False)
        elif not self.typed():
            self._go(self.at + by, by=by)

    def action_last(self) -> None:
        if not self.typed():
            self._go(len(self.session.sections))

    def action_back(self) -> None:
        if self.session.written is not None:
            self.dismiss(None)
        elif self.row is not None and self.form.entry.value:
            self.form.entry.value = ""
            self._show_row()
        elif self.at == 0:
            self.dismiss(None)
        else:
            self._go(self.at - 1, by=-1)

    @work
    async def action_help(self) -> None:
        section = self.section
        title = section.title if section is not None else "Write"
        await self.app.push_screen_wait(Tell(title, pages.help_page(section, self.row)))

    def action_plan(self) -> None:
        from readiness.wizard.plan_page import PlanPage

        picture = self.session.picture(self.row.question.key if self.row is not None else "")
        if not picture:
            self.say("There is no plan yet: it begins with the dimensions of the car.")
            return
        self.app.push_screen(PlanPage(f"Plan: {self.session.title}", picture, self.session.system))

    # --- writing ---------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if self.section is None and event.key == "enter":
            event.stop()
            self.dismiss(None) if self.session.written else self._write()

    @work(exclusive=True, group="write")
    async def _write(self) -> None:
        """What is open first; then doubts, then a file of that name are asked about."""
        found = self.session.finished()
        if not found.sound:
            self._go_to_first(
                [a.key for _, asked in found.open for a in asked] or [r.key for r in found.wrong]
            )
            return
        if found.doubts and not await self._doubts_stand(len(found.doubts)):
            self._go_to_first([r.key for r in found.doubts])
            return
        there = self.session.in_the_way()
        over = False
        if there is not None:
            offers = (
                Offer("i", "", "give it another id"),
                Offer("r", "over", "replace it: jobs that name it are judged by the new one"),
            )
            chosen = await self.app.push_screen_wait(Pick(f"{there.name} is there already", offers))
            if chosen != "over":
                if chosen == "":
                    self._go_to_first(["sheet"])
                return
            over = True
        if self.tried(lambda: self.session.write(over=over)):
            self.show_anew()

    async def _doubts_stand(self, count: int) -> bool:
        what = "One thing is seldom meant" if count == 1 else f"{count} things are seldom meant"
        offers = (Offer("l", "", "look at it again"), Offer("w", "write", "it is meant: write the sheet"))
        return await self.app.push_screen_wait(Pick(f"{what} and may be", offers)) == "write"

    def _go_to_first(self, keys: list[str]) -> None:
        """The first of these questions; of an entry of a list its first question."""
        for key in keys:
            for k, section in enumerate(self.session.sections):
                for asked in section.asked:
                    if asked.key == key or asked.key.startswith(f"{key}."):
                        self.at = k
                        self.show_anew(asked.key)
                        return
        self.say("What is wrong is in no question: look at what the page says.")
