"""What F1 says of a page that has no question of its own: what it is for, how to use it, usual mistakes, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content

from readiness.checks.finding import Visit
from readiness.wizard.pages import Piece


@dataclass(frozen=True, slots=True)
class PageHelp:
    """One page, for whoever sees it for the first time."""

    why: str
    how: str
    mistakes: Sequence[str]
    keys: str


GO = PageHelp(
    why="Sensor and target are only worth aligning where car and bay are as the procedure wants them, now. This page "
    "says for each side whether they are, until when, and if not, what to do first.",
    how="GO: every check passed and still holds. GO WITH WAIVERS: all else passed, and somebody set a check aside; "
    "whether to calibrate like that is for whoever answers for the car. NO-GO: something is wrong, too close to call, "
    "lapsed or not done. Work from the top: the order is such that nothing has to be done twice.",
    mistakes=(
        "Taking a go for a calibration. It says that you may begin.",
        "Beginning when the time left is shorter than the calibration takes.",
    ),
    keys="Enter or a number goes to what is to be done · once there is a go, Enter or w watches its time and r asks for "
    "the result · F9 something happened · Ctrl+R what was read more than once, put right or taken back",
)
WATCH = PageHelp(
    why="A go lasts until the first of its checks lapses, or until something happens that undoes one: a door, a "
    "person on a seat, a lamp. Then the car is no longer as it was found, and nobody can see that afterwards.",
    how="Calibrate with this page in sight. The figures are the time left; under them stands what lapses first. When "
    "something on the list happens, press its key at once: the time is kept, and only what it undid is asked again. "
    "Enter leads there, and back here once all is answered. The terminal rings when a go is about to end, and when it "
    "has ended. When the tester is done, r asks for its result.",
    mistakes=(
        "Leaning into the car for the tester and not saying so: that is g.",
        "Finishing a calibration after its go has ended. The report will say so.",
        "Waiting with the other side until everything has to be read again.",
    ),
    keys="r the result · Enter what is open or lapses first · o the other side too · Ctrl+Z takes the last event back · "
    "Ctrl+E the end of the job · Ctrl+P every key · Esc the go / no-go page",
)
END = PageHelp(
    why="What stands here will stand on paper: how each side stood when its result was read, what is open, what came "
    "after the calibration, what was set aside. It is kept line by line already; ending the job says that no more comes.",
    how="Attach photos and printouts with a: drag the file onto this window or type its path. It stays where it is; the "
    "job keeps its path and a hash of its content, so that a changed file is noticed. p writes the report. e ends the "
    "job. Where something is open or wrong, it asks why it ends like that, and the report says so.",
    mistakes=(
        "Ending it before the fault scan and the road test are in.",
        "Moving or editing a photo once it is attached.",
        "Keeping the job open for days: whoever looks for open work finds it again and again.",
    ),
    keys="e ends it · a attaches a file, x takes one back · p writes the report · Enter what is open · o the other side "
    "too · once it has ended, g goes on with it, with a reason · Ctrl+R the record",
)


def page_help(page: PageHelp, visit: Visit) -> Content:
    """What a page is for, then the cautions of the checklist."""
    pieces: list[Piece] = [("What it is for\n", "bold"), (f"{page.why}\n", "")]
    pieces += [("\nHow\n", "bold"), (f"{page.how}\n", "")]
    pieces += [("\nUsual mistakes\n", "bold"), *((f"• {m}\n", "") for m in page.mistakes)]
    pieces += [("\nKeys\n", "bold"), (f"{page.keys}\n", "")]
    pieces += [("\nCautions\n", "bold"), *((f"• {c.strip()}\n", "") for c in visit.checklist.cautions)]
    return Content.assemble(*pieces)
