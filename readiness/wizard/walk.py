"""The wizard's one screen: its answers and its steps, which are shown inside it, not as screens."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import events, work
from textual.binding import Binding, BindingType
from textual.content import Content

from readiness import units
from readiness.checks.afterwards import RESULT
from readiness.checks.finding import Finding
from readiness.wizard import pages
from readiness.wizard.closing_deeds import After
from readiness.wizard.dialogs import Offer, Pick
from readiness.wizard.form import Form
from readiness.wizard.plates import Said
from readiness.wizard.rows import Row
from readiness.wizard.session import Session

if TYPE_CHECKING:
    from readiness.wizard.session import Again

LOOK_AGAIN = 20.0
"""Seconds after which the verdict is judged anew while nobody types."""


class Walk(After):
    """Walks one job round the car: what is entered, and where that leads."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "step(-1)", "step back", tooltip="The step before", show=False, priority=True),
        Binding("pagedown", "step(1)", "next step", tooltip="The next step", show=False, priority=True),
    ]
    LISTED: ClassVar[list[BindingType]] = [*After.LISTED, *BINDINGS]

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._warned: list[Finding] = []
        """The findings that were last said when somebody wanted to leave their step."""

    def on_mount(self) -> None:
        self.query_one("#page").display = False
        self.call_after_refresh(self._begin)
        self.set_interval(LOOK_AGAIN, self._time_passed)

    def _begin(self) -> None:
        """Open on the first step that is not finished; a job that has ended on its last page."""
        self.verdict = self.session.verdict()
        self.hear_news()
        start = self.go_page + 1 if self.session.settled else 0
        self._enter(self._next_open(start) if self.session.ended is None else self.end_page)
        self.say_news()

    def _show_row(self) -> None:
        super()._show_row()
        self.say_news()

    # --- answering -------------------------------------------------------------------------------

    def on_form_moved(self) -> None:
        self._show_row()

    def on_form_left(self, message: Form.Left) -> None:
        """Past the last row goes the way to the next open step, but not silently away from a failing one."""
        if message.by < 0:
            self._enter(self.at - 1, from_below=True) if self.at > 0 else None
            return
        wrong = self._wrong()
        if wrong and self._warned != wrong:
            self._warned = wrong
            self.query_one("#sentence", Said).show(pages.wrong(wrong[0]))
        else:
            self.go_on()

    def _wrong(self) -> list[Finding]:
        """The findings of this step that fail or are too close."""
        assert self.verdict is not None
        return [f for f in self.session.findings(self.step, self.verdict) if f.wrong] if self.step else []

    def on_form_entered(self, message: Form.Entered) -> None:
        row, text = message.row, message.text.strip()
        if text and self.bars():
            return
        if not text:
            self._enter_alone(row)
        elif not row.answered:
            self._keep(row, text)
        elif row.question.type == "quantity" or row.failing:
            self._again(row, text)
        else:
            self._keep(row, text)  # a state is as it was last found, and until then as it was found before

    def _enter_alone(self, row: Row) -> None:
        if not row.answered and row.question.default:
            self._keep(row, row.question.default)
        elif row.answered or row.question.optional:
            self.form.move(1)
        else:
            self.say(
                f"{row.question.label}: nothing was typed. PgDn leaves this step for later, F7 sets the check aside."
            )

    def _keep(self, row: Row, text: str, again: Again = "repeat") -> None:
        if refused := self.tried(lambda: self.session.answer(row, text, again)):
            self.say(refused)
            self.form.entry.select_all()
            return
        self._after(row)

    def _after(self, row: Row) -> None:
        """Show what the answer did, and go on to the next open row unless this one needs a look."""
        self._draw(row.place)
        now = self.row
        if now is None or now.failing:
            wrong = self._wrong() if now is not None else []
            self._warned = wrong if len(wrong) == 1 else []  # the one that is wrong has just been said
            if now is not None and self._asks_what(now):
                self.form.move(1)
            return
        if row.answered and self._still_wrong(row):
            self.form.move(1)  # what belongs to the same thing is entered anew too
            return
        self.form.move_on(again=row.answered)
        if (
            now.part is not None
            and now.part.outcome == "pass"
            and self.row is not None
            and not self.row.answered
        ):
            # what was found stays readable while the next answer is typed
            self.query_one("#sentence", Said).show(Content(now.part.reason))

    def _asks_what(self, row: Row) -> bool:
        """Whether the next row asks what it is that a row has found wrong, such as which faults are stored."""
        lines = self.form.rows.lines[self.form.rows.here + 1 :]
        after = next((line.row for line in lines if line.row is not None), None)
        if after is None or not after.open or not row.question.part:
            return False
        return (after.place[:2], after.question.part) == (row.place[:2], row.question.part)

    def _still_wrong(self, row: Row) -> bool:
        """Whether what a row is one number of fails: of a thing that was moved, there are more to enter anew."""
        rows = (line.row for line in self.form.rows.lines if line.row is not None)
        parts = (r.part for r in rows if r.part is not None and r.failing)
        return any(row.question.key.startswith(f"{part.key}.") for part in parts)

    @work
    async def _again(self, row: Row, text: str) -> None:
        """A second entry for an answered question: the person says why."""
        title = f"{row.question.label} already has an answer. Why again?"
        why = await self.app.push_screen_wait(Pick(title, self.why_again(row)))
        if why is None:
            self.form.entry.value = ""
        else:
            self._keep(row, text, cast("Again", why))

    def why_again(self, row: Row) -> list[Offer]:
        return why_again(row)

    # --- stepping --------------------------------------------------------------------------------

    def typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said and stays there."""
        row = self.row
        text = self.form.entry.value.strip() if row is not None else ""
        if text and row is not None:
            self.say(f"'{text}' is not kept yet. Enter keeps it, Esc clears it.")
        return bool(text)

    def action_step(self, by: int) -> None:
        if not self.typed():
            last = self.end_page if self._beyond_shown else self.go_page
            self._enter(min(last, self.at + by))

    def action_back(self) -> None:
        if self.row is not None and self.form.entry.value:
            self.form.entry.value = ""
            self._show_row()
        elif self.busy:
            self.say(self.busy)
        elif self.at == 0 or (self.on_end_page and self.session.ended is not None):
            self.dismiss(None)
        else:
            self._enter(self.at - 1)

    def action_verdict(self) -> None:
        if not self.typed():
            self._enter(self.go_page)

    def action_units(self) -> None:
        """A bare number that is being typed keeps the unit it was begun in."""
        row = self.row
        entry = self.form.entry
        if row is not None:
            typed = len(entry.value.rstrip())
            entry.value = units.completed(entry.value, self.session.entry_unit(row.question))
            entry.cursor_position = typed  # the whole number stays in view
        super().action_units()

    def on_key(self, event: events.Key) -> None:
        """On a page single keys lead on. In a step without rows Enter and the arrows go on and back."""
        if self.verdict is None:
            return
        if self.step is None:
            self.page_key(event)
        else:
            self._key_without_row(event)

    def _key_without_row(self, event: events.Key) -> None:
        if self.row is not None or event.key not in ("enter", "down", "up"):
            return
        event.stop()
        if event.key == "up":
            self._enter(self.at - 1, from_below=True)
        else:
            self.go_on() if event.key == "enter" else self._enter(self.at + 1)

    def go_to_check(self, check_id: str) -> None:
        """To the row of a check that fails, else to its first open one, else to its first."""
        for k, step in enumerate(self.session.steps):
            if check_id in step.checks:
                rows = [r for r in self.session.rows(step, self.session.verdict()) if r.check.id == check_id]
                wanted = [r for r in rows if r.failing] or [r for r in rows if r.open] or rows
                self._enter(k, wanted[0].place if wanted else None)
                if not wanted:
                    self._say_of(check_id)
                return

    def _say_of(self, check_id: str) -> None:
        """What is wrong with a check of this step that has no row to stand on, such as the instruments."""
        wrong = next((f for f in self._wrong() if f.check == check_id), None)
        if wrong is not None:
            self.query_one("#sentence", Said).show(pages.wrong(wrong))


def why_again(row: Row) -> list[Offer]:
    """Why a question gets another answer, as far as that can be."""
    mistyped = Offer("c", "correct", "the first was mistyped: take it back")
    if row.check.kind == RESULT:  # each calibration has a result of its own
        return [
            Offer("r", "repeat", "calibrated again: the new result counts, the record keeps both"),
            mistyped,
        ]
    together = Offer("r", "repeat", "read again: both readings count together")
    put_right = Offer("f", "fixed", "something was put right in between: only the new reading counts")
    return [*[together] * (row.question.type == "quantity"), put_right, mistyped]
