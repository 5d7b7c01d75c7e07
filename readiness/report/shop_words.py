"""The page of a shop in words that its text and its HTML share: sections of rows, bars and quiet lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from readiness.records.overview.model import BayDue, Lacking, Reasons, SheetDue, ShopPage, ToolDue
from readiness.report.shop_drift_words import floor_rows, zero_rows
from readiness.report.shop_rows import Bar, Row, Section, count, listed

IDS = 4
"""Of a list of jobs so many are named."""
MANY_DAYS = 1000
"""From then on in years."""
BARS = 10
PARTS = 3
TOOLS = "Instruments to calibrate"
LONGEST_TOLD = 240
"""Characters of what another part of the program says of a file."""

KINDS = {
    "instrument": "instrument", "measurement": "kind of measurement", "bay": "bay", "sheet": "sheet", "job": "job",
    "floor": "floor that moved", "level": "zero that drifted",
}  # fmt: skip
SEVERAL = {"measurement": "kinds of measurement", "floor": "floors that moved", "level": "zeros that drifted"}


def headline(page: ShopPage) -> str:
    """What needs somebody, in one sentence."""
    needs = [f"{n} {KINDS[k] if n == 1 else SEVERAL.get(k, f'{KINDS[k]}s')}" for k, n in page.needs.items()]
    return f"Needs somebody: {', '.join(needs)}." if needs else "Nothing needs anybody now."


def sections(page: ShopPage) -> tuple[Section, ...]:
    """Those that need somebody first, otherwise in a set order."""
    made = (
        _tools(page), _bays(page), _sheets(page), _jobs(page), _reasons(page),
        Section("Floors from survey to survey", tuple(floor_rows(page)), quiet=_no_floors(page)),
        Section("Zero error of the levels", tuple(zero_rows(page)), quiet=_no_zeros(page)),
    )  # fmt: skip
    return tuple(sorted(made, key=lambda s: not s.due))


# --- instruments ---------------------------------------------------------------------------------


def _tools(page: ShopPage) -> Section:
    tools = page.tools
    if tools.problem:
        return Section(TOOLS, (Row("cannot be read", _short(tools.problem)),))
    rows = (
        *(Row("missing", _lacking(lack)) for lack in tools.lacking),
        *(Row("past due", f"{_tool(t)} was due {t.due}, {_ago(-t.days)}.") for t in tools.past),
        *(Row("due soon", f"{_tool(t)} is due {t.due}, {_ahead(t.days)}.", "doubt") for t in tools.soon),
    )
    named = len(tools.past) + len(tools.soon)
    so = f"in date beyond {f'the next {page.within} days' if page.within > 1 else 'tomorrow' if page.within else 'today'}"
    return Section(TOOLS, rows, quiet=_rest(tools.rest, named, "instrument", so))


def _tool(tool: ToolDue) -> str:
    return f"{tool.title} ({tool.id}; {tool.measures})"


def _lacking(lack: Lacking) -> str:
    needed = f"{_and(lack.checks)} cannot be answered ({listed(lack.checklists, IDS)})"
    if lack.accuracy:
        return f"{lack.measures} to ±{lack.accuracy} or better: every instrument in date is coarser, so {needed}."
    return f"{lack.measures}: no instrument in date measures it, so {needed}."


# --- bays ----------------------------------------------------------------------------------------


def _bays(page: ShopPage) -> Section:
    bays = page.bays
    quiet = _rest(bays.rest, len(bays.due), "bay", f"surveyed and {_not_due(page)}")
    return Section("Bays to survey", tuple(map(_bay, bays.due)), quiet=quiet)


def _bay(bay: BayDue) -> Row:
    name = f"{bay.title} ({bay.bay})" if bay.title != bay.bay else bay.bay
    until = f"the floor survey of {bay.surveyed} counts until {bay.until}"
    match bay.why:
        case "never":
            return Row(
                "no survey", f"{name}: its floor was never surveyed, so each job has to measure it.", "doubt"
            )
        case "past":
            return Row(
                "past due",
                f"{name}: the floor survey of {bay.surveyed} counted until {bay.until}, {_ago(-bay.days)}.",
            )
        case "soon":
            return Row("due soon", f"{name}: {until}, {_ahead(bay.days)}.", "doubt")
        case "unread":
            return Row("cannot be read", _short(bay.told))
        case _:
            return Row("does not count", f"{name}: {_short(bay.told)}")


# --- sheets --------------------------------------------------------------------------------------


def _sheets(page: ShopPage) -> Section:
    sheets = page.sheets
    never = [s for s in sheets.due if s.why == "never"]
    rows = [_sheet(s, sheets.after) for s in sheets.due if s.why != "never"]
    if never:
        names = listed([s.sheet for s in never], IDS)
        rows.append(
            Row("not compared", f"{count(len(never), 'sheet')} ({names}) without the day of the last comparison: compare "
                "with the document, then write the day as 'checked' under 'document'.", "doubt")
        )  # fmt: skip
    so = f"in order: compared in the last {sheets.after} days"
    quiet = _rest(sheets.rest, len(sheets.due), "sheet", so)
    return Section("Sheets to compare with their document", tuple(rows), quiet=quiet)


def _sheet(sheet: SheetDue, after: int) -> Row:
    name = f"{sheet.title} ({sheet.sheet})"
    match sheet.why:
        case "older":
            return Row("older", f"{name}: last compared on {sheet.checked}, and its document {sheet.reference} was "
                       f"issued later, on {sheet.issued}.")  # fmt: skip
        case "other document":
            jobs = f"in {listed(sheet.jobs, IDS)}"
            return Row(
                "other document",
                f"{name}: written from {sheet.reference}, but {jobs} the document at hand was {sheet.named}.",
            )
        case "to come":
            return Row("wrong date", f"{name}: compared on {sheet.checked}, which is still to come.")
        case "unread":
            return Row("cannot be read", _short(sheet.told))
        case _:
            return Row("long ago", f"{name}: last compared on {sheet.checked}, {_ago(sheet.days)}; that is due after {after} days.",
                       "doubt")  # fmt: skip


# --- jobs ----------------------------------------------------------------------------------------


def _jobs(page: ShopPage) -> Section:
    jobs, weeks = page.jobs, _weeks(page)
    if jobs.problem:
        return Section("Jobs", (Row("cannot be read", _short(jobs.problem)),))
    rows = [
        _group(jobs.lapsed, "lapsed", "a go is over, and no result was read under it", "bad"),
        _group(jobs.untouched, "left open", f"untouched for more than {count(page.idle, 'day')}", "doubt"),
        _group(jobs.unread, "cannot be read", "'readiness jobs' says why", "bad"),
    ]  # fmt: skip
    over = [
        _group(jobs.without_go, "without a go", f"ended so in the last {weeks}", "quiet"),
        _group(jobs.waivers, "with waivers", f"go with a check set aside, in the last {weeks}", "quiet"),
    ]
    total = f"{count(jobs.all, 'job')} in all, {jobs.open} of them open."
    none = (
        ()
        if any(over)
        else (f"In the last {weeks} none ended without a go, and none had a go with waivers.",)
    )
    shown = tuple(row for row in (*rows, *over) if row is not None)
    return Section("Jobs", shown, quiet=("There is no job yet.",) if not jobs.all else (*none, total))


def _group(ids: Sequence[str], word: str, what: str, colour: str) -> Row | None:
    if not ids:
        return None
    return Row(word, f"{count(len(ids), 'job')}: {listed(ids, IDS)}; {what}.", colour)


# --- what was in the way -------------------------------------------------------------------------


def _reasons(page: ShopPage) -> Section:
    found, title = page.reasons, f"In the way of a go, last {_weeks(page)}"
    if not found.jobs:
        return Section(title, quiet=(f"No job was worked on in the last {_weeks(page)}.",))
    if not found.checks:
        jobs = "the one job" if found.jobs == 1 else f"the {found.jobs} jobs"
        return Section(title, quiet=(f"Nothing was in the way of a go in {jobs}.",))
    return Section(title, bars=tuple(_bars(found)), quiet=tuple(_about(found)))


def _bars(found: Reasons) -> Iterator[Bar]:
    for reason in found.checks[:BARS]:
        of_these = ((reason.too_close, "close"), (reason.put_right, "put right"))
        more = ", ".join(f"{n} {how}" for n, how in of_these if n)
        said = f"{reason.jobs} of {count(found.jobs, 'job')}{f' ({more})' if more else ''}"
        yield Bar(reason.title, reason.jobs, reason.failed, found.jobs, said)


def _about(found: Reasons) -> Iterator[str]:
    if len(found.checks) > BARS:
        yield f"{count(len(found.checks) - BARS, 'other check')} less often."
    if found.parts:
        often = (f"{p.part} ({p.title}, {count(p.jobs, 'job')})" for p in found.parts[:PARTS])
        yield f"Most often wrong: {'; '.join(often)}."
    close = any(r.too_close for r in found.checks)
    put_right = any(r.put_right for r in found.checks)
    yield (
        f"Something was in the way in {found.in_the_way} of {count(found.jobs, 'job')}. A check counts once a job, if something "
        "of it was wrong before it was put right or when the job was left; what was put right on the way counts, for it took "
        "time, and what was only not done yet does not."
        + (" Close: too close to call." if close else "")
        + (" Put right: before it could be judged." if put_right else "")
    )


# --- no floors, no zeros -------------------------------------------------------------------------


def _no_floors(page: ShopPage) -> tuple[str, ...]:
    return () if page.floors else ("No bay was surveyed twice.",)


def _no_zeros(page: ShopPage) -> tuple[str, ...]:
    return () if page.zeros else ("No level was read both ways round, so nothing shows its zero.",)


# --- small words ---------------------------------------------------------------------------------


def _rest(rest: int, named: int, noun: str, so: str) -> tuple[str, ...]:
    """'3 other bays are so.', 'All 4 bays are so.', 'There are no bays.'; nothing where all were named."""
    if not rest:
        return () if named else (f"There are no {noun}s.",)
    verb = "is" if rest == 1 else "are"
    other = f"{rest} other {noun if rest == 1 else f'{noun}s'} {verb}"
    alone = f"The only {noun} is" if rest == 1 else f"All {rest} {noun}s are"
    return (f"{other if named else alone} {so}.",)


def _not_due(page: ShopPage) -> str:
    return f"not due within {count(page.within, 'day')}" if page.within else "not due today"


def _weeks(page: ShopPage) -> str:
    return "week" if page.weeks == 1 else f"{page.weeks} weeks"


def _ago(days: int) -> str:
    return f"{count(days, 'day')} ago" if days < MANY_DAYS else f"{days / 365.25:.0f} years ago"


def _ahead(days: int) -> str:
    return "today" if not days else "tomorrow" if days == 1 else f"in {days} days"


def _and(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _short(told: str) -> str:
    """The first line of what may be many; lint tells them all."""
    first, *more = [line for line in told.splitlines() if line.strip()] or ["it says nothing"]
    cut = first if len(first) <= LONGEST_TOLD else f"{first[: LONGEST_TOLD - 1].rstrip()}…"
    return f"{cut} ({len(more)} more; 'readiness lint' tells them.)" if more else cut
