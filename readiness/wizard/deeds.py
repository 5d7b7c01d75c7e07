"""What the keys of the walk do beside answering: notes, evidence, instruments, fixes, events, the job itself."""

from __future__ import annotations

from typing import ClassVar, cast

from textual import work
from textual.binding import Binding, BindingType

from readiness.checks.finding import no_reason, not_to_be_set_aside
from readiness.checks.words import happening
from readiness.job import OF_ONE_SIDE, VOID_EVENTS, Evidence
from readiness.wizard import help_page, page_help, pages, record_page
from readiness.wizard.dialogs import Ask, Offer, Pick, Tell, numbered
from readiness.wizard.from_paper import FromPaper
from readiness.wizard.keeping import enters
from readiness.wizard.picture import PictureView
from readiness.wizard.plan_page import PlanPage
from readiness.wizard.plates import Plate
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from readiness.wizard.watch_words import EVENT_KEYS

GRADES = (
    Offer("m", "measured", "measured, by me"),
    Offer("s", "seen", "seen, by me"),
    Offer("t", "told", "told by somebody"),
)
AGAIN = (
    Offer("c", "counts", "it counts again"),
    Offer("a", "anew", "set it aside anew, with another reason"),
)
"""For a check that is set aside already."""


class Deeds(FromPaper):
    """Actions on the current row or on the job. The walk says which row that is and shows what came of it."""

    session: Session

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,ctrl+y", "explain", "why and how", tooltip="Why it matters, how to measure, usual mistakes"),
        Binding("f2", "note", "note", tooltip="A note to this answer"),
        Binding("f3", "evidence", "evidence", tooltip="Measured, seen or told, and by whom"),
        Binding("f4", "instrument", "instrument", tooltip="With which instrument this is measured"),
        Binding("f5", "take_back", "take back", tooltip="Withdraw the last reading of this question"),
        Binding("f6", "put_right", "put right", tooltip="Something was fixed; only readings after it count"),
        Binding("f7", "set_aside", "set aside", tooltip="Set this check aside, with name and reason"),
        Binding("f8", "units", "units", tooltip="Metric or US units"),
        Binding("f9", "happened", "event", tooltip="Something happened that ends findings"),
        Binding("f10,ctrl+g", "verdict", "go / no-go", tooltip="May I start, what do I do first, why"),
        Binding("ctrl+z", "undo", "undo", tooltip="Take back the last thing that was recorded"),
        Binding("ctrl+o", "place", "bay and sides", tooltip="Another bay, another side for this job"),
        Binding("ctrl+r", "record", "record", tooltip="Who answered this and when, what was taken back and why"),
        Binding("ctrl+l", "plan", "plan", tooltip="The picture over the whole screen"),
        Binding("ctrl+n", "as_of", "as of", tooltip="Typed in from paper: when what follows was read"),
        Binding("ctrl+t", "app.other_look", "look", tooltip="The light or the dark look"),
        Binding("ctrl+p", "keys", "all keys", tooltip="This list", show=False),
        Binding("escape", "back", "back", tooltip="Clears what is typed; then a step back, or to the jobs"),
        Binding("ctrl+q", "app.quit", "leave", tooltip="Leave at once; what is kept is kept"),
    ]  # fmt: skip
    LISTED = BINDINGS
    FORM_KEYS: ClassVar[str] = help_page.KEYS
    """What F1 says of the keys."""

    # --- what the walk provides ------------------------------------------------------------------

    @property
    def places(self) -> list[tuple[str, str]]:
        """Check and side of everything in the current step; empty on the go / no-go page."""
        raise NotImplementedError

    @property
    def page_help(self) -> page_help.PageHelp:
        """What F1 says on a page without questions."""
        raise NotImplementedError

    # --- reading ---------------------------------------------------------------------------------

    @work
    async def action_explain(self) -> None:
        row, visit = self.row, self.session.visit
        if row is None and self.places:
            verdict = self.session.verdict()
            found = [(side, self.session.finding_at(check, side, verdict)) for check, side in self.places]
            worst = pages.worst_first([f for _, f in found])[0]
            check = visit.checklist.check(worst.check)
            told = help_page.working_of([(side, f) for side, f in found if f.check == worst.check])
            page = help_page.help_page(check, None, visit, told, self.FORM_KEYS)
            await self.app.push_screen_wait(Tell(check.title, page))
        elif row is None:
            page = page_help.page_help(self.page_help, visit)
            await self.app.push_screen_wait(Tell(str(self.query_one("#title", Plate).content), page))
        else:
            finding = self.session.finding_of(row, self.session.verdict())
            told = help_page.working_of([("", finding)])
            page = help_page.help_page(row.check, row, visit, told, self.FORM_KEYS)
            await self.app.push_screen_wait(Tell(row.check.title, page))

    @work
    async def action_record(self) -> None:
        """Of the answer at hand; in a step without one of its checks; on a page of the whole job, in short."""
        session, row = self.session, self.row
        stories, now = session.stories(), session.clock().astimezone()
        if row is not None:
            page = record_page.of_row(row, stories, now)
            await self.app.push_screen_wait(Tell(f"Record: {row.question.label}", page))
            return
        places = session.all_places() if not self.places else session.checks_of(self.places)
        page = record_page.of_checks(places, session.visit, stories, now, short=not self.places)
        title = "Record" if self.places else "Record: what is more than one plain reading"
        await self.app.push_screen_wait(Tell(title, page))

    @work
    async def action_plan(self) -> None:
        """The picture of the step; what is half typed stays where it is."""
        picture = self.query_one(PictureView).picture
        if not picture:
            self.say("This step has no picture.")
            return
        check, side = self.row.judged_at if self.row is not None else self.places[0]
        title = self.session.visit.checklist.check(check).title + (
            f", {side}" if side in ("left", "right") else ""
        )
        await self.app.push_screen_wait(PlanPage(title, picture, self.session.visit.shop.units))

    # --- on the current answer -------------------------------------------------------------------

    @enters
    @work
    async def action_evidence(self) -> None:
        row = self.row
        if row is None:
            return
        grade = await self.app.push_screen_wait(Pick(f"How do you know: {row.question.label}", GRADES))
        if grade is None:
            return
        told_by = await self.app.push_screen_wait(Ask("Who told it?")) if grade == "told" else ""
        if told_by is None:
            return
        self.session.grade(row, cast("Evidence", grade), told_by)
        self._retell(row)

    @enters
    @work
    async def action_instrument(self) -> None:
        row = self.row
        if row is None:
            return
        kind = row.question.measures
        tools = self.session.instruments_for(row.question) if kind else []
        if not tools:
            needed = f"The shop has no instrument for {kind}; add one to instruments.yaml."
            self.say(needed if kind else "This needs no instrument.")
            return
        today = self.session.clock().date()
        offers = numbered([(i.id, pages.tool_line(i, today)) for i in tools])
        chosen = await self.app.push_screen_wait(Pick("Measured with", offers))
        if chosen:
            self.session.pick(row, chosen)
            self._retell(row)

    def _retell(self, row: Row) -> None:
        """For a row that is answered already, the reading is corrected; for an open one it is for later."""
        if row.answered:
            self.record(
                lambda: self.session.retell(row),
                row,
                "The reading was corrected: same number, as you say now.",
            )
        else:
            self.show_anew(row)

    @enters
    @work
    async def action_put_right(self) -> None:
        row = self.row
        if row is None:
            return
        ask = Ask(f"What was put right: {row.question.label}", offered="put right")
        done = "Recorded. Now read it again: only the new reading counts."
        await self.asked(ask, lambda text: self.session.fixed(row, text), row, lambda _: done)

    @enters
    @work
    async def action_set_aside(self) -> None:
        """Set aside the check of the current row, or another of the step: one may have nothing to ask."""
        place = await self._which_check()
        if place is None:
            return
        found = self.session.finding_at(*place, self.session.verdict())
        if barred := not_to_be_set_aside(self.session.visit.checklist.check(place[0])):
            self.say(barred)
            return
        asked = found.waiver is not None
        chosen = await self.app.push_screen_wait(Pick(found.reason, AGAIN)) if asked else "anew"
        if chosen == "anew":
            await self._set_aside(*place)
        elif chosen == "counts":
            said = f"{found.title}: it counts again."
            self.record(lambda: self.session.count_again(*place), self.row, said)

    async def _set_aside(self, check: str, side: str) -> None:
        session = self.session
        title, meant = session.visit.checklist.check(check).title, session.set_aside_means(check, side)
        ask = Ask(
            f"{title} is set aside by {session.person}, because",
            hint=f"{meant} Answering one of its questions ends it. Enter keeps it · Esc back",
            refused=no_reason,
        )
        await self.asked(
            ask,
            lambda reason: session.waive(check, side, reason),
            self.row,
            lambda reason: f"{title}: set aside, {reason}. {meant}",
        )

    async def _which_check(self) -> tuple[str, str] | None:
        if len(self.places) < 2:
            return next(iter(self.places), None)
        check = self.session.visit.checklist.check
        offers = numbered([(str(k), f"{check(c).title} {s}".strip()) for k, (c, s) in enumerate(self.places)])
        chosen = await self.app.push_screen_wait(Pick("Which check to set aside", offers))
        return None if chosen is None else self.places[int(chosen)]

    # --- on the job ------------------------------------------------------------------------------

    @enters
    @work
    async def action_happened(self) -> None:
        offers = [
            Offer(at.key, at.event, f"{VOID_EVENTS[at.event]}{self._ends(at.event)}") for at in EVENT_KEYS
        ]
        event = await self.app.push_screen_wait(Pick("What happened?", offers))
        side = await self._on_which_side(event) if event in OF_ONE_SIDE else ""
        if event and side is not None:
            said = f"Recorded: {happening(event, side)}. Ctrl+Z takes it back."
            self.record(lambda: self.session.happened(event, side), self.row, said)

    async def _on_which_side(self, event: str) -> str | None:
        """The side to which an event happened; empty where the job has one or it may have been either."""
        sides = self.session.journal.job.sides
        if len(sides) < 2:
            return ""
        chosen = await self.app.push_screen_wait(Pick("On which side?", pages.side_offers(sides)))
        return chosen if chosen is None or chosen in sides else ""

    def _ends(self, event: str) -> str:
        titles = [c.title for c in self.session.visit.checklist.walk() if event in c.voided_by]
        return f"; ends {', '.join(titles)}" if titles else "; ends nothing here"

    @enters
    @work
    async def action_place(self) -> None:
        """Which bay and where in it, or other sides; the car was moved then, or one side more is asked for."""
        session = self.session
        offers = [Offer("b", "bay", "which bay, and where to park in it")]
        if len(session.visit.checklist.sides) > 1:
            offers.append(Offer("s", "sides", "another side, or both"))
        what = await self.app.push_screen_wait(Pick("Change in this job", offers)) if offers[1:] else "bay"
        if what == "bay":
            await self._choose_bay()
        elif what == "sides":
            sides = await self.app.push_screen_wait(
                Pick("Which side", pages.side_offers(session.visit.checklist.sides))
            )
            if sides:
                self.record(lambda: session.to_sides(tuple(sides.split())), self.row, f"Now for: {sides}.")

    async def _choose_bay(self) -> None:
        from readiness.wizard.bay_screen import BayScreen

        session, bay = self.session, self.session.visit.bay
        note = f"This job is in {bay.title}; taking this bay counts as moving the car."
        taken = await self.app.push_screen_wait(BayScreen(session.bay_search(), bay.bay, note))
        if taken is None:
            return
        if taken.bay == bay.bay and taken.place is None and not session.placed:
            self.say(f"Nothing was changed: the car is to stand on the marks of {bay.title}.")
            return
        said = (
            "The job goes on in another bay"
            if taken.bay != bay.bay
            else "The place is kept"
            if taken.place is not None
            else "The car is to stand on the bay's own marks"
        )
        self.record(
            lambda: session.take(taken), self.row, f"{said}. What moving the car ends is to be done again."
        )
