"""The walk round a simulated car: the screen of a real job, where Enter looks and the person speaks before the program."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from readiness.checks.instruments import KIND
from readiness.practice.model import Said, Topic
from readiness.verdict import Verdict
from readiness.wizard import practice_pages as pages
from readiness.wizard.dialogs import Offer, Pick
from readiness.wizard.form import Form
from readiness.wizard.page_help import PageHelp
from readiness.wizard.plates import Locked, Plate
from readiness.wizard.plates import Said as Sentence
from readiness.wizard.practice_help import CALL, FORM, REVIEW
from readiness.wizard.practice_session import CALLS, PracticeSession
from readiness.wizard.rows import Row
from readiness.wizard.walk import Walk

if TYPE_CHECKING:
    from readiness.practice.model import Marked

ANEW = "?"
"""Pressed, also where one types: look once more."""
NO_PICTURE = "The picture would show what the program found: it comes after your go or no-go."
BY_HAND = "Type what it shows, with its unit."
GIVEN = "That is given, and so it is. What you enter counts where a call is yours: F10 lists it."
OFFERS = [
    Offer("p", "pass", "pass"),
    Offer("f", "fail", "fail"),
    Offer("t", "too_close", "too close to call"),
]
NOT_HERE = {
    "place": "In practice the car stands where it stands.",
    "set_aside": "In practice nothing is set aside: call the check.",
    "as_of": "In practice everything is read as it is typed.",
    "happened": "In practice nothing happens to the car meanwhile.",
    "put_right": "In practice nothing is put right: call it as you find it.",
    "to_end": "Practice ends with your go or no-go: F10.",
}
"""Actions of a real job that mean nothing here, and why."""
MEANS = {
    "verdict": "Your calls, then go or no-go",
    "record": "What you answered and when, what was taken back",
    "back": "Clears what is typed; a step back, or out of this car",
    "app.quit": "Leave at once; nothing of this car is kept",
}
"""What keys of a real job do here, where that is something else."""


class PracticeWalk(Walk):
    """One simulated car. `keep` is told of it once every side is called, and says what became of that."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+k", "call", "call", tooltip="Say pass, fail or too close of this step's checks", priority=True),
    ]  # fmt: skip
    LISTED: ClassVar[list[BindingType]] = [
        Binding("?", "look", tooltip="Look, or read the instrument, once more"),
        *BINDINGS,
        *(
            replace(b, tooltip=MEANS.get(b.action, b.tooltip))
            for b in Walk.LISTED
            if isinstance(b, Binding) and b.action not in NOT_HERE
        ),
    ]
    FORM_KEYS = FORM

    session: PracticeSession

    def __init__(self, session: PracticeSession, keep: Callable[[Marked], str]) -> None:
        super().__init__(session)
        self.keep = keep
        self.marked: Marked | None = None
        self.another = False
        """Whether another car is wanted after this one."""
        self._kept = ""

    def on_mount(self) -> None:
        """Beside what the walk itself does, which is called too."""
        self.form.entry.always = ANEW

    # --- showing ---------------------------------------------------------------------------------

    @property
    def page_help(self) -> PageHelp:
        return REVIEW if self.session.over else CALL

    def show_lock(self) -> None:
        plate = self.query_one("#locked", Locked)
        plate.display = True
        plate.show(Content(pages.banner(self.session)))

    def _show_keys(self) -> None:
        if self.step is None:
            line = pages.KEYS_REVIEW if self.session.over else pages.KEYS_CALL
        elif self.session.over:
            line = pages.KEYS_AFTER
        else:
            line = next((k for k in pages.KEYS_FORM if self.size.width >= len(k) + 2), pages.KEYS_FORM[-1])
        self.query_one("#keys", Plate).show(Content(line))

    def _show_page(self) -> None:
        if self.step is not None or self.verdict is None:
            return
        width = max(30, self.query_one("#main").content_size.width - 2)
        if self.marked is None:
            title, page = pages.CALL_TITLE, pages.call_page(self.session, width)
        else:
            page = pages.review_page(self.marked, self.session, self._kept, width)
            title = pages.REVIEW_TITLE
        self.query_one("#title", Plate).show(Content(title))
        self.query_one("#page-text", Static).update(page)
        self.query_one("#page").focus()

    def _show_findings(self, verdict: Verdict) -> None:
        """A step that asks nothing is called all the same, from what the others say."""
        super()._show_findings(verdict)
        assert self.step is not None
        if not self.session.over and self.session.topics_of(self.step):
            self.tell("Nothing to look at: it follows from other steps. Ctrl+K calls it.")

    def tell(self, words: str) -> None:
        """What is seen, in the place of the sentence."""
        self.query_one("#sentence").display = True
        self.query_one("#sentence", Sentence).show(Content(words))

    # --- looking ---------------------------------------------------------------------------------

    def on_form_entered(self, message: Form.Entered) -> None:
        """Beside what the walk itself does, which is called too."""
        if message.text == ANEW:
            message.prevent_default()
            self.look(message.row)
        elif message.text.strip() and not self.session.over and self.session.given(message.row):
            message.prevent_default()
            self.form.entry.value = ""
            self.say(GIVEN)

    def _enter_alone(self, row: Row) -> None:
        """Enter in an empty field looks; where there is nothing to see twice, it goes on."""
        if row.answered or (row.question.optional and self.session.seen(row.kept_at)):
            self.form.move(1)
        else:
            self.look(row, anew=False)

    def action_look(self) -> None:
        if self.row is not None:
            self.look(self.row)

    def look(self, row: Row, *, anew: bool = True) -> None:
        """Say what is seen; a number stands in the field, to be kept or typed over, where it is shown in the form's unit.

        Not `anew`: what was seen before is said once more, and no instrument is read again.
        """
        if self.bars():
            return
        sight = self.session.look(row, anew=anew)
        entry = self.form.entry
        entry.value = self.session.offered(row, sight)
        entry.cursor_position = len(entry.value)
        by_hand = sight.typed and not entry.value and row.question.type == "quantity"
        self.tell(f"{sight.words} {BY_HAND}" if by_hand else sight.words)

    def _retell(self, row: Row) -> None:
        """What another instrument showed is no reading of this one."""
        if not row.answered:
            self.form.entry.value = ""
        super()._retell(row)

    # --- calling ---------------------------------------------------------------------------------

    def on_form_left(self, message: Form.Left) -> None:
        """Down past the last row; up is the walk's own, which is called too."""
        if message.by > 0:
            message.prevent_default()
            self.go_on()

    def go_on(self) -> None:
        """A step that is answered is called before it is left."""
        step = self.step
        if (
            step is not None
            and not self.session.over
            and self._answered_now()
            and self.session.uncalled(step)
        ):
            self.call_step(self.session.uncalled(step), leave=True)
        else:
            self._enter(self._next_open(self.at + 1))
            if step is not None and self.session.uncalled(step) and not self.session.over:
                self.say("The step before has something open still; Ctrl+K there calls it all the same.")

    def _answered_now(self) -> bool:
        lines = self.form.rows.lines
        return not any(line.row is not None and line.row.open for line in lines)

    def _next_open(self, start: int) -> int:
        """The first step from `start` on with something to call; else the page on which the sides are called."""
        steps = self.session.steps
        return next((k for k in range(start, len(steps)) if self.session.uncalled(steps[k])), self.go_page)

    def action_call(self) -> None:
        step = self.step
        topics = self.session.topics_of(step) if step is not None else []
        if self.session.over or step is None:
            self.say("It is called already." if self.session.over else "Call the sides here: g go, n no-go.")
        elif not topics:
            self.say("Nothing of this step is to be called: it is given, and in order.")
        elif not self.typed():
            self.call_step(topics, leave=False)

    @work(exclusive=True, group="call")
    async def call_step(self, topics: list[Topic], *, leave: bool) -> None:
        for topic in topics:
            title = f"Your call: {self.session.title(topic)}{self._hint(topic)}"
            said = await self.app.push_screen_wait(Pick(title, OFFERS, at=None))
            if said is None:
                return
            self.session.call(topic, cast("Said", said))
        row = self.row
        self._draw(row.place if row else None)
        if leave:
            self._enter(self._next_open(self.at + 1))
        else:
            self.tell(
                "; ".join(f"{self.session.title(t)}: {CALLS[self.session.calls[t].said]}" for t in topics)
            )

    def _hint(self, topic: Topic) -> str:
        """Where to look for what asks no question of its own."""
        kind = self.session.visit.checklist.check(topic[0]).kind
        return ". Each reading of any step says with what it was measured, and its date" * (kind == KIND)

    # --- the last page ---------------------------------------------------------------------------

    def _go_keys(self) -> Mapping[str, Callable[[], object]]:
        if self.session.over:
            return {"enter": self.next_car}
        open_ = self.session.all_uncalled
        keys: dict[str, Callable[[], object]] = {
            str(k): partial(self.go_to_check, check) for k, (check, _) in enumerate(open_[:9], 1)
        }
        keys["enter"] = keys.get(
            "1", lambda: self.say("Every check is called. Now say g for go, or n for no-go.")
        )
        return keys | {"g": partial(self.call_side, go=True), "n": partial(self.call_side, go=False)}

    @work(exclusive=True, group="call")
    async def call_side(self, *, go: bool) -> None:
        """For the next side that is not called; which one is asked where there are several."""
        left = [s for s in self.session.exercise.sides if s not in self.session.go_calls]
        side: str | None = left[0]
        if len(left) > 1:
            offers = [Offer(s[0], s, f"{s} side") for s in left]
            side = await self.app.push_screen_wait(
                Pick("Go for which side" if go else "No-go for which side", offers)
            )
        if side is None:
            return
        if refused := self.tried(lambda: self.session.call_go(side, go)):
            self.say(refused)
            return
        if self.session.over:
            self.marked = self.session.marked()
            self._kept = self.keep(self.marked)
        self.query_one("#sentence").display = False
        self._enter(self.go_page)
        self.query_one("#page").scroll_home(animate=False)
        if not self.session.over:
            self.say(f"{side.capitalize()} side: {'go' if go else 'no-go'}. Now the other side.")

    def next_car(self) -> None:
        self.another = True
        self.dismiss(None)

    def action_back(self) -> None:
        if self.session.over and self.step is None:
            self.dismiss(None)
        else:
            super().action_back()

    @work
    async def action_plan(self) -> None:
        """A picture shows what was found, so there is none before the call."""
        if self.step is not None and self.session.topics_of(self.step) and not self.session.over:
            self.say(NO_PICTURE)
        else:
            super().action_plan()

    def why_again(self, row: Row) -> list[Offer]:
        return [offer for offer in super().why_again(row) if offer.value != "fixed"]

    # --- what is given stays -------------------------------------------------------------------------

    def _given(self) -> bool:
        given = self.row is not None and not self.session.over and self.session.given(self.row)
        if given:
            self.say(GIVEN)
        return given

    def action_take_back(self) -> None:
        self._given() or super().action_take_back()

    def action_evidence(self) -> None:
        self._given() or super().action_evidence()

    def action_instrument(self) -> None:
        self._given() or super().action_instrument()

    # --- what a real job has and practice has not ------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return False if action in ("watch", "result") else super().check_action(action, parameters)

    def action_place(self) -> None:
        self.say(NOT_HERE["place"])

    def action_put_right(self) -> None:
        self.say(NOT_HERE["put_right"])

    def action_set_aside(self) -> None:
        self.say(NOT_HERE["set_aside"])

    def action_as_of(self) -> None:
        self.say(NOT_HERE["as_of"])

    def action_happened(self) -> None:
        self.say(NOT_HERE["happened"])

    def action_to_end(self) -> None:
        self.say(NOT_HERE["to_end"])
