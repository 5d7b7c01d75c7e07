"""The one screen of a survey: a row a reading, the plan beside it, and the result at the end.

It shows and passes on; what is asked, what does not fit and what comes out is said by `readiness.survey`.
"""

from __future__ import annotations

from typing import ClassVar, cast

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Region
from textual.widgets import Static

from readiness.wizard import surveying_pages as pages
from readiness.wizard.dialogs import Offer, Pick
from readiness.wizard.form import Form
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Locked, Plate, Said
from readiness.wizard.rows import Row
from readiness.wizard.surveying_deeds import SurveyDeeds
from readiness.wizard.surveying_lines import cursor, lines_of, plan_of
from readiness.wizard.surveying_session import Again, SurveySession

LOOK_AGAIN = 20.0
"""Seconds after which a survey that another program takes is read anew."""
PAGE = 8
"""Rows that PgUp and PgDn go."""

KEYS_NARROW = "Enter next  F1 why  F7 leave out  Ctrl+N add  Ctrl+L plan  F10 result  Esc out"
KEYS_SLIM = "Enter next  F1 why  Ctrl+L plan  F10 result  Esc out"
KEYS_WIDE = (
    "Enter next  F1 why and how  F2 note  F4 instrument  F5 take back  F7 leave out  "
    "Ctrl+N add  F10 result  Esc leave"
)
KEYS_PAGE = "Enter keeps the survey  F1 how worked out  Ctrl+L map  Esc back to reading"
KEYS_OPEN = "Enter goes to what is to be read  F1 how worked out  Ctrl+L map"
KEYS_KEPT = "Enter or Esc leave  Ctrl+L map"


