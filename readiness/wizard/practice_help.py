"""What F1 says of practice's own pages."""

from __future__ import annotations

from readiness.wizard.page_help import PageHelp

CALL = PageHelp(
    why="At a real car nobody says whether a reading is good before you act on it. So here you speak first: pass, fail "
    "or too close for each check, then go or no-go for each side, and only then does the program say what it found.",
    how="Every check that is yours to call is listed. A number goes to one that is not called yet; Ctrl+K in its step "
    "calls it. g says go, n says no-go. No-go may be said as soon as you know it.",
    mistakes=(
        "Saying pass because the number looks familiar: the limit and the uncertainty decide.",
        "Calling everything a fail to be safe. A car sent away for nothing is a mistake too.",
        "Too close is for what your best instrument cannot tell, not for what was not looked at.",
    ),
    keys="g go · n no-go · Enter or a number goes to what is not called · Esc back",
)
REVIEW = PageHelp(
    why="What was true of this car and this bay, and what your calls were worth: caught, missed, right, or a false alarm.",
    how="What was missed stands first. Page up goes through the steps, where the program now shows what it found of your "
    "own answers. Enter takes the next car.",
    mistakes=("Three right calls in a row are luck as easily as skill; the score says how sure one can be.",),
    keys="Enter the next car · PgUp look through it · Esc back to where practice begins",
)
FORM = """Enter looks: what the instrument shows stands in the field, and Enter again keeps it
? looks once more, or reads the instrument once more · arrows go up and down · PgUp and PgDn change the step
F2 note · F3 how you know it · F4 instrument · F5 take back the last reading · F8 metric or US units
Ctrl+K calls this step, or calls it anew · F10 your calls, then go or no-go
Ctrl+R the record: what you answered, and when · Ctrl+L the plan over the whole screen"""
PRACTICE = (
    "A car and a bay are made up, with hidden faults or without. You look, read instruments, and say pass, fail or too "
    "close to call, then go or no-go, before the program does. Then it tells what was true.\n\n"
    "Each instrument has a true error of its own, within what it states, and shows steps; so has each simulated hand. "
    "Some cars have nothing wrong at all, and some things are so near a limit that too close is the right call.\n\n"
    "c takes a car by its number: with the same level and sheet it is the same one for everybody, so that two people can "
    "be compared. s picks the sheet. Results are kept under your name in the shop's folder 'practice', never among its "
    "jobs; 'readiness practise --scores' prints them.\n\n"
    "Practice is no licence: the vehicle maker's procedure and who answers for the car come first."
)
