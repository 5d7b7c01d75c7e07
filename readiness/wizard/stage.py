"""What the walk shows: head, rail, form, finding, picture, keys; and where in the job one stands."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from readiness.checks.common import AIR
from readiness.checks.picture import Picture
from readiness.records.parked import standing_check
from readiness.verdict import Verdict
from readiness.wizard import pages
from readiness.wizard.deeds import Deeds
from readiness.wizard.form import Form
from readiness.wizard.lines import Place, cursor, lines_of
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Plate, Prompt, Said
from readiness.wizard.rail import Rail
from readiness.wizard.rows import Row
from readiness.wizard.session import Session

KEYS_NARROW = "Enter next  F1 why  F4 instrument  F6 put right  F10 go/no-go  Esc back"
KEYS_WIDE = "Enter next  F1 why and how  F2 note  F3 evidence  F4 instrument  F5 take back  F6 put right  F9 event  F10 go/no-go"
KEYS_PLAN = (
    "Enter next  F1 why and how  F2 note  F3 evidence  F4 instrument  F6 put right  Ctrl+L plan  F9 event  F10 go/no-go",
    "Enter next  F1 why  F4 instrument  F6 put right  Ctrl+L plan  F10 go/no-go  Esc back",
    "F1 why  F4 instrument  F6 put right  Ctrl+L plan  F10 go/no-go  Esc back",
)
"""Where there is a picture; the first that fits."""
KEYS_PLACE = (
    "Enter next  F1 why and how  F2 note  F3 evidence  F4 instrument  Ctrl+O which bay  Ctrl+L plan  F9 event  F10 go/no-go",
    "Enter next  F1 why  F4 instrument  Ctrl+O which bay  Ctrl+L plan  Esc back",
    "Enter next  F1 why  Ctrl+O which bay",
)
"""Where the car's place is asked for."""
NOTHING_TO_TYPE = "Nothing to type: it follows from other steps. F1 says how."
USUAL_WIDTH = 60
"""Cells for how to answer, before the screen is laid out."""
KEYS_PAGE = "Enter or a number goes there  F1 cautions  F9 event  PgUp last step  Esc back"


class Stage(Deeds):
    """Draws one step of a job, or its go / no-go page. Holds the session and the step; all else is derived."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.at = 0
        """Index of the step shown; len(steps) is the go / no-go page."""
        self.verdict: Verdict | None = None

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        with Horizontal(id="middle"):
            yield Rail()
            with Vertical(id="main"):
                yield Plate(id="title")
                yield Form()
                with VerticalScroll(id="page"):
                    yield Static(id="page-text")
                yield Prompt(id="prompt")
                yield Said(id="sentence")
            yield PictureView()
        yield Plate(Content(KEYS_NARROW), id="keys")

    def on_unmount(self) -> None:
        self.session.journal.close()

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
            self._show_picture(())
            self.call_after_refresh(self._show_page)
            return
        step = self.session.steps[self.at]
        lines = lines_of(self.session, step, verdict)
        self.query_one("#title", Plate).show(Content(step.title))
        self.form.show(lines, cursor(lines, place, from_below=from_below), keep_text=keep_text)
        self.query_one("#main").set_class(self.row is None, "-told")
        self._show_row()

    def _show_frame(self, verdict: Verdict) -> None:
        """Head, rail and keys."""
        session, visit = self.session, self.session.visit
        air = next((r.value for r in reversed(visit.job.readings) if r.question == AIR.key), None)
        air = air if isinstance(air, float) else None
        head = pages.header(visit, session.person, session.kept_at, air, self.size.width)
        self.query_one("#head", Plate).show(Content(head))
        self.query_one(Rail).show_steps([session.state(s, verdict) for s in session.steps], self.at, verdict)
        self._show_keys()

    def _show_keys(self) -> None:
        keys = KEYS_PLAN if self.query_one(PictureView).picture else (KEYS_WIDE, KEYS_NARROW)
        keys = KEYS_PLACE if any(c == self._standing for c, _ in self.places) else keys
        fitting = next((k for k in keys if self.size.width >= len(k) + 2), keys[-1])
        self.query_one("#keys", Plate).show(Content(KEYS_PAGE if self.on_verdict_page else fitting))

    @property
    def _standing(self) -> str:
        """Id of the check that asks where the car stands; empty where none does."""
        check = standing_check(self.session.visit.checklist)
        return check.id if check is not None else ""

    def _show_picture(self, picture: Picture) -> None:
        self.query_one(PictureView).show(picture, self.session.visit.shop.units)
        self._show_keys()

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
        self._show_prompt(row)
        self.query_one("#sentence", Said).show(pages.sentence(row, finding))
        self._show_picture(finding.picture or self._step_picture())

    def _show_prompt(self, row: Row) -> None:
        prompt, today = self.query_one("#prompt", Plate), self.session.clock().date()
        width = prompt.content_size.width or USUAL_WIDTH
        prompt.show(pages.prompt(row, *self.session.told_of(row), today, width))

    def _show_findings(self, verdict: Verdict) -> None:
        """A step that asks nothing: what follows from the others, the worst first."""
        findings = self.session.findings(self.session.steps[self.at], verdict)
        self.query_one("#prompt", Plate).show(Content.styled(NOTHING_TO_TYPE, "$text-muted"))
        self.query_one("#sentence", Said).show(pages.of_step(findings))
        self._show_picture(pages.worst_first(findings)[0].picture)
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
            if self.row is not None and not self.on_verdict_page:
                self.call_after_refresh(self._show_prompt, self.row)

    def _time_passed(self) -> None:
        """Findings lapse by themselves: judge anew, without touching what is being typed."""
        if self.verdict is None or not self.is_current:
            return
        self.verdict = self.session.verdict()
        self._show_frame(self.verdict)
        self._show_page()
