"""Before the new reading is entered nothing shows the first one: not on the prompts, not in the list, not as JSON.

Two jobs that differ in nothing but what was read at the places that were drawn show the same, to the letter. So nothing
that is shown depends on it, in whatever form.
"""

from __future__ import annotations

import io
import json
import random
import re
import sys
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.cli_spot_lines import LineAnswers
from readiness.job import Drawn, Job, SpotCheck
from readiness.records import spot_checks
from readiness.records.journal import Journal
from readiness.records.kept import write_journal
from readiness.records.spot_answers import blank_file
from readiness.records.spot_checks import SpotChecking, Stopped
from readiness.report import spot_checks as report
from readiness.report.spot_data import as_list
from readiness.spotcheck.candidates import Candidate, candidates
from tests.records.invented import NOW, demo_shop, filled, opened, typed

LATER = NOW + timedelta(minutes=5)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return demo_shop(tmp_path_factory.mktemp("blind"))


def kept(folder, job: Job, entries, whats) -> SpotChecking:
    """The job in a journal, with a spot check that drew these lines."""
    path = folder.jobs_folder / f"{job.job}.jsonl"
    path.unlink(missing_ok=True)
    write_journal(job, folder.jobs_folder)
    journal = Journal.open(path, by="F. Foreman", at=LATER)
    drawn = tuple(Drawn(entry=n, what=what, weight=1.0) for n, what in zip(entries, whats, strict=True))
    journal.draw(SpotCheck(at=LATER, by="F. Foreman", seed=0, of=len(drawn), drawn=drawn))
    return SpotChecking(folder, journal, "F. Foreman", lambda: LATER)


def lines_of(folder, job: Job) -> Job:
    """The same job as its journal says it, with the lines of its readings."""
    path = folder.jobs_folder / f"{job.job}.jsonl"
    path.unlink(missing_ok=True)
    write_journal(job, folder.jobs_folder)
    with Journal.open(path, write=False) as journal:
        return journal.job


def otherwise(job: Job, chosen: list[Candidate], chance: random.Random) -> Job:
    """Something else was read at each of these places."""
    others = {}
    for candidate in chosen:
        first, question = candidate.last, candidate.stop.question
        if question.type == "choice":
            value = next(c.value for c in question.choices if c.value != first.value)
            others[first.number] = changed(first, value=value, text=value, note="another note")
        else:
            text = typed(question, chance)
            value = float(text.split()[0])
            others[first.number] = changed(first, value=value, text=text, note="another note")
    return changed(job, readings=tuple(others.get(r.number, r) for r in job.readings))


def shown(checking: SpotChecking, chance: random.Random) -> list[str]:
    """Everything that is written until each outcome, prompts and list and JSON; what is typed is the same each time."""
    seen = [json.dumps(as_list(checking.visit.job))]
    items = list(checking.items())
    asked = [(checking.asked_of(item), checking.needed(item)) for item in items]
    seen += report.head(checking.told, "the job", LATER) + report.to_come(asked, LATER.date())
    seen.append(blank_file("the job", "F. Foreman", [one for a, more in asked for one in (*more, a)]))
    written: list[str] = []

    class Blind(LineAnswers):
        def outcome(self, drawn, again):
            """What is written from here on may tell."""

    asker = Blind(written.append, "metric", LATER.date(), asks_twice=False)
    for item in items:
        answers = iter(typed_for(checking, item, chance))
        sys.stdin = io.StringIO("".join(f"{line}\n" for line in answers))
        try:
            checking.take(item, asker)
        except Stopped:
            written.append("stopped")
    return [*seen, *written]


def typed_for(checking, item, chance):
    """Lines enough for any prompts: instrument by Enter, then a value; beside it, stood and air."""
    asked = checking.asked_of(item)
    value = typed(asked.question, chance)
    beside = ["s", "", "20"] if checking.needed(item) else []
    tool = [""] if len(asked.offers) > 1 else []
    return [*beside, *tool, value] if beside else [*tool, value]


def tellings(folder, seed: int, draw: int, count: int = 5) -> list[list[str]]:
    """What is shown of a job and of its twin; nothing where the twin is asked other things."""
    chance = random.Random(draw)
    job = lines_of(folder, filled(folder, opened(), seed))
    visit = folder.visit(job)
    found = candidates(visit, LATER).found
    chosen = chance.sample(found, min(count, len(found)))
    twin = otherwise(job, chosen, chance)
    places = {c.stop.place for c in candidates(replace(visit, job=twin), LATER).found}
    if not places >= {c.stop.place for c in chosen}:
        return []
    entries, whats = [c.last.number for c in chosen], [c.what for c in chosen]
    told = []
    for one in (job, twin):
        checking, before = kept(folder, one, entries, whats), sys.stdin
        try:
            told.append(shown(checking, random.Random(draw)))
        finally:
            sys.stdin = before
            checking.journal.close()
    return told


@pytest.mark.slow
@given(st.integers(0, 40), st.integers(0, 10**6))
@settings(max_examples=12, deadline=None)
def test_what_is_shown_does_not_depend_on_what_was_read(folder, seed, draw):
    told = tellings(folder, seed, draw)
    assume(told)
    assert len(told[0]) > 10
    assert told[0] == told[1]


def test_the_test_above_would_see_a_leak(folder, monkeypatch):
    """Without a leak both tell the same; with a hint that tells the first reading they do not."""
    honest, twin = tellings(folder, 3, 3, 2)
    assert honest == twin

    def leaking(visit, stop, hidden, now):
        return replace(stop.question, hint=f"it was {visit.readings[stop.place][-1].value}")

    monkeypatch.setattr(spot_checks, "question_of", leaking)
    told, other = tellings(folder, 3, 3, 2)
    assert told != other


def test_the_numbers_of_the_first_readings_are_nowhere_before_and_there_afterwards(folder):
    """The plain way: readings with digits that stand nowhere else."""
    job = filled(folder, opened(), 5)
    marked = {}
    for n, r in enumerate(job.readings):
        if isinstance(r.value, float):
            value = round(r.value * (1 + 1e-6), 3) + 0.000137 + n * 1e-8
            marked[n] = changed(r, value=value, text=f"{value:.8f} {r.unit}".strip())
    job = lines_of(folder, changed(job, readings=tuple(marked.get(n, r) for n, r in enumerate(job.readings))))
    found = [c for c in candidates(folder.visit(job), LATER).found if c.answer.estimate is not None]
    chosen = found[::2]
    assert len(chosen) > 5
    checking = kept(folder, job, [c.last.number for c in chosen], [c.what for c in chosen])
    told = "\n".join(shown(checking, random.Random(1)))
    digits = [re.sub(r"[^0-9]", "", f"{c.last.value:.8f}").lstrip("0") for c in chosen]
    assert not any(d in told.replace(".", "") for d in digits)
    after = json.dumps(as_list(checking.visit.job)).replace(".", "")
    assert all(d in after for d, c in zip(digits, chosen, strict=True) if "pressure" not in c.what)
    checking.journal.close()
