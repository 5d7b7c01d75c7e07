"""What the keys of a survey do beside reading: the same key for the same thing as in a job."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType

from readiness.records.journal import JournalError
from readiness.units import UnitsError
from readiness.wizard import surveying_pages as pages
from readiness.wizard.dialogs import Ask, Offer, Pick, Tell, numbered
from readiness.wizard.keeping import Keeping, enters
from readiness.wizard.pages import tool_line
from readiness.wizard.plan_page import PlanPage
from readiness.wizard.surveying_lines import plan_of
from readiness.wizard.surveying_session import SurveySession


class SurveyDeeds(Keeping):
    """Actions on the current row or on the survey; the screen says which row and shows what came of it."""

    session: SurveySession
    on_result: bool

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,ctrl+y", "explain", "why and how", tooltip="Why, how to read, usual mistakes, how it was worked out"),
        Binding("f2", "note", "note", tooltip="A note to this reading"),
        Binding("f4", "instrument", "instrument", tooltip="With which instrument this is read"),
        Binding("f5", "take_back", "take back", tooltip="Withdraw the last reading of this row"),
        Binding("f6", "anew", "anew", tooltip="Begin anew with the same places, as after the laser was moved"),
        Binding("f7", "leave_out", "leave out", tooltip="Leave this place out, with a reason"),
        Binding("f8", "units", "units", tooltip="Metric or US units"),
        Binding("f10,ctrl+g", "result", "result", tooltip="What the floor is like so far; there the survey is kept"),
        Binding("ctrl+n,insert", "add", "new place", tooltip="A place that is not on the plan; by level also one more run"),
        Binding("ctrl+l", "plan", "plan", tooltip="The plan of the bay with the places"),
        Binding("ctrl+z", "undo", "undo", tooltip="Take back the last thing that was recorded"),
        Binding("ctrl+t", "app.other_look", "look", tooltip="The light or the dark look"),
        Binding("ctrl+p", "keys", "all keys", tooltip="This list", show=False),
        Binding("escape", "back", "back", tooltip="Clears what is typed; then leaves. Nothing kept is lost"),
    ]  # fmt: skip
    LISTED = BINDINGS

    # --- what the screen provides ----------------------------------------------------------------

    def typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said and stays there."""
        raise NotImplementedError

    # --- looking ---------------------------------------------------------------------------------

    @work
    async def action_explain(self) -> None:
        title = "How it was worked out" if self.on_result else "Survey of a floor"
        await self.app.push_screen_wait(Tell(title, pages.help_page(self.session, self.row)))

    @work
    async def action_plan(self) -> None:
        picture = self.session.map() if self.on_result else plan_of(self.session, self.row)
        title = "Heights" if self.on_result else "Places"
        page = PlanPage(f"{title} in {self.session.title}", picture, self.session.system, named_axes=True)
        await self.app.push_screen_wait(page)

    # --- on the current reading ------------------------------------------------------------------

    @enters
    @work
    async def action_instrument(self) -> None:
        row = self.row
        if row is None:
            return
        tools = self.session.tools(row.question.measures)
        if not tools:
            self.say(f"The shop has no instrument for {row.question.measures}; add one to instruments.yaml.")
            return
        today = self.session.clock().date()
        offers = numbered([(i.id, tool_line(i, today)) for i in tools])
        chosen = await self.app.push_screen_wait(Pick("Read with", offers))
        if chosen:
            said = "This reading now stands with that instrument." if row.answered else ""
            self.record(lambda: self.session.pick(row, chosen), row, said)

    # --- on the places ---------------------------------------------------------------------------

    @enters
    @work
    async def action_leave_out(self) -> None:
        """The place of the current row; of a level run the run itself or one of its ends."""
        row, session = self.row, self.session
        if row is None or self.typed():
            return
        places, run = session.places_of(row), session.run_of(row)
        chosen: str | None = places[0]
        if run is not None:
            offers = [("run", f"this run only: {run[0]} to {run[1]}")]
            offers += [(name, f"the place {session.in_words(name)}") for name in places]
            chosen = await self.app.push_screen_wait(Pick("What is left out", numbered(offers)))
        if chosen is None:
            return
        what = f"{run[0]} to {run[1]}" if run is not None and chosen == "run" else f"Place {chosen}"
        ask = Ask(
            f"{what} is left out, because",
            offered="something stands there",
            hint="Enter alone takes the words in grey · Esc back",
        )

        def leave(reason: str) -> None:
            if run is not None and chosen == "run":
                session.leave_out_run(run, reason)
            else:
                session.leave_out(chosen, reason)

        await self.asked(ask, leave, None, lambda _: f"{what} is left out. Ctrl+Z brings it back.")

    @enters
    @work
    async def action_add(self) -> None:
        """One more place; by level also one more run between two places that are there."""
        if self.row is None or self.typed():
            return
        if self.session.surveying.way == "level":
            offers = (
                Offer("p", "place", "a place that is not on the plan"),
                Offer("r", "run", "one more run of the level, such as a diagonal"),
            )
            what = await self.app.push_screen_wait(Pick("What comes to the plan", offers))
        else:
            what = "place"
        if what == "run":
            await self._add_run()
        elif what == "place":
            await self._add_place()

    async def _add_run(self) -> None:
        """Its two places by their numbers; what cannot be is asked again."""
        session, hint = self.session, "the numbers of two places · Enter keeps it · Esc back"
        while True:
            text = await self.app.push_screen_wait(Ask("Between which two places, such as 1 3", hint=hint))
            if text is None:
                return
            try:
                run = session.add_run(text)
            except JournalError as refused:
                self.say(str(refused))
                return
            except ValueError as refused:
                hint = str(refused)
                continue
            self.show_anew(session.row_of_run(run))
            return

    async def _add_place(self) -> None:
        """What it is, x and y; what cannot be is asked again, nothing else is."""
        session, hint = self.session, ""
        what = await self.app.push_screen_wait(Ask("What is at the new place", offered="between"))
        while what is not None:
            x = await self._ask_length("How far along the bay: x from its corner", "x", hint)
            y = None if x is None else await self._ask_length("How far across: y from its corner", "y", "")
            if x is None or y is None:
                return
            try:
                name = session.add_place(x, y, what)
            except JournalError as refused:
                self.say(str(refused))
                return
            except ValueError as refused:
                hint = str(refused)
                continue
            self.show_anew(session.row_about(name))
            self.say(f"It is place {name}: chalk that on the floor. Ctrl+Z takes it back.")
            return

    async def _ask_length(self, title: str, name: str, hint: str) -> float | None:
        while True:
            text = await self.app.push_screen_wait(Ask(title, hint=hint))
            if text is None:
                return None
            try:
                return self.session.length(text, name)
            except UnitsError as refused:
                hint = str(refused)

    # --- on the survey ---------------------------------------------------------------------------

    @enters
    @work
    async def action_anew(self) -> None:
        """The same places again from the first; asked before, for it cannot be undone."""
        session = self.session
        if self.row is None or self.typed():
            return
        if not session.surveying.readings:
            self.say("Nothing is read yet, so there is nothing to begin anew.")
            return
        done = session.so_far().done
        were = "1 reading counts" if done == 1 else f"{done} readings count"
        offers = (
            Offer("g", "", "go on as it is"),
            Offer("b", "begin", f"begin anew with the same places: {were} no more and stay on the disk"),
        )
        if await self.app.push_screen_wait(Pick("Begin anew", offers)):
            said = "Begun anew: read all places again, from the first."
            self.record(lambda: session.begin_anew("begun anew on the way"), None, said)
