"""Surveys of hostile hands: journals that were edited, cut, swapped or made up, and text that would steer a terminal."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from msgspec.structs import replace as changed

from readiness.checklist.files import read_survey
from readiness.checklist.mistakes import UNPRINTABLE
from readiness.records import lines
from readiness.records.chained import JournalError
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, keep_new, said_of, survey_text
from readiness.survey.finish import why_not_finished
from readiness.survey.result import result
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Pick
from readiness.wizard.surveying import Surveying as Screen
from readiness.wizard.surveying_session import SurveySession
from tests.shop import MOMENT, Clock, demo_shop
from tests.test_hostile import HOSTILE, drawn, steering
from tests.wizard.driver import settled, until

pytestmark = pytest.mark.slow

BY_LEVEL = "bay-4-by-level"
ROUNDS = 30
"""Damages of each kind."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> ShopFolder:
    return demo_shop(tmp_path_factory.mktemp("hostile-survey"))


@pytest.fixture(scope="module")
def sound(folder) -> bytes:
    return (folder.surveys_folder / f"{BY_LEVEL}.jsonl").read_bytes()


def opened(folder: ShopFolder, data: bytes, write: bool = False) -> SurveyJournal:
    path = folder.surveys_folder / f"{BY_LEVEL}.jsonl"
    path.write_bytes(data)
    return SurveyJournal.open(path, write)


def opened_or_told(folder: ShopFolder, data: bytes) -> SurveyJournal | None:
    """The journal for reading; None where it is refused with a sentence."""
    try:
        return opened(folder, data)
    except JournalError as fault:
        told = str(fault)
    assert told.isprintable(), ascii(told)
    return None


# --- edited, cut, swapped ------------------------------------------------------------------------


def edited(data: bytes, chance: random.Random) -> bytes:
    """One change of the kind that an editor, a bad copy or a wish for a better floor makes."""
    rows, at = data.splitlines(keepends=True), chance.randrange(len(data))
    i, j = chance.sample(range(len(rows)), 2)
    swapped = list(rows)
    swapped[i], swapped[j] = rows[j], rows[i]
    return chance.choice(
        (
            data[:at] + bytes([data[at] ^ (1 << chance.randrange(5))]) + data[at + 1 :],
            data[:at] + data[at + chance.randint(1, 30) :],
            data[:at] + bytes(chance.randrange(256) for _ in range(3)) + data[at:],
            b"".join(swapped),
            b"".join(rows[:i] + rows[i + 1 :]),
            b"".join(rows[: i + 1] + rows[i:]),
            data.replace(b'"value":', b'"value":1', 1),
            b"\n" + data,
            data.replace(b"\n", b"\r\n"),
        )
    )


@pytest.mark.parametrize("nth", range(6))
def test_an_edited_journal_is_refused_or_is_as_it_was_up_to_its_end(folder, sound, nth):
    with opened(folder, sound) as journal:
        before = journal.surveying
    refused = 0
    for k in range(ROUNDS):
        data = edited(sound, random.Random(f"{nth} {k}"))
        if data == sound:
            continue
        journal = opened_or_told(folder, data)
        if journal is None:
            refused += 1
            assert mistakes_in([folder.surveys_folder / f"{BY_LEVEL}.jsonl"], folder.path)
            continue
        kept, said = journal.surveying, journal.warnings
        # a cut-off end is said; a file that ends earlier with a whole line is one that was never written to its end
        assert said or data.startswith(sound) or sound.startswith(data), k
        assert kept.readings == before.readings[: len(kept.readings)]
        assert len(before.readings) - len(kept.readings) <= 1
    assert refused > ROUNDS / 2


