"""The list of jobs as lines: columns that fit, words for how a job stands."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from rich.cells import cell_len

from readiness.job import Ended
from readiness.jobstate import JobState, SideState
from readiness.records.listing import JobLine
from readiness.report.columns import cells, columns, cut
from readiness.report.jobs import said, table

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
TEN = NOW.replace(hour=10, minute=14)
END = Ended(at=NOW, by="x")


def side(word, side="left", until=None, wrong=0, done=18, **more) -> SideState:
    return SideState(side, word, until, wrong, done, 18, **more)


def clock(at: datetime) -> str:
    return f"{at.astimezone():%H:%M}"


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (JobState((side("go", until=TEN),)), f"go until {clock(TEN)}"),
        (JobState((side("go"),)), "go"),
        (JobState((side("go", until=TEN + timedelta(days=1)),)), f"go until {TEN + timedelta(days=1):%d %b} {clock(TEN)}"),
        (JobState((side("go-with-waivers", until=TEN),)), f"go with waivers until {clock(TEN)}"),
        (JobState((side("lapsed"),)), "lapsed"),
        (JobState((side("no-go", wrong=2),)), "no-go, 2 to put right"),
        (JobState((side("unfinished", done=2),)), "16 of 18 checks to do"),
        (JobState((side("lapsed"), side("lapsed", "right"))), "lapsed"),
        (JobState((side("lapsed"), side("no-go", "right", wrong=1))), "left lapsed; right no-go, 1 to put right"),
        (JobState((side("go", closed="open", in_range=True),)), "in range, close not finished"),
        (JobState((side("go", closed="wrong", in_range=False),)), "result out of range"),
        (JobState((side("go", closed="done", in_range=True),), END), "ended, in range"),
        (JobState((side("go-with-waivers", closed="done", in_range=True),), END), "ended, go with waivers, in range"),
        (JobState((side("go", closed="wrong", in_range=False),), END), "ended, out of range"),
        (JobState((side("go", closed="wrong", in_range=True),), END), "ended, in range, close not right"),
        (JobState((side("go", closed="open"),), END), "ended, no result"),
        (JobState((side("no-go", closed="open"),), END), "ended, without a go"),
        (JobState((), END), "ended"),
        (JobState((), problem="it is gone"), "cannot be judged: it is gone"),
    ],
)  # fmt: skip
def test_how_a_job_stands_in_words(state, words):
    assert said(state, NOW) == words


def test_sides_that_differ_take_fewer_words_on_a_screen():
    state = JobState((side("go", until=TEN), side("unfinished", "right", done=3)))
    assert said(state, NOW, short=True) == f"left go {clock(TEN)}, right 15 to do"


WORDS = (
    "HB-0417",
    "QM 120 T",
    "Ünal Ç.",
    "漢字のプレート",
    "tern-rear-corner",
    "e\u0301galite\u0301",
    "a" * 60,
    "",
)


def test_lines_fit_and_their_columns_stand_under_one_another():
    """Cells are counted as Textual's own library counts them."""
    chance = random.Random(1)
    for _ in range(150):
        lines = [
            JobLine(f"HB-{n}", Path("x"), "", chance.choice(WORDS), chance.choice(WORDS), ("left", "right"),
                    chance.choice(WORDS), NOW, NOW, chance.choice(WORDS))
            for n in range(chance.randrange(1, 9))
        ]  # fmt: skip
        states = {
            line.id: JobState((side("lapsed"), side("no-go", "right", wrong=n)))
            for n, line in enumerate(lines)
        }
        width = chance.randrange(72, 160)
        told = table(lines, states, NOW, width)
        assert max(map(cell_len, told)) <= width
        starts = {cell_len(line[: line.index("left lapsed")]) for line in told[1:]}
        assert starts == {cell_len(told[0][: told[0].index("state")])}
        assert "…" not in "".join(table(lines, states, NOW))


def test_what_is_cut_ends_in_a_mark():
    assert cut("tern-rear-corner", 9) == "tern-rea…"
    assert cut("漢字のプレート", 6) == "漢字…"
    assert cut("QM 902 B", 4) == "QM…"
    assert cut("short", 5) == "short"
    assert [cells(text) for text in ("ab", "漢字", "e\u0301", "\u200d")] == [2, 4, 1, cell_len("\u200d")]


def test_columns_without_anything_in_them_take_no_room():
    assert columns([("a", "", "b"), ("aa", "", "c")], None) == ["a   b", "aa  c"]
