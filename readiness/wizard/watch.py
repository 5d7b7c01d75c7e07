"""The watch: after a go, how long it lasts, and one key for whatever ends it sooner."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar, Literal

from rich.cells import cell_len
from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.timer import Timer

from readiness.checklist.model import Check
from readiness.closing import RESULT, last_go
from readiness.job import OF_ONE_SIDE
from readiness.records.journal import JournalError
from readiness.verdict import SideVerdict
from readiness.watch import OtherSide, other_sides, standing, told_already, undone
from readiness.wizard import pages, watch_words
from readiness.wizard.dialogs import Offer, Pick, Tell
from readiness.wizard.keeping import STILL_LOCKED, TAKEN_UP, key_offers
from readiness.wizard.page_help import WATCH, page_help
from readiness.wizard.plates import Lines, Locked, Plate
from readiness.wizard.session import Session

Leaving = tuple[Literal["open", "check", "side", "close", "end"], str]
"""Where to go from here: to what is open, to a check, to another side, to the result, or to the end of the job."""
TALL = 34
"""Lines of the screen from which the figures are drawn larger."""
LONGEST = 60.0
ELSEWHERE = 20.0
"""Seconds until the next look at the latest; and where another program has the job and may enter something."""
NOTHING = Content("")
HAPPENED = "Did something happen? One key keeps it."


class SideView(Vertical):
    """One side: its word, the time left, what lapses."""

    def compose(self) -> ComposeResult:
        yield Lines(classes="word")
        yield Lines(classes="figures")
        yield Lines(classes="lapses")

    @property
    def room(self) -> int:
        """Cells of a line."""
        return max(20, self.content_size.width)

    def show(self, word: Content, figures: Content = NOTHING, lapses: Content = NOTHING) -> None:
        for name, text in ((".word", word), (".figures", figures), (".lapses", lapses)):
            plate = self.query_one(name, Plate)
            plate.display = bool(text.plain)
            plate.show(text)


class Watch(Screen[Leaving | None]):
    """Counts down and takes events. Everything else is the walk's: it is told where to go."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "go_on", "what is open", tooltip="To what is open or lapses first"),
        Binding("r,R", "result", "result", tooltip="The calibration is done: its result"),
        Binding("o,O", "other_side", "other side", tooltip="The other side too: what holds is not asked again"),
        Binding("f1,ctrl+y", "explain", "help", tooltip="What this page is for, and the cautions"),
        Binding("ctrl+z", "take_back", "take back", tooltip="Take back the event that was kept last"),
        Binding("ctrl+e", "end", "end", tooltip="The end of the job, with a go or without: files, report"),
        Binding("ctrl+w", "take_up", "take up", tooltip="Enter here, once it can be written"),
        Binding("ctrl+t", "app.other_look", "look", tooltip="The light or the dark look"),
        Binding("ctrl+p", "keys", "all keys", tooltip="This list"),
        Binding("escape,f10,ctrl+g", "dismiss(None)", "back", tooltip="Back to the go / no-go page"),
        Binding("ctrl+q", "app.quit", "leave", tooltip="Leave at once; what is kept is kept"),
    ]  # fmt: skip

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.verdict = session.verdict()
        self._undone: Mapping[str, Sequence[Check]] = {}
        self._others: Sequence[OtherSide] = ()
        self._standings: tuple[str, ...] = ()
        self._kept: list[str] = []
        """Events kept on this screen that Ctrl+Z can take back, the last one last."""
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        yield Plate(id="head")
        yield Locked(id="locked")
        with VerticalScroll(id="watch"):
            with Horizontal(id="watched"):
                for _ in range(max(1, len(self.session.visit.checklist.sides))):
                    yield SideView()
            yield Plate(Content.styled(HAPPENED, "bold"), id="happened")
            yield Lines(id="events")
        yield Lines(id="sentence")
        yield Plate(id="keys")

    def on_mount(self) -> None:
        self.session.as_it_happens()  # no paper is typed in here
        self.call_after_refresh(self.look)

    def on_resize(self, _: events.Resize) -> None:
        self.call_after_refresh(self.show)

    # --- looking ---------------------------------------------------------------------------------

    def look(self) -> None:
        """Judge anew and show it; look again when other figures are due."""
        if self._entered_elsewhere():
            self._undone = {}
        self.verdict = self.session.verdict()
        now = tuple(standing(s, self.verdict.at) for s in self.verdict.sides.values())
        if now != self._standings or not self._undone:
            if self._undone:  # by time alone, and nobody may be looking
                self.app.bell()
            self._standings = now
            self._look_closely()
            self.say(self._told())
        self.show()
        ends = [s.lapses_at for s in self.verdict.sides.values() if s.lapses_at is not None]
        waits = [watch_words.to_next_look(end - self.verdict.at) for end in ends]
        if self._timer is not None:
            self._timer.stop()
        longest = ELSEWHERE if self.session.journal.locked else LONGEST
        self._timer = self.set_timer(min([*waits, longest]), self.look)

    def _entered_elsewhere(self) -> bool:
        """Whether another program, which has the job, has entered something meanwhile."""
        try:
            return bool(self.session.journal.locked) and self.session.look_again()
        except JournalError as fault:
            self.say(str(fault))
            return False

    def _look_closely(self) -> None:
        """What changes only with the job or with a lapse."""
        visit, at = self.session.visit, self.verdict.at
        self._undone = undone(visit, at, tuple(self.verdict.sides))
        self._others = other_sides(visit, at)

    def _told(self) -> str:
        """The sentence of the side that needs it most."""
        worst = ("no-go", "lapsed", "soon", "go")
        sides = self._goes() or list(self.verdict.sides.values())
        side = min(sides, key=lambda s: worst.index(standing(s, self.verdict.at)))
        visit, at = self.session.visit, self.verdict.at
        other = next((o for o in self._others if o.side == side.side), None)
        asked = () if other is None else (*other.wrong, *other.to_ask)
        titles = [c.title for c in visit.checklist.walk() if c.id in asked]
        return watch_words.told(side, at, titles, last_go(visit, side, at), missed=self._missed(side.side))

    def _missed(self, side: str) -> bool:
        """Whether the last calibration of a side was not as it has to be."""
        closed = self.session.closing().sides.get(side)
        return closed is not None and any(f.wrong for f in closed.findings if f.kind == RESULT)

    def _goes(self) -> list[SideVerdict]:
        """The sides that are watched: a side that never was a go is no news."""
        return [s for s in self.verdict.sides.values() if standing(s, self.verdict.at) != "no-go"]

    # --- showing ---------------------------------------------------------------------------------

    def show(self) -> None:
        session, visit = self.session, self.session.visit
        head = pages.header(visit, session.person, session.kept_at, None, self.size.width)
        self.query_one("#head", Plate).show(Content(head))
        self.query_one(Locked).tell(session.journal.locked)
        for view, side in zip(self.query(SideView), self._in_order(), strict=False):
            view.show(*self._of_side(side, view.room))
        width = max(40, self.query_one("#events").content_size.width)
        self.query_one("#events", Plate).show(watch_words.events(self._undone, width))
        self.query_one("#keys", Plate).show(Content(self._keys()))

    def _of_side(self, side: str, width: int) -> list[Content]:
        at, tall = self.verdict.at, self.size.height >= TALL
        other = next((o for o in self._others if o.side == side), None)
        titles = {c.id: c.title for c in self.session.visit.checklist.checks}
        rest = watch_words.other_page(other, titles, width) if other is not None else NOTHING
        if side not in self.verdict.sides:
            closed = self.session.closing().sides.get(side)
            return (
                [watch_words.calibrated(closed)]
                if closed is not None
                else [watch_words.not_yet(side), NOTHING, rest]
            )
        mine = self.verdict.sides[side]
        word = watch_words.outcome(mine, at, width)
        if mine.verdict == "no-go":
            return [word, NOTHING, rest]
        return [word, watch_words.figures(mine, at, tall=tall), watch_words.lapses(mine, width)]

    def _in_order(self) -> list[str]:
        """What is watched first, then what there is of the other side."""
        sides = self.session.visit.checklist.sides
        return sorted(sides, key=lambda s: s not in self.verdict.sides)

    def _keys(self) -> str:
        open_ = self._somewhere_to_go
        keys = ["r result" if open_ else "r calibration done"]
        keys += ["Enter what is open"] * open_
        keys += [f"o {o.side} side" for o in self._others if not o.in_job]
        keys += ["Ctrl+Z undo"] * bool(self._kept)
        keys += ["F1 help", "Esc back", "Ctrl+P keys"]
        while cell_len("  ".join(keys)) > self.size.width - 2:
            keys.pop()
        return "  ".join(keys)

    @property
    def _somewhere_to_go(self) -> bool:
        return any(standing(s, self.verdict.at) != "go" for s in self.verdict.sides.values())

    def say(self, text: str) -> None:
        self.query_one("#sentence", Plate).show(Content.styled(text, "bold"))

    # --- what happens ----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        for at in watch_words.EVENT_KEYS:
            if (event.character or "").lower() == at.key:
                event.stop()
                self.action_happened(at.event)

    def action_happened(self, event: str) -> None:
        if event in OF_ONE_SIDE and len(self.session.journal.job.sides) > 1:
            self._on_which_side(event)
        else:
            self._keep_event(event)

    @work
    async def _on_which_side(self, event: str) -> None:
        """The other side's sensor is as it was: what was found of it, its result even, holds."""
        sides = self.session.journal.job.sides
        chosen = await self.app.push_screen_wait(Pick("On which side?", pages.side_offers(sides)))
        if chosen is not None:
            self._keep_event(event, chosen if chosen in sides else "")

    def _keep_event(self, event: str, side: str = "") -> None:
        """Keep an event, and say what it undid. A key held down keeps it once."""
        if already := told_already(self.session.visit, event, side):
            back = " Ctrl+Z takes it back." if self._kept[-1:] == [event] else ""
            self.say(f"That is kept already, at {pages.clock(already)}.{back}")
            return
        gone = self._undone.get(event, ())
        if side:
            gone = undone(self.session.visit, self.session.clock(), (side,))[event]
        try:
            self.session.happened(event, side)
        except JournalError as refused:
            self.say(str(refused))
            return
        self._kept.append(event)
        self._undone = {}
        self.look()
        self.say(watch_words.after_event(event, gone))

    def action_take_back(self) -> None:
        """The last event kept here; what was entered before is taken back in the walk."""
        if not self._kept:
            self.say("No event was kept here. Ctrl+Z in the walk takes back what was kept before.")
            return
        try:
            said = self.session.undo()
        except JournalError as refused:
            self.say(str(refused))
            return
        self._kept.pop()
        self._undone = {}
        self.look()
        self.say(f"{said} {self._told()}")

    def action_take_up(self) -> None:
        """Enter here from now on, if it is free by now."""
        journal = self.session.journal
        if not journal.locked:
            return
        known = len(journal.warnings)
        try:
            self.session.take_up()
            said = TAKEN_UP
        except JournalError as refused:
            said = f"{STILL_LOCKED} {refused}"
        self._undone = {}
        self.look()
        self.say(" ".join((said, *journal.warnings[known:])))

    # --- reading ---------------------------------------------------------------------------------

    def action_explain(self) -> None:
        self.app.push_screen(Tell("The time left", page_help(WATCH, self.session.visit)))

    @work
    async def action_keys(self) -> None:
        """Every key with what it does, those of the events too; picking one does it."""
        locked = bool(self.session.journal.locked)
        there = [b for b in self.BINDINGS if isinstance(b, Binding) and (locked or b.action != "take_up")]
        happened = [Offer(e.key, f"happened('{e.event}')", e.words) for e in watch_words.EVENT_KEYS]
        chosen = await self.app.push_screen_wait(Pick("Keys", [*key_offers(there), *happened]))
        if chosen:
            await self.run_action(chosen)

    # --- leaving ---------------------------------------------------------------------------------

    def action_go_on(self) -> None:
        sides = list(self.verdict.sides.values())
        if any(s.verdict == "no-go" for s in sides):
            self.dismiss(("open", ""))
            return
        soon = [s for s in sides if standing(s, self.verdict.at) == "soon"]
        if soon:
            first = min(soon, key=lambda s: s.lapses_at or self.verdict.at)
            self.dismiss(("check", next(f.check for f in first.findings if f.lapses_at == first.lapses_at)))
            return
        self.say("Nothing is open: everything that was read still holds. r when the calibration is done.")

    def action_result(self) -> None:
        self.dismiss(("close", ""))

    def action_end(self) -> None:
        self.dismiss(("end", ""))

    def action_other_side(self) -> None:
        others = [o for o in self._others if not o.in_job]
        if others:
            self.dismiss(("side", others[0].side))
        else:
            self.say("There is no other side to go to.")
