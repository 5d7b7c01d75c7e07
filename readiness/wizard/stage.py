"""What the walk shows: head, rail, form, finding, picture, keys; and where in the job one stands.

The walk has a go / no-go page after its steps, then the steps after the calibration, and last the end of the job.
"""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from readiness.checklist.model import Step
from readiness.checks.common import AIR
from readiness.checks.picture import Picture
from readiness.records.ending import unsettled
from readiness.records.parked import standing_check
from readiness.verdict import Verdict
from readiness.watch import standing
from readiness.wizard import closing_pages, pages
from readiness.wizard.deeds import Deeds
from readiness.wizard.form import Form
from readiness.wizard.lines import Place, cursor, lines_of
from readiness.wizard.page_help import END, GO, PageHelp
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Locked, Plate, Prompt, Said
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
KEYS_CLOSE = (
    "Enter next  F1 why and how  F2 note  F3 evidence  F6 put right  F10 go/no-go  Ctrl+E end of the job  Esc back",
    "Enter next  F1 why  F2 note  F10 go/no-go  Ctrl+E end of the job  Esc back",
)
"""After the calibration."""
NOTHING_TO_TYPE = "Nothing to type: it follows from other steps. F1 says how."
USUAL_WIDTH = 60
"""Cells for how to answer, before the screen is laid out."""
KEYS_PAGE = "Enter or a number goes there  F1 help  F9 event  PgUp last step  Esc back"
KEYS_GO = "Enter watch the time  r calibration done  F1 help  F9 event  Esc back"
"""On the page of a go."""
KEYS_SETTLED = "Enter what comes after  F1 help  PgUp last step  Esc back"
"""On the same page once it has served."""
KEYS_SOME_GO = "Enter or a number goes there  w watch  r result  F1 help  F9 event  Esc back"
"""On the page where one side is a go and the other is not."""