@pytest.mark.parametrize("share", [0.0, 0.02, 0.3, 0.7, 0.99])
def test_a_journal_cut_off_anywhere_is_resumed_up_to_there(folder, sound, share):
    end = int(len(sound) * share)
    whole = sound[: sound.rfind(b"\n", 0, end) + 1]
    if not whole:
        with pytest.raises(JournalError, match="no complete first line"):
            opened(folder, sound[:end])
        return
    with opened(folder, sound[:end], write=True) as journal:
        assert len(journal.surveying.readings) == whole.count(b"\n") - 1
        assert journal.path.read_bytes() == whole
        assert "cut off while it was written" in journal.warnings[0]


# --- made up, with every sum right ---------------------------------------------------------------

ODD = [
    None, "", True, -1, 0, 1e308, -1e308, 1e-308, 10**400, "nan", "∞", [], {}, [[]], {"x": 1}, "x" * 5_000, "[/4]", "\x1b[2J",
    "\u202e", "\x00", "../../x", "con", "mm", "kPa", "mm/m", "deg", "level", "laser", "1", "99", "staff.1", "run.1-2.1", "nobody",
    "2026-11-25T10:00:00+00:00", "0001-01-01T00:00:00+00:00", 3.0, [["1", "1"]], [["1", "99"]],
]  # fmt: skip


def made_up(data: bytes, chance: random.Random) -> bytes:
    """A journal whose chain is right and whose entries say anything."""
    found = list(lines.decode(data).entries)
    for _ in range(chance.choice((1, 1, 2, 4))):
        n = chance.choice((0, chance.randrange(len(found))))
        body = json.loads(json.dumps(found[n].body))
        _spoilt(body, chance)
        found[n] = changed(found[n], body=body)
    written, prev = b"", ""
    for entry in found:
        try:
            line = lines.encode(entry, prev)
        except (ValueError, OverflowError):
            return data
        written, prev = written + line, lines.digest(line)
    return written


def _spoilt(what, chance: random.Random) -> None:
    """Somewhere in this tree of JSON a value is another one, or gone."""
    while True:
        keys = list(what) if isinstance(what, dict) else list(range(len(what)))
        if not keys:
            return
        key = chance.choice(keys)
        if isinstance(what[key], (dict, list)) and what[key] and chance.random() < 0.85:
            what = what[key]
            continue
        if chance.random() < 0.1:
            del what[key]
        else:
            what[key] = chance.choice(ODD)
        return


@pytest.mark.parametrize("way", ["level", "laser"])
@pytest.mark.parametrize("nth", range(5))
def test_a_made_up_journal_is_refused_or_shown_and_never_ends_the_program(folder, sound, way, nth):
    shown = 0
    for k in range(ROUNDS):
        chance = random.Random(f"{way} {nth} {k}")
        data = made_up(sound if way == "level" else by_laser(sound), chance)
        journal = opened_or_told(folder, data)
        if journal is None:
            continue
        assert all(str(m).isprintable() for m in mistakes_in([journal.path], folder.path))
        try:
            shown += looked_at(folder, journal)
        except BaseException as fault:
            fault.add_note(f"{way} {nth} {k}: {data[:3000]!r}")
            raise
        finally:
            journal.close()
    assert shown


def by_laser(data: bytes) -> bytes:
    """The same places with a staff reading at each."""
    first, *readings = lines.decode(data).entries
    nodes = [node["name"] for node in first.body["nodes"]]
    first = changed(first, body={**first.body, "way": "laser", "straightedge": None, "runs": []})
    entries = [first]
    for n, (name, entry) in enumerate(zip(nodes, readings, strict=False), start=2):
        body = {
            "question": f"staff.{name}",
            "value": 1500.0 + n,
            "unit": "mm",
            "text": f"{1500 + n}",
            "instrument": "laser-1",
        }
        entries.append(changed(entry, n=n, body={**entry.body, **body}))
    written, prev = b"", ""
    for entry in entries:
        line = lines.encode(entry, prev)
        written, prev = written + line, lines.digest(line)
    return written


