"""The wizard's one screen: rail, form, finding, keys. Steps are shown inside it, not as screens."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from readiness.checks.common import AIR
from readiness.checks.finding import Finding
from readiness.checks.picture import Picture
from readiness.job import VOID_EVENTS
from readiness.records.journal import JournalError
from readiness.units import UnitsError
from readiness.verdict import Verdict
from readiness.wizard import pages
from readiness.wizard.dialogs import Ask, Offer, Pick, Tell, numbered
from readiness.wizard.form import Form, FormLine
from readiness.wizard.picture import PictureView
from readiness.wizard.rail import Rail
from readiness.wizard.session import Row, Session

if TYPE_CHECKING:
    from readiness.wizard.session import Again

LOOK_AGAIN = 20.0
"""Seconds after which the verdict is judged anew while nobody types."""

MOST_PASSED = 8
"""Results of one check that are shown although they pass; the rest is counted."""

KEYS_NARROW = "Enter next  F1 why  F4 instrument  F6 put right  F10 go/no-go  Esc back"
KEYS_WIDE = (
    "Enter next  F1 why and how  F2 note  F3 evidence  F4 instrument  F5 take back  F6 put right  "
    "F9 event  F10 go/no-go"
)


class Walk(Screen[None]):
    """Walks one job round the car. Holds the session and the step; all else is derived."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "f1,ctrl+y",
            "explain",
            "why and how",
            tooltip="Why this matters, how to measure it, usual mistakes",
        ),
        Binding("f2", "note", "note", tooltip="A note to this answer"),
        Binding("f3", "evidence", "evidence", tooltip="Measured, seen or told, and by whom"),
        Binding("f4", "instrument", "instrument", tooltip="With which instrument this is measured"),
        Binding("f5", "take_back", "take back", tooltip="Withdraw the last reading of this question"),
        Binding("f6", "put_right", "put right", tooltip="Record that something was fixed; then read again"),
        Binding("f7", "not_applicable", "not applicable", tooltip="Set this check aside, with a reason"),
        Binding("f8", "units", "units", tooltip="Metric or US units"),
        Binding("f9", "happened", "happened", tooltip="Something happened that voids findings"),
        Binding("f10,ctrl+g", "verdict", "go / no-go", tooltip="The go / no-go page"),
        Binding("escape", "back", "back", tooltip="To the step before, or to the list of jobs"),
        Binding("pageup", "step(-1)", "step back", show=False, priority=True),
        Binding("pagedown", "step(1)", "next step", show=False, priority=True),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.at = 0
        """Index of the step shown; len(steps) is the go / no-go page."""
        self.verdict: Verdict | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="head")
        with Horizontal(id="middle"):
            yield Rail()
            with Vertical(id="main"):
                yield Static(id="title")
                yield Form()
                with VerticalScroll(id="page"):
                    yield Static(id="page-text")
                yield Static(id="prompt")
                yield Static(id="sentence")
            yield PictureView()
        yield Static(Content(KEYS_NARROW), id="keys")

    def on_resize(self, event: events.Resize) -> None:
        keys = KEYS_WIDE if event.size.width >= len(KEYS_WIDE) + 2 else KEYS_NARROW
        self.query_one("#keys", Static).update(Content(keys))
        if self.verdict is not None:
            self.call_after_refresh(self._resized)

    def _resized(self) -> None:
        self._show_head()
        if self.on_verdict_page and self.verdict is not None:
            self._show_page(self.verdict)

    def on_mount(self) -> None:
        self.query_one("#page").display = False
        self.call_after_refresh(self._begin)
        self.set_interval(LOOK_AGAIN, self._time_passed)

    def on_unmount(self) -> None:
        self.session.journal.close()

    def _begin(self) -> None:
        """Open on the first step that is not finished."""
        self.verdict = self.session.verdict()
        if self.session.journal.warnings:
            self.call_after_refresh(self.say, " ".join(self.session.journal.warnings))
        for k, step in enumerate(self.session.steps):
            state = self.session.state(step, self.verdict)
            if state.answered < state.asked or state.outcome != "pass":
                self._enter(k)
                return
        self._enter(len(self.session.steps))

    # --- showing ---------------------------------------------------------------------------------

    def _enter(self, at: int, *, last_row: bool = False) -> None:
        self.at = at
        self._refresh_all(place=None, last_row=last_row)

    @property
    def on_verdict_page(self) -> bool:
        return self.at >= len(self.session.steps)

    def _refresh_all(
        self, place: tuple[str, str, str] | None, *, last_row: bool = False, keep_text: bool = False
    ) -> None:
        """Judge anew and draw everything; the cursor goes to `place`, or to the first open question."""
        session = self.session
        self.verdict = verdict = session.verdict()
        self._show_head()
        self.query_one(Rail).show([session.state(s, verdict) for s in session.steps], self.at, verdict)
        page, form = self.query_one("#page"), self.query_one(Form)
        page.display, form.display = self.on_verdict_page, not self.on_verdict_page
        for below in ("#prompt", "#sentence"):
            self.query_one(below).display = not self.on_verdict_page
        if self.on_verdict_page:
            self._show_page(verdict)
            return
        step = session.steps[self.at]
        rows = session.rows(step, verdict)
        lines = self._lines(rows, verdict)
        self.query_one("#title", Static).update(Content(step.title))
        form.show(lines, _cursor(lines, place, last_row), keep_text=keep_text)
        self._show_row()

    def _lines(self, rows: list[Row], verdict: Verdict) -> list[FormLine]:
        """Under each check's rows the results that follow from them; headings where checks are several."""
        session, lines = self.session, []
        blocks = [(c, side, list(mine)) for (c, side), mine in groupby(rows, lambda r: (r.check.id, r.side))]
        step = session.steps[self.at]
        several = len(session.findings(step, verdict)) > 1
        done = {(check, side) for check, side, _ in blocks}
        silent: list[tuple[str, str, list[Row]]] = [
            (c, s, []) for c, s in session.places(step) if (c, s) not in done
        ]
        for check_id, side, mine in [*blocks, *silent]:
            finding = session.finding_at(check_id, side, verdict)
            if several:
                lines.append(FormLine(f"{finding.title}, {side}" if side else finding.title))
            lines += [self._line(row) for row in mine]
            lines += self._results(mine, finding)
        return lines

    def _line(self, row: Row) -> FormLine:
        return FormLine(
            row.question.label, row, row.part, self.session.shown(row),
            self.session.entry_unit(row.question), row.question.default,
        )  # fmt: skip

    def _results(self, rows: list[Row], finding: Finding) -> list[FormLine]:
        beside = {row.part.key for row in rows if row.part is not None and row.shows_part}
        parts = [p for p in finding.parts if p.key not in beside and p.outcome not in ("not_done", "lapsed")]
        wrong = [p for p in parts if p.outcome != "pass"]
        passed = [p for p in parts if p.outcome == "pass"]
        lines = [
            FormLine(p.label.rstrip(","), None, p, *self.session.shown_part(p))
            for p in (*wrong, *passed[:MOST_PASSED])
        ]
        if left := len(passed) - MOST_PASSED:
            lines += [FormLine(f"  and {left} more that pass")] * (left > 0)
        return lines

    def _show_head(self) -> None:
        visit = self.session.visit
        air = next((r.value for r in reversed(visit.job.readings) if r.question == AIR.key), None)
        text = pages.header(
            visit,
            self.session.person,
            self.session.kept_at,
            air if isinstance(air, float) else None,
            self.size.width,
        )
        self.query_one("#head", Static).update(Content(text))

    def _show_page(self, verdict: Verdict) -> None:
        self.query_one("#title", Static).update(Content("Go / no-go"))
        self.query_one("#page-text", Static).update(
            pages.go_page(verdict, self.session.visit, self._page_width)
        )
        self.query_one(PictureView).show(())
        self.query_one("#page").focus()

    @property
    def _page_width(self) -> int:
        """Cells of a line of the go / no-go page, less its scroll bar."""
        return max(30, self.query_one("#main").content_size.width - 2)

    def _show_row(self) -> None:
        row = self.query_one(Form).row
        if row is None or self.verdict is None:
            return
        finding = self.session.finding_of(row, self.verdict)
        grade, told_by = self.session.evidence_for(row)
        self.query_one("#prompt", Static).update(
            pages.prompt(row, self.session.instrument(row), grade, told_by)
        )
        self.query_one("#sentence", Static).update(pages.sentence(row, finding))
        self.query_one(PictureView).show(finding.picture or self._step_picture())

    def _step_picture(self) -> Picture:
        """So that the form keeps its width within a step: the first picture that any of its findings has."""
        assert self.verdict is not None
        findings = self.session.findings(self.session.steps[self.at], self.verdict)
        return next((f.picture for f in findings if f.picture), ())

    def say(self, text: str) -> None:
        """A message that stays in view until the next entry."""
        self.query_one("#sentence", Static).update(Content.styled(text, "$text-warning"))

    def _time_passed(self) -> None:
        """Findings lapse by themselves: judge anew, without touching what is being typed."""
        if self.verdict is None or not self.is_current:
            return
        self.verdict = verdict = self.session.verdict()
        states = [self.session.state(s, verdict) for s in self.session.steps]
        self.query_one(Rail).show(states, self.at, verdict)
        if self.on_verdict_page:
            self._show_page(verdict)

    # --- answering -------------------------------------------------------------------------------

    def on_form_moved(self) -> None:
        self._show_row()

    def on_form_left(self, message: Form.Left) -> None:
        self.action_step(message.by)

    def on_form_entered(self, message: Form.Entered) -> None:
        row, text = message.row, message.text.strip()
        if not text:
            self._enter_alone(row)
        elif row.answered:
            self._again(row, text)
        else:
            self._keep(row, text)

    def _enter_alone(self, row: Row) -> None:
        if not row.answered and row.question.default:
            self._keep(row, row.question.default)
        elif row.answered or row.question.optional:
            self.query_one(Form).move(1)
        else:
            self.say(
                f"{row.question.label}: nothing was typed. PgDn leaves this step for later, F7 sets the check aside."
            )

    def _keep(self, row: Row, text: str, again: Again = "repeat") -> None:
        try:
            self.session.answer(row, text, again)
        except (UnitsError, JournalError) as refused:
            self.say(str(refused))
            return
        self._after(row)

    def _after(self, row: Row) -> None:
        """Show what the answer did, and go on to the next row unless this one needs a look."""
        self._refresh_all(place=row.place)
        form = self.query_one(Form)
        part = form.row.part if form.row else None
        if part is None or part.outcome not in ("fail", "too_close"):
            form.move(1)
        if (
            self.query_one(Form).display
            and part is not None
            and form.row is not None
            and form.row.part is not part
        ):
            self._keep_sentence(part.reason)

    def _keep_sentence(self, reason: str) -> None:
        """The finding on the answer just given stays readable while the next is typed."""
        row = self.query_one(Form).row
        if row is not None and not row.answered:
            self.query_one("#sentence", Static).update(Content(reason))

    @work
    async def _again(self, row: Row, text: str) -> None:
        """A second entry for an answered question: the person says why."""
        offers = (
            [Offer("r", "repeat", "read again: both readings count together")]
            if row.question.type == "quantity"
            else []
        )
        offers += [
            Offer("f", "fixed", "something was put right in between: only the new reading counts"),
            Offer("c", "correct", "the first was mistyped: take it back"),
        ]
        why = await self.app.push_screen_wait(
            Pick(f"{row.question.label} already has an answer. Why again?", offers)
        )
        if why is not None:
            self._keep(row, text, why)  # type: ignore[arg-type]

    # --- keys ------------------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        at = min(len(self.session.steps), max(0, self.at + by))
        if at != self.at:
            self._enter(at, last_row=False)

    def action_back(self) -> None:
        if self.at == 0:
            self.dismiss(None)
        else:
            self.action_step(-1)

    def action_verdict(self) -> None:
        self._enter(len(self.session.steps))

    @property
    def _row(self) -> Row | None:
        return None if self.on_verdict_page else self.query_one(Form).row

    @work
    async def action_explain(self) -> None:
        row, visit = self._row, self.session.visit
        if row is None:
            page = Content("\n".join(f"{f}" for f in visit.checklist.cautions))
            await self.app.push_screen_wait(Tell("Cautions", page))
        else:
            await self.app.push_screen_wait(Tell(row.check.title, pages.help_page(row.check, row, visit)))

    @work
    async def action_note(self) -> None:
        row = self._row
        if row is None:
            return
        if not row.answered:
            self.say("A note goes with an answer: answer first, then F2.")
            return
        text = await self.app.push_screen_wait(Ask(f"Note to {row.question.label}"))
        if text:
            self._try(lambda: self.session.note(row, text), row, f"Noted: {text}")

    @work
    async def action_evidence(self) -> None:
        row = self._row
        if row is None:
            return
        offers = [
            Offer("m", "measured", "measured, by me"), Offer("s", "seen", "seen, by me"),
            Offer("t", "told", "told by somebody"),
        ]  # fmt: skip
        grade = await self.app.push_screen_wait(Pick(f"How do you know: {row.question.label}", offers))
        if grade is None:
            return
        told_by = await self.app.push_screen_wait(Ask("Who told it?")) if grade == "told" else ""
        self.session.grade(row, grade, told_by or "")  # type: ignore[arg-type]
        self._show_row()

    @work
    async def action_instrument(self) -> None:
        row = self._row
        if row is None:
            return
        tools = self.session.instruments_for(row.question)
        if not tools:
            kind = row.question.measures
            self.say(
                f"The shop has no instrument for {kind}; add one to instruments.yaml."
                if kind
                else "This needs no instrument."
            )
            return
        offers = numbered([(i.id, f"{i.title}  ±{i.accuracy}  due {i.due}") for i in tools])
        chosen = await self.app.push_screen_wait(Pick("Measured with", offers))
        if chosen:
            self.session.pick(row, chosen)
            self._show_row()

    def action_take_back(self) -> None:
        row = self._row
        if row is not None and row.answered:
            self._try(
                lambda: self.session.take_back(row),
                row,
                f"{row.question.label}: the last reading was taken back.",
            )

    @work
    async def action_put_right(self) -> None:
        row = self._row
        if row is None:
            return
        text = await self.app.push_screen_wait(
            Ask(f"What was put right: {row.question.label}", offered="put right")
        )
        if text:
            self._try(
                lambda: self.session.fixed(row, text),
                row,
                "Recorded. Now read it again: only the new reading counts.",
            )

    @work
    async def action_not_applicable(self) -> None:
        row = self._row
        if row is None:
            return
        title = f"{row.check.title} does not apply to this car, because"
        hint = (
            ""
            if row.check.if_applicable
            else "The checklist demands this check: set aside, it stands in the way of a go."
        )
        reason = await self.app.push_screen_wait(Ask(title, hint=hint))
        if reason:
            self._try(
                lambda: self.session.waive(row, reason), row, f"{row.check.title}: set aside, {reason}."
            )

    def action_units(self) -> None:
        row = self._row
        self._try(self.session.switch_units, row, "")

    @work
    async def action_happened(self) -> None:
        offers = numbered(list(VOID_EVENTS.items()))
        event = await self.app.push_screen_wait(Pick("What happened? It ends what it undid", offers))
        if event:
            self._try(lambda: self.session.happened(event), self._row, f"Recorded: {VOID_EVENTS[event]}.")

    def _try(self, do: object, row: Row | None, said: str) -> None:
        """Write to the journal; say what went wrong or what was done."""
        try:
            do()  # type: ignore[operator]
        except JournalError as refused:
            self.say(str(refused))
            return
        self._refresh_all(place=row.place if row else None, keep_text=True)
        if said:
            self.say(said)


def _cursor(lines: list[FormLine], place: tuple[str, str, str] | None, last_row: bool) -> int:
    """The line of `place`; without one the first open question, else the first (or last) row."""
    rows = [k for k, line in enumerate(lines) if line.row is not None]
    if place is not None:
        for k in rows:
            row = lines[k].row
            if row is not None and row.place == place:
                return k
    if last_row and rows:
        return rows[-1]
    for k in rows:
        row = lines[k].row
        if row is not None and not row.answered and not row.question.optional:
            return k
    return rows[0] if rows else -1