class Stage(Deeds):
    """Draws one step of a job, or its go / no-go page. Holds the session and the step; all else is derived."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.at = 0
        """Index of the step shown: those up to the go, the go / no-go page, those after it, the end of the job."""
        self.beyond = False
        """Whether the way past the go / no-go page is shown although nothing was entered there yet."""
        self.verdict: Verdict | None = None
        self._seen: set[int] = set()
        """Where somebody was since the job was opened."""

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        yield Locked(id="locked")
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
    def go_page(self) -> int:
        """Index of the go / no-go page."""
        return len(self.session.steps)

    @property
    def end_page(self) -> int:
        """Index of the last page, the end of the job."""
        return self.go_page + 1 + len(self.session.closing_steps)

    @property
    def on_verdict_page(self) -> bool:
        return self.at == self.go_page

    @property
    def on_end_page(self) -> bool:
        return self.at >= self.end_page

    @property
    def page_help(self) -> PageHelp:
        return END if self.on_end_page else GO

    @property
    def step(self) -> Step | None:
        """The step shown; None on the two pages."""
        return None if self.on_verdict_page or self.on_end_page else self._step_at(self.at)

    def _step_at(self, at: int) -> Step:
        return (
            self.session.steps[at] if at < self.go_page else self.session.closing_steps[at - self.go_page - 1]
        )

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def row(self) -> Row | None:
        return None if self.step is None else self.form.row

    @property
    def places(self) -> list[tuple[str, str]]:
        return [] if self.step is None else self.session.places(self.step)

    def _enter(self, at: int, place: Place | None = None, *, from_below: bool = False) -> None:
        """Go to a step or page; on past the go / no-go page the way to the end is shown from then on."""
        self.at = min(self.end_page, max(0, at))
        self._seen.add(self.at)
        self.beyond = self.beyond or self.at > self.go_page
        self._draw(place, from_below=from_below)

    def _next_open(self, start: int) -> int:
        """The first step from `start` on that is not finished; else the page that comes after it.

        What may be left empty, such as remarks, is offered once.
        """
        assert self.verdict is not None
        page = self.go_page if start <= self.go_page else self.end_page
        for k in range(start, page):
            state = self.session.state(self._step_at(k), self.verdict)
            unseen = k > self.go_page and not state.asked and k not in self._seen
            if unseen or state.answered < state.asked or state.outcome != "pass":
                return k
        return page

    # --- showing ---------------------------------------------------------------------------------

    def show_anew(self, row: Row | None) -> None:
        self._draw(row.place if row else None, keep_text=True)

    def _draw(self, place: Place | None, *, from_below: bool = False, keep_text: bool = False) -> None:
        """Judge anew and draw everything; the cursor goes to `place`, or to the first open question."""
        self.verdict = verdict = self.session.verdict()
        self._show_frame(verdict)
        step = self.step
        for name, shown in (
            ("#page", step is None),
            ("Form", step is not None),
            ("#prompt", step is not None),
            ("#sentence", step is not None),
        ):
            self.query_one(name).display = shown
        if step is None:
            self._show_picture(())
            self.call_after_refresh(self._show_page)
            return
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
        head = pages.header(visit, session.person, session.kept_at, air, self.size.width, session.as_of)
        self.query_one("#head", Plate).show(Content(head))
        self.show_lock()
        before = [session.state(s, verdict) for s in session.steps]
        after = [session.state(s, verdict) for s in session.closing_steps] if self._beyond_shown else None
        self.query_one(Rail).show_steps(before, after, self.at, verdict)
        self._show_keys()

    @property
    def _beyond_shown(self) -> bool:
        return self.beyond or self.session.ended is not None or self.session.closing().begun

    def _show_keys(self) -> None:
        if self.step is None:
            self.query_one("#keys", Plate).show(Content(self._page_keys()))
            return
        keys = KEYS_PLAN if self.query_one(PictureView).picture else (KEYS_WIDE, KEYS_NARROW)
        keys = KEYS_PLACE if any(c == self._standing for c, _ in self.places) else keys
        keys = KEYS_CLOSE if self.at > self.go_page else keys
        fitting = next((k for k in keys if self.size.width >= len(k) + 2), keys[-1])
        self.query_one("#keys", Plate).show(Content(fitting))

    def _page_keys(self) -> str:
        if self.on_end_page:
            sides, points = self.session.visit.checklist.sides, unsettled(self.session.account())
            return closing_pages.keys(self.session.journal.job, sides, points, self.size.width - 2)
        if self.session.settled:
            return KEYS_SETTLED
        if self.verdict is None or not self.once_ready:
            return KEYS_PAGE
        return KEYS_GO if self.verdict.word != "no-go" else KEYS_SOME_GO

    @property
    def once_ready(self) -> bool:
        """Whether a side is ready, or was and has lapsed: its result may come."""
        verdict = self.verdict
        if verdict is None:
            return False
        return any(standing(side, verdict.at) != "no-go" for side in verdict.sides.values())

    @property
    def _standing(self) -> str:
        """Id of the check that asks where the car stands; empty where none does."""
        check = standing_check(self.session.visit.checklist)
        return check.id if check is not None else ""

    def _show_picture(self, picture: Picture) -> None:
        self.query_one(PictureView).show(picture, self.session.visit.shop.units)
        self._show_keys()

    def _show_page(self) -> None:
        if self.step is not None or self.verdict is None:
            return
        width = max(30, self.query_one("#main").content_size.width - 2)
        if self.on_end_page:
            page, title = self._end_page(width), closing_pages.TITLE
        else:
            page, title = pages.go_page(self.verdict, self.session.visit, width), "Go / no-go"
            if self.session.settled:
                title += f", as it stood at {pages.clock(self.verdict.at)}"
        self.query_one("#title", Plate).show(Content(title))
        self.query_one("#page-text", Static).update(page)
        self.query_one("#page").focus()

    def _end_page(self, width: int) -> Content:
        account = self.session.account()
        return closing_pages.end_page(account, unsettled(account), width)

    def _show_row(self) -> None:
        row = self.row
        if self.verdict is None or self.step is None:
            return
        if row is None:
            self._show_findings(self.verdict)
            return
        finding = self.session.finding_of(row, self.verdict)
        self._show_prompt(row)
        said = pages.sentence(row, finding)
        if not said.plain and self.step in self.session.closing_steps and row.open:
            said = Content.styled(" ".join(row.check.cautions), "$text-warning")
        self.query_one("#sentence", Said).show(said)
        self._show_picture(finding.picture or self._step_picture())

    def _show_prompt(self, row: Row) -> None:
        prompt, today = self.query_one("#prompt", Plate), self.session.clock().date()
        width = prompt.content_size.width or USUAL_WIDTH
        prompt.show(pages.prompt(row, *self.session.told_of(row), today, width))

    def _show_findings(self, verdict: Verdict) -> None:
        """A step that asks nothing: what follows from the others, the worst first."""
        assert self.step is not None
        findings = self.session.findings(self.step, verdict)
        self.query_one("#prompt", Plate).show(Content.styled(NOTHING_TO_TYPE, "$text-muted"))
        self.query_one("#sentence", Said).show(pages.of_step(findings))
        self._show_picture(pages.worst_first(findings)[0].picture)
        self.form.focus_without_row()

    def _step_picture(self) -> Picture:
        """So that the form keeps its width within a step: the first picture that any of its findings has."""
        assert self.verdict is not None
        assert self.step is not None
        findings = self.session.findings(self.step, self.verdict)
        return next((f.picture for f in findings if f.picture), ())

    def say(self, text: str) -> None:
        """On a page, which has no sentence of its own, it stands until another place is shown."""
        self.query_one("#sentence").display = True
        self.query_one("#sentence", Said).show(Content.styled(text, "$text-warning"))

    def on_resize(self, _: events.Resize) -> None:
        if self.verdict is not None:
            self._show_frame(self.verdict)
            self.call_after_refresh(self._show_page)
            if self.row is not None:
                self.call_after_refresh(self._show_prompt, self.row)

    def _time_passed(self) -> None:
        """Findings lapse by themselves: judge anew, without touching what is being typed."""
        if self.verdict is None or not self.is_current:
            return
        self.look_again()
        self.verdict = self.session.verdict()
        self._show_frame(self.verdict)
        self._show_page()
