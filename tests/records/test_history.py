"""What became of each answer, told from a journal's entries."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checks.entry import as_typed
from readiness.job import Event, Fix, Reading, Waiver
from readiness.records import history
from readiness.records.history import of_check, stories
from readiness.records.journal import Journal
from readiness.records.lines import Entry

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
REAR = ("tyres", "", "pressure.lr")


class Written:
    """A journal that is written in few words, one entry a minute."""

    def __init__(self, journal: Journal) -> None:
        self.journal = journal
        self.minutes = 0

    def now(self) -> datetime:
        self.minutes += 1
        return AT + timedelta(minutes=self.minutes)

    def read(self, text="219", question="pressure.lr", by="Odo Brack", **more) -> int:
        number = float(text.split()[0]) if text[0].isdigit() else text
        unit = "kPa" if isinstance(number, float) else ""
        fields = {"check": "tyres", "instrument": "tyre-gauge-2", "value": number, "unit": unit, **more}
        return self.journal.record(
            Reading(question=question, text=text, at=self.now(), by=by, **fields)
        ).number

    def back(self, number: int, why: str = history.MISTYPED, by="Una Wick") -> None:
        self.journal.withdraw(number, why, by, self.now())

    def fix(self, question="pressure.lr", check="tyres", text="inflated", side="") -> int:
        fix = Fix(check=check, question=question, side=side, at=self.now(), by="Odo Brack", text=text)
        self.journal.fix(fix)
        return len(self.journal.entries)

    def waive(self, check="tyres", reason="spare on the car") -> int:
        self.journal.waive(Waiver(check=check, reason=reason, at=self.now(), by="Odo Brack"))
        return len(self.journal.entries)

    def note(self, number: int, text: str) -> None:
        self.journal.note(number, text, "Una Wick", self.now())

    def told(self, place=REAR) -> history.Story:
        return stories(self.journal.entries)[place]

    @property
    def in_short(self) -> str:
        return self.told().in_short


@pytest.fixture
def job(tmp_path):
    with Journal.create(
        tmp_path, job="T1", sheet="s", bay="b", sides=("left",), by="Odo Brack", at=AT
    ) as journal:
        yield Written(journal)


def test_one_reading_has_no_story(job):
    job.read()
    assert job.told().plain
    assert job.in_short == ""


def test_every_step_says_who_when_and_what(job):
    first = job.read("219")
    job.fix(text="inflated")
    second = job.read("32 psi", by="Una Wick", value=220.6)
    job.note(second, "gauge was cold")
    job.back(second)
    told = [(s.at.minute, s.by, s.what, s.text, s.of) for s in job.told().steps]
    assert told == [
        (1, "Odo Brack", "read", "219", first),
        (2, "Odo Brack", "fixed", "inflated", first + 1),
        (3, "Una Wick", "read", "32 psi", second),
        (4, "Una Wick", "noted", "gauge was cold", second),
        (5, "Una Wick", "withdrawn", "mistyped", second),
    ]
    assert job.told().withdrawal(job.told().steps[2]) == job.told().steps[4]
    assert job.told().steps[0].reading.instrument == "tyre-gauge-2"


def test_read_again_and_put_right_in_between(job):
    job.read("210")
    job.fix()
    job.read("229")
    assert job.in_short == "measured twice, fix in between"
    job.read("230")
    assert job.in_short == "measured three times, fix in between"
    job.fix()
    assert job.in_short == "measured three times, fix in between, then put right and not read since"
    job.read("231")
    assert job.in_short == "measured four times, two fixes in between"


@pytest.mark.parametrize(
    ("times", "words"),
    [
        (2, "measured twice"),
        (3, "measured three times"),
        (10, "measured ten times"),
        (11, "measured 11 times"),
    ],
)
def test_small_numbers_are_words(job, times, words):
    for _ in range(times):
        job.read()
    assert job.in_short == words


def test_what_was_taken_back_is_told_with_its_reason(job):
    first = job.read("291")
    job.back(first)
    assert job.in_short == "measured once, taken back as mistyped"
    second = job.read("219")
    assert job.in_short == "measured twice, the first taken back as mistyped"
    job.back(second, history.UNDONE)
    assert job.in_short == "measured twice, the first taken back as mistyped, the second taken back"
    job.back(job.read("221"), "another place was chosen")
    assert job.in_short == (
        "measured three times, the first taken back as mistyped, the second taken back, "
        "the third taken back (another place was chosen)"
    )


def test_several_taken_back_for_one_reason_are_counted(job):
    both = [job.read("291"), job.read("129")]
    for number in both:
        job.back(number)
    assert job.in_short == "measured twice, both taken back as mistyped"
    job.read("219")
    assert job.in_short == "measured three times, two taken back as mistyped"


def test_the_same_reading_with_another_instrument_is_no_second_one(job):
    first = job.read("219")
    job.back(first, history.RETOLD)
    second = job.read("219", instrument="tyre-gauge-1")
    assert job.in_short == "measured once, instrument or evidence corrected"
    job.back(second)
    job.read("229")
    assert job.in_short == (
        "measured twice, the first taken back as mistyped, instrument or evidence corrected"
    )


def test_it_is_one_story_whether_the_old_reading_or_the_new_one_is_written_first(job):
    """The wizard keeps the new reading before it takes the old one back, so that a full disk loses neither."""
    first = job.read("219")
    second = job.read("219", instrument="tyre-gauge-1")
    job.back(first, history.RETOLD)
    assert job.in_short == "measured once, instrument or evidence corrected"
    third = job.read("229")
    job.back(second)
    assert job.in_short == (
        "measured twice, the first taken back as mistyped, instrument or evidence corrected"
    )
    assert [s.number for s in job.told().standing("read")] == [third]


def test_a_fix_that_was_taken_back_is_in_the_steps_and_not_in_between(job):
    job.read()
    fix = job.fix()
    job.read()
    job.back(fix, history.UNDONE)
    assert job.in_short == "measured twice"
    assert [s.what for s in job.told().steps] == ["read", "fixed", "read", "withdrawn"]


def test_words_for_answers_that_are_no_measurement(job):
    for text in ("stood", "driven"):
        job.read(text, question="parked", evidence="seen")
    assert job.told(("tyres", "", "parked")).in_short == "answered twice"
    for _ in range(2):
        job.read("5", question="tread", evidence="told", told_by="the owner")
    assert job.told(("tyres", "", "tread")).in_short == "answered twice"


def test_a_note_in_place_of_another_is_told(job):
    number = job.read()
    job.note(number, "inner rib")
    assert job.in_short == ""
    assert not job.told().plain
    job.note(number, "outer rib")
    assert job.in_short == "measured once, note changed"


@pytest.mark.parametrize(
    ("fixed", "covered"),
    [("", True), ("front.left", True), ("front", True), ("front.right", False), ("fron", False)],
)
def test_a_fix_belongs_to_the_answers_that_it_starts_anew(job, fixed, covered):
    """As `Scene` judges it: the whole check, the question itself, or what it is a part of."""
    job.read(question="front.left", check="centre_marks")
    job.fix(fixed, check="centre_marks")
    job.read(question="front.left", check="centre_marks")
    told = job.told(("centre_marks", "", "front.left"))
    assert told.in_short == ("measured twice, fix in between" if covered else "measured twice")
    if not covered:
        assert job.told(("centre_marks", "", fixed)).in_short == "put right"


def test_a_fix_of_the_other_side_is_another_story(job):
    job.read(side="left")
    job.fix(side="right")
    assert job.told(("tyres", "left", "pressure.lr")).plain


def test_a_whole_check_set_aside_has_its_own_story(job):
    job.read()
    aside = job.waive()
    whole = ("tyres", "", "")
    assert job.told(whole).in_short == "set aside"
    assert [(s.by, s.text) for s in job.told(whole).steps] == [("Odo Brack", "spare on the car")]
    job.back(aside, history.UNDONE)
    assert job.told(whole).in_short == "set aside, taken back"
    job.waive()
    assert job.told(whole).in_short == "set aside twice, one taken back"
    assert [s.place[2] for s in of_check(stories(job.journal.entries), "tyres", "")] == ["", "pressure.lr"]


@pytest.mark.parametrize(
    ("text", "value", "unit", "shown"),
    [
        ("219", 219.0, "kPa", "219 kPa"),
        ("32", 220.63223, "kPa", "32 psi"),
        ("33 psi", 227.52699, "kPa", "33 psi"),
        ("2.5 div", 0.75, "mm/m", "2.5 div"),
        ("", 219.0, "kPa", "219 kPa"),
        ("3/4", 0.75, "fraction", "3/4"),
        ("y", "yes", "", "yes"),
    ],
)
def test_a_reading_is_told_as_it_was_typed(text, value, unit, shown):
    from readiness import units

    if text == "32":
        value = units.parse("32 psi", "kPa")
    one = Reading(check="c", question="q", value=value, unit=unit, text=text, at=AT, by="Odo Brack")
    assert as_typed(one) == shown


def test_what_is_not_about_an_answer_is_in_no_story(job):
    job.journal.happen(Event(event="car_moved", at=job.now(), by="Odo Brack"))
    job.back(len(job.journal.entries), history.UNDONE)
    job.journal.change(by="Odo Brack", at=job.now(), bay="other")
    job.journal.set_units("us", "Odo Brack", job.now())
    assert stories(job.journal.entries) == {}


def test_entries_of_old_and_odd_journals_are_told_all_the_same():
    """Format 1 checked neither who took something back nor why."""
    fields = {"check": "tyres", "question": "pressure.lr", "value": 219, "unit": "kPa", "by": "Odo Brack"}
    entries = [
        Entry(2, AT, "reading", fields),
        Entry(3, AT, "withdrawn", {"entry": 2}),
        Entry(4, AT, "withdrawn", {"entry": 99, "why": 7, "by": None}),
        Entry(5, AT, "reading", fields),
        Entry(6, AT, "withdrawn", {"entry": 5, "why": 7, "by": "A\x1b[31m"}),
        Entry(7, AT, "of-another-day", {"entry": 5}),
    ]
    told = stories(entries)[REAR]
    assert [(s.what, s.by, s.text) for s in told.steps] == [
        ("read", "Odo Brack", ""),
        ("withdrawn", "", ""),
        ("read", "Odo Brack", ""),
        ("withdrawn", "A [31m", "7"),
    ]
    assert told.in_short == "measured twice, the first taken back, the second taken back (7)"


acts = st.lists(
    st.tuples(st.sampled_from(["read", "read", "fix", "back", "note", "waive"]), st.integers(0, 20)),
    max_size=25,
)


@given(acts)
@settings(max_examples=60)
def test_nothing_is_lost(acts):
    """Every entry about an answer stands in a story, once in each that it belongs to, in its order."""
    entries: list[Entry] = []
    readings: list[int] = []
    for n, (act, k) in enumerate(acts, 1):
        key = ("pressure.lf", "pressure.lr", "tread.lf", "pressure")[k % 4]
        body = {"check": "tyres", "by": f"P{n}"}
        if act == "read":
            body |= {"question": key, "value": 200 + k, "unit": "kPa", "text": str(200 + k)}
            readings.append(n)
        elif act == "fix":
            body |= {"question": key if k % 5 else "", "text": "put right"}
        elif act == "waive":
            body |= {"reason": "so"}
        elif not readings:
            continue
        else:
            body = {"entry": readings[k % len(readings)], "why": "w", "text": "t", "by": f"P{n}"}
        kind = {"read": "reading", "back": "withdrawn", "note": "note", "waive": "waiver"}.get(act, act)
        entries.append(Entry(n, AT + timedelta(minutes=n), kind, body))
    told = stories(entries)
    for story in told.values():
        numbers = [s.number for s in story.steps]
        assert numbers == sorted(set(numbers))
        assert story.plain <= (story.in_short == "")
    assert {s.number for story in told.values() for s in story.steps} == {e.n for e in entries}
    by_entry = {e.n: e for e in entries}
    for story in told.values():
        for step in story.steps:
            assert (step.at, step.by) == (by_entry[step.number].at, by_entry[step.number].body["by"])
