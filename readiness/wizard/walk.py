"""The wizard's one screen: rail, form, finding, keys. Steps are shown inside it, not as screens."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from readiness.checks.common import AIR
from readiness.checks.finding import Finding
from readiness.checks.picture import Picture
from readiness.records.journal import JournalError
from readiness.units import UnitsError
from readiness.verdict import Verdict
from readiness.wizard import pages
from readiness.wizard.deeds import Deeds
from readiness.wizard.dialogs import Offer, Pick
from readiness.wizard.form import Form
from readiness.wizard.lines import Place, cursor, lines_of
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Plate, Said
from readiness.wizard.rail import Rail
from readiness.wizard.rows import Row
from readiness.wizard.session import Session

if TYPE_CHECKING:
    from readiness.wizard.session import Again

LOOK_AGAIN = 20.0
"""Seconds after which the verdict is judged anew while nobody types."""

KEYS_NARROW = "Enter next  F1 why  F4 instrument  F6 put right  F10 go/no-go  Esc back"
KEYS_WIDE = "Enter next  F1 why and how  F2 note  F3 evidence  F4 instrument  F5 take back  F6 put right  F9 event  F10 go/no-go"
NOTHING_TO_TYPE = (
    "Nothing to type: this follows from the other steps. Enter goes on, F1 says how it was worked out."
)
KEYS_PAGE = "Enter or a number goes there  F1 cautions  F9 event  PgUp last step  Esc back"


class Walk(Deeds):
    """Walks one job round the car. Holds the session and the step; all else is derived."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "step(-1)", "step back", show=False, priority=True),
        Binding("pagedown", "step(1)", "next step", show=False, priority=True),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.at = 0
        """Index of the step shown; len(steps) is the go / no-go page."""
        self.verdict: Verdict | None = None
        self._warned: list[Finding] = []
        """The findings that were last said when somebody wanted to leave their step."""

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        with Horizontal(id="middle"):
            yield Rail()
            with Vertical(id="main"):
                yield Plate(id="title")
                yield Form()
                with VerticalScroll(id="page"):
                    yield Static(id="page-text")
                yield Plate(id="prompt")
                yield Said(id="sentence")
            yield PictureView()
        yield Plate(Content(KEYS_NARROW), id="keys")

    def on_mount(self) -> None:
        self.query_one("#page").display = False
        self.call_after_refresh(self._begin)
        self.set_interval(LOOK_AGAIN, self._time_passed)

    def on_unmount(self) -> None:
        self.session.journal.close()

    def _begin(self) -> None:
        """Open on the first step that is not finished."""
        self.verdict = self.session.verdict()
        self._enter(self._next_open(0))
        if self.session.journal.warnings:
            self.say(" ".join(self.session.journal.warnings))

    # --- where one stands ------------------------------------------------------------------------

    @property
    def on_verdict_page(self) -> bool:
        return self.at >= len(self.session.steps)

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def row(self) -> Row | None:
        return None if self.on_verdict_page else self.form.row

    @property
    def places(self) -> list[tuple[str, str]]:
        return [] if self.on_verdict_page else self.session.places(self.session.steps[self.at])

    def _next_open(self, start: int) -> int:
        """The first step from `start` on that is not finished; else the go / no-go page."""
        assert self.verdict is not None
        for k in range(start, len(self.session.steps)):
            state = self.session.state(self.session.steps[k], self.verdict)
            if state.answered < state.asked or state.outcome != "pass":
                return k
        return len(self.session.steps)

    def _enter(self, at: int, place: Place | None = None, *, from_below: bool = False) -> None:
        self.at = min(len(self.session.steps), max(0, at))
        self._draw(place, from_below=from_below)

    # --- showing ---------------------------------------------------------------------------------

    def show_anew(self, row: Row | None) -> None:
        self._draw(row.place if row else None, keep_text=True)

    def _draw(self, place: Place | None, *, from_below: bool = False, keep_text: bool = False) -> None:
        """Judge anew and draw everything; the cursor goes to `place`, or to the first open question."""
        self.verdict = verdict = self.session.verdict()
        self._show_frame(verdict)
        on_page = self.on_verdict_page
        for name, shown in (
            ("#page", on_page),
            ("Form", not on_page),
            ("#prompt", not on_page),
            ("#sentence", not on_page),
        ):
            self.query_one(name).display = shown
        if on_page:
            self.query_one(PictureView).show(())
            self.call_after_refresh(self._show_page)
            return
        step = self.session.steps[self.at]
        lines = lines_of(self.session, step, verdict)
        self.query_one("#title", Plate).show(Content(step.title))
        self.form.show(lines, cursor(lines, place, from_below=from_below), keep_text=keep_text)
        self._show_row()

    def _show_frame(self, verdict: Verdict) -> None:
        """Head, rail and keys."""
        session, visit = self.session, self.session.visit
        air = next((r.value for r in reversed(visit.job.readings) if r.question == AIR.key), None)
        air = air if isinstance(air, float) else None
        head = pages.header(visit, session.person, session.kept_at, air, self.size.width)
        self.query_one("#head", Plate).show(Content(head))
        self.query_one(Rail).show_steps([session.state(s, verdict) for s in session.steps], self.at, verdict)
        wide = self.size.width >= len(KEYS_WIDE) + 2
        keys = KEYS_PAGE if self.on_verdict_page else KEYS_WIDE if wide else KEYS_NARROW
        self.query_one("#keys", Plate).show(Content(keys))

    def _show_page(self) -> None:
        if not self.on_verdict_page or self.verdict is None:
            return
        width = max(30, self.query_one("#main").content_size.width - 2)
        page = pages.go_page(self.verdict, self.session.visit, width)
        self.query_one("#title", Plate).show(Content("Go / no-go"))
        self.query_one("#page-text", Static).update(page)
        self.query_one("#page").focus()

    def _show_row(self) -> None:
        row = self.row
        if self.verdict is None or self.on_verdict_page:
            return
        if row is None:
            self._show_findings(self.verdict)
            return
        finding = self.session.finding_of(row, self.verdict)
        today = self.session.clock().date()
        self.query_one("#prompt", Plate).show(pages.prompt(row, *self.session.told_of(row), today))
        self.query_one("#sentence", Said).show(pages.sentence(row, finding))
        self.query_one(PictureView).show(finding.picture or self._step_picture())

    def _show_findings(self, verdict: Verdict) -> None:
        """A step that asks nothing: what follows from the others, the worst first."""
        findings = self.session.findings(self.session.steps[self.at], verdict)
        self.query_one("#prompt", Plate).show(Content.styled(NOTHING_TO_TYPE, "$text-muted"))
        self.query_one("#sentence", Said).show(pages.of_step(findings))
        self.query_one(PictureView).show(pages.worst_first(findings)[0].picture)
        self.form.focus_without_row()

    def _step_picture(self) -> Picture:
        """So that the form keeps its width within a step: the first picture that any of its findings has."""
        assert self.verdict is not None
        findings = self.session.findings(self.session.steps[self.at], self.verdict)
        return next((f.picture for f in findings if f.picture), ())

    def say(self, text: str) -> None:
        self.query_one("#sentence", Said).show(Content.styled(text, "$text-warning"))

    def on_resize(self, _: events.Resize) -> None:
        if self.verdict is not None:
            self._show_frame(self.verdict)
            self.call_after_refresh(self._show_page)

    def _time_passed(self) -> None:
        """Findings lapse by themselves: judge anew, without touching what is being typed."""
        if self.verdict is None or not self.is_current:
            return
        self.verdict = self.session.verdict()
        self._show_frame(self.verdict)
        self._show_page()

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
            self._enter(self._next_open(self.at + 1))

    def _wrong(self) -> list[Finding]:
        """The findings of this step that fail or are too close."""
        assert self.verdict is not None
        return [f for f in self.session.findings(self.session.steps[self.at], self.verdict) if f.wrong]

    def on_form_entered(self, message: Form.Entered) -> None:
        row, text = message.row, message.text.strip()
        if not text:
            self._enter_alone(row)
        elif not row.answered:
            self._keep(row, text)
        elif row.question.type == "quantity" or row.failing:
            self._again(row, text)
        else:
            self._keep(row, text, "correct")

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
        try:
            self.session.answer(row, text, again)
        except (UnitsError, JournalError) as refused:
            self.say(str(refused))
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
            return
        self.form.move_on()
        if (
            now.part is not None
            and now.part.outcome == "pass"
            and self.row is not None
            and not self.row.answered
        ):
            # what was found stays readable while the next answer is typed
            self.query_one("#sentence", Said).show(Content(now.part.reason))

    @work
    async def _again(self, row: Row, text: str) -> None:
        """A second entry for an answered question: the person says why."""
        offers = [Offer("r", "repeat", "read again: both readings count together")]
        offers = offers if row.question.type == "quantity" else []
        offers += [
            Offer("f", "fixed", "something was put right in between: only the new reading counts"),
            Offer("c", "correct", "the first was mistyped, or is replaced: take it back"),
        ]
        why = await self.app.push_screen_wait(
            Pick(f"{row.question.label} already has an answer. Why again?", offers)
        )
        if why is None:
            self.form.entry.value = ""
        else:
            self._keep(row, text, cast("Again", why))

    # --- stepping --------------------------------------------------------------------------------

    def _typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said and stays there."""
        row = self.row
        text = self.form.entry.value.strip() if row is not None else ""
        if text and row is not None:
            self.say(f"'{text}' is not kept yet. Enter keeps it, Esc clears it.")
        return bool(text)

    def action_step(self, by: int) -> None:
        if not self._typed():
            self._enter(self.at + by)

    def action_back(self) -> None:
        if self.row is not None and self.form.entry.value:
            self.form.entry.value = ""
            self._show_row()
        elif self.at == 0:
            self.dismiss(None)
        else:
            self._enter(self.at - 1)

    def action_verdict(self) -> None:
        if not self._typed():
            self._enter(len(self.session.steps))

    def action_units(self) -> None:
        """A bare number that is being typed keeps the unit it was begun in."""
        row = self.row
        entry = self.form.entry
        if (
            row is not None
            and entry.value.strip().replace(",", ".").replace(".", "", 1).lstrip("-").isdigit()
        ):
            entry.value = f"{entry.value.strip()} {self.session.entry_unit(row.question)}".strip()
            entry.cursor_position = len(entry.value)
        super().action_units()

    def on_key(self, event: events.Key) -> None:
        """On the go / no-go page a number goes to what is to be done under it, Enter to the first.

        In a step without rows Enter and the arrows go on and back.
        """
        if self.verdict is None:
            return
        if not self.on_verdict_page:
            self._key_without_row(event)
            return
        typed = event.character or ""
        number = 1 if event.key == "enter" else int(typed) if typed.isdecimal() else 0
        todo = pages.todo(self.verdict)
        if 0 < number <= len(todo):
            event.stop()
            self._go_to(todo[number - 1])

    def _key_without_row(self, event: events.Key) -> None:
        if self.row is not None or event.key not in ("enter", "down", "up"):
            return
        event.stop()
        if event.key == "up":
            self._enter(self.at - 1, from_below=True)
        else:
            self._enter(self._next_open(self.at + 1) if event.key == "enter" else self.at + 1)

    def _go_to(self, check_id: str) -> None:
        """To the row of a check that fails, else to its first open one."""
        for k, step in enumerate(self.session.steps):
            if check_id in step.checks:
                rows = [r for r in self.session.rows(step, self.session.verdict()) if r.check.id == check_id]
                wanted = [r for r in rows if r.failing] or [r for r in rows if r.open]
                self._enter(k, wanted[0].place if wanted else None)
                if not wanted:
                    self._say_of(check_id)
                return

    def _say_of(self, check_id: str) -> None:
        """What is wrong with a check of this step that has no row to stand on, such as the instruments."""
        wrong = next((f for f in self._wrong() if f.check == check_id), None)
        if wrong is not None:
            self.query_one("#sentence", Said).show(pages.wrong(wrong))