def looked_at(folder: ShopFolder, journal: SurveyJournal) -> bool:
    """All that the screen shows of it; whether there was something to look at."""
    surveying = journal.surveying
    if surveying.bay not in folder.bays:
        return False
    session = SurveySession(folder, journal, "Odo Brack", Clock())
    found = session.so_far()
    for row in session.rows():
        assert row.question.label
        session.tool(row)
    said = [
        found.sentence,
        *found.problems,
        *found.doubts,
        *found.details,
        session.progress,
        session.tilt,
        *session.result(),
    ]
    assert steering("\n".join(said)) == []
    why_not_finished(surveying, folder.instruments)
    return True


# --- text ----------------------------------------------------------------------------------------


def hostile_survey(folder: ShopFolder, text: str):
    """The demo's survey by level with that text wherever a person may write."""
    there = folder.surveys[BY_LEVEL]
    names = {p.name: f"{p.name} {text}"[:60] for p in there.points}
    points = tuple(changed(p, name=names[p.name], what=text[:4000]) for p in there.points)
    runs = tuple(changed(r, start=names[r.start], end=names[r.end]) for r in there.runs)
    return changed(there, survey="hostile", by=text[:4000], note=text[:4000], points=points, runs=runs)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_in_a_surveys_file_and_what_is_said_of_it(tmp_path, text):
    folder = demo_shop(tmp_path)
    survey = hostile_survey(folder, text)
    keep_new(folder, survey, text)
    written = (folder.surveys_folder / "hostile.yaml").read_text(encoding="utf-8")
    assert not UNPRINTABLE.search(written.replace("\n", ""))
    assert "".join(written.split("\n")).isprintable() or text == HOSTILE["odd"]
    back = read_survey(folder.surveys_folder / "hostile.yaml")
    assert [(p.x, p.y) for p in back.points] == [(p.x, p.y) for p in survey.points]
    assert survey_text(back) == survey_text(changed(back))
    for lines_ in (
        said_of(folder, "bay-4", survey),
        result(survey, folder.bays["bay-4"], (), folder.instruments),
    ):
        assert len(lines_) > 3
    assert mistakes_in([folder.surveys_folder / "hostile.yaml"]) == []


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
async def test_in_a_survey_on_the_screen(tmp_path, text):
    folder = demo_shop(tmp_path)
    path = folder.surveys_folder / f"{BY_LEVEL}.jsonl"
    found = list(lines.decode(path.read_bytes()).entries)
    nodes = [{**node, "what": text} for node in found[0].body["nodes"]]
    found[0] = changed(found[0], body={**found[0].body, "nodes": nodes, "by": text})
    found = [
        changed(e, body={**e.body, "by": text, "note": text} if e.kind == "reading" else e.body)
        for e in found[:-3]
    ]
    written, prev = b"", ""
    for entry in found:
        line = lines.encode(entry, prev)
        written, prev = written + line, lines.digest(line)
    path.write_bytes(written)
    app, seen = ReadinessApp(folder.path, person="Odo Brack", clock=Clock(MOMENT), survey="bay-4"), ""
    async with app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: isinstance(app.screen, Pick))
        seen += drawn(app)
        await pilot.press("g")
        await until(pilot, lambda: isinstance(app.screen, Screen))
        await settled(app, pilot)
        for keys in ((), ("f1",), ("escape",), ("pagedown",), ("down",), ("f3",)):
            await pilot.press(*keys)
            await pilot.pause()
            await pilot.pause()
            seen += drawn(app)
        assert isinstance(app.screen, Screen), app.screen
    assert steering(seen) == []


def test_a_path_is_no_name_of_a_survey(folder):
    for id in ("../x", "con", "a/b", "", "x" * 61, "NUL.x", "-x", "x."):
        with pytest.raises(JournalError, match="A survey's id is the name of its file"):
            SurveyJournal.create(
                Path(folder.surveys_folder), id=id, bay="bay-3", way="laser", plan=_none(), by="x", at=MOMENT
            )


def _none():
    from readiness.survey.surveying import Plan

    return Plan(())