class Surveying(SurveyDeeds):
    """Walks a survey through its places. Holds the session and which page shows; all else is derived."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", f"page(-{PAGE})", "up", show=False, priority=True),
        Binding("pagedown", f"page({PAGE})", "down", show=False, priority=True),
    ]

    def __init__(self, session: SurveySession, greeting: str = "") -> None:
        """`greeting` is said first: that an unfinished survey goes on."""
        super().__init__()
        self.session, self._greeting = session, greeting
        self.on_result = False
        self._just_read: Row | None = None
        """The row that was answered last, until the cursor stands on the next."""

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        yield Locked(id="locked")
        with Horizontal(id="middle"):
            with Vertical(id="main"):
                yield Plate(id="title")
                yield Form()
                with VerticalScroll(id="page"):
                    yield Static(id="page-text")
                yield Said(id="prompt")
                yield Said(id="sentence")
            yield PictureView()
        yield Plate(Content(KEYS_NARROW), id="keys")

    def on_mount(self) -> None:
        self.query_one("#page").display = False
        self.watch(self.form, "virtual_size", self._in_view, init=False)
        self.call_after_refresh(self._begin)
        self.set_interval(LOOK_AGAIN, self.look_again)

    def on_unmount(self) -> None:
        self.session.close()

    def _begin(self) -> None:
        self.hear_news()
        self._draw(self.session.next_row)
        self.say_news(self._greeting)
        self.warm()

    @work(thread=True, exclusive=True, group="warm")
    def warm(self) -> None:
        """Import what the first readings need while nobody has typed yet."""
        from readiness import units
        from readiness.measure import level_net

        assert level_net.LevelNet is not None
        units.prepare()

    # --- showing ---------------------------------------------------------------------------------

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def row(self) -> Row | None:
        return None if self.on_result else self.form.row

    def show_anew(self, row: Row | None) -> None:
        self._draw(row, keep_text=True)

    def _draw(self, row: Row | None, *, keep_text: bool = False) -> None:
        """Draw everything from the session; the cursor goes to `row`, or to the first open one."""
        self._show_frame()
        for name in ("Form", "#prompt", "#sentence"):
            self.query_one(name).display = not self.on_result
        self.query_one("#page").display = self.on_result
        if self.on_result:
            self.call_after_refresh(self._show_result)
            return
        lines = lines_of(self.session)
        at = cursor(lines, row)
        before, after = self.form.row, lines[at].row if at >= 0 else None
        same = before is not None and after is not None and before.place == after.place
        self.form.show(lines, at, keep_text=keep_text and same)
        self._show_row()

    def _in_view(self) -> None:
        """Rows that were added have their height only now, so only now can the cursor's row come into view."""
        here = self.form.rows.here
        if here >= 0:
            self.form.scroll_to_region(Region(0, max(0, here - 1), 1, 3), animate=False, force=True)

    def _show_frame(self) -> None:
        session, width = self.session, self.size.width
        self.query_one("#head", Plate).show(Content(pages.header(session, width)))
        self.show_lock()
        title = "Result" if self.on_result else pages.title(session)
        self.query_one("#title", Plate).show(Content(title))
        fitting = (keys for keys in (KEYS_WIDE, KEYS_NARROW) if width >= len(keys) + 2)
        reading = next(fitting, KEYS_SLIM)
        self.query_one("#keys", Plate).show(Content(self._keys_of_page() if self.on_result else reading))

    def _keys_of_page(self) -> str:
        if self.session.kept is not None:
            return KEYS_KEPT
        return KEYS_OPEN if self.session.refusal else KEYS_PAGE

    def _show_row(self) -> None:
        row = self.row
        self.query_one("#prompt", Said).show(pages.prompt(self.session, row))
        self.query_one("#sentence", Said).show(pages.sentence(self.session, row))
        self.query_one(PictureView).show(plan_of(self.session, row), self.session.system)
        self.say_news()

    def _show_result(self) -> None:
        if not self.on_result:
            return
        width = max(30, self.query_one("#main").content_size.width - 2)
        self.query_one("#page-text", Static).update(pages.result_page(self.session, width))
        self.query_one(PictureView).show(self.session.map(), self.session.system)
        self.query_one("#page").focus()

    def say(self, text: str) -> None:
        """On the reading page under the form, on the result page on top of it."""
        said = Content.styled(text, "$text-warning")
        self.query_one("#sentence", Said).show(said)
        self.query_one("#sentence").display = True

    def on_resize(self, _: events.Resize) -> None:
        if self.is_mounted:
            self._show_frame()
            self.call_after_refresh(self._show_result)

    # --- reading ---------------------------------------------------------------------------------

    def on_form_moved(self) -> None:
        self._show_row()
        if self._just_read is not None:
            self._say_what_was_read(self._just_read)
            self._just_read = None
            self.say_news()

    def on_form_left(self, message: Form.Left) -> None:
        """Past the last row: to the first that is still open, else to the result."""
        if message.by > 0:
            self._go_on()

    def _go_on(self) -> None:
        lines = lines_of(self.session)
        if any(line.row is not None and line.row.open for line in lines):
            self._draw(None)
        else:
            self.action_result()

    def on_form_entered(self, message: Form.Entered) -> None:
        row, text = message.row, message.text.strip()
        if text and self.bars():
            return
        if text:
            self._again(row, text) if row.answered else self._keep(row, text)
        elif row.answered:
            self.form.move_on()
        elif row.question.optional:
            self.form.move(1)
        else:
            what = "run or place" if self.session.run_of(row) else "place"
            self.say(f"{row.question.label}: nothing was typed. F7 leaves the {what} out.")

    @work
    async def _again(self, row: Row, text: str) -> None:
        """A second entry for a row that has one: the person says why."""
        offers = (
            Offer("c", "correct", "the first was misread or mistyped: only the new one counts"),
            Offer("r", "repeat", "read again: both readings count together"),
        )
        why = await self.app.push_screen_wait(Pick(f"{row.question.label} has a reading. Why again?", offers))
        if why is None:
            self.form.entry.value = ""
        else:
            self._keep(row, text, cast("Again", why))

    def _keep(self, row: Row, text: str, again: Again = "repeat") -> None:
        """On the disk first; then the next row, or the one that turns out not to fit."""
        before = self.session.so_far()
        if refused := self.tried(lambda: self.session.answer(row, text, again)):
            self.say(refused)
            return
        after = self.session.so_far()
        new = after.suspect - before.suspect
        suspect = row if row.question.key in new else self.session.first_of(new)
        self._draw(suspect or row)
        if suspect is None and len(after.problems) <= len(before.problems):
            self._just_read = row
            self.form.move_on()

    def _say_what_was_read(self, row: Row) -> None:
        """What a reading says stays in view while the next one is typed, where no number line says it already."""
        found = self.session.so_far()
        part = found.parts.get(row.question.key)
        if part is not None and part.low is None and not (found.problems or found.doubts):
            self.query_one("#sentence", Said).show(Content(f"{part.reason} {self.session.tilt}".strip()))

    # --- stepping --------------------------------------------------------------------------------

    def typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said and stays there."""
        text = self.form.entry.value.strip() if self.row is not None else ""
        if text:
            self.say(f"'{text}' is not kept yet. Enter keeps it, Esc clears it.")
        return bool(text)

    def action_page(self, by: int) -> None:
        if self.on_result:
            self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False)
        elif not self.typed():
            self.form.move_far(by)

    def action_result(self) -> None:
        if not self.on_result and not self.typed():
            self.on_result = True
            self._draw(None)

    def action_back(self) -> None:
        if self.on_result and not self.session.kept:
            self._back_to_reading()
        elif self.row is not None and self.form.entry.value:
            self.form.entry.value = ""
            self._show_row()
        else:
            self.dismiss(None)

    def _back_to_reading(self) -> None:
        """The cursor goes to what is to be read."""
        self.on_result = False
        self._draw(self.session.next_row)

    def on_key(self, event: events.Key) -> None:
        """Enter on the result page keeps the survey, and after that leaves; else it goes to what is to be read."""
        if not self.on_result or event.key != "enter":
            return
        event.stop()
        if self.session.kept:
            self.dismiss(None)
        elif self.session.refusal and self.session.next_row is not None:
            self._back_to_reading()
        else:
            self._keep_survey()

    def _keep_survey(self) -> None:
        if refused := self.tried(self.session.keep):
            self.say(refused)
            return
        self._draw(None)
