"""What people type <-> quantities, and quantities -> what people read.

`quantities` reads what was typed, `showing` says what is kept, `divisions` readings of a vial, `tape` lengths for a tape, `typed` the grammar of a typed number,
`names` the units and their spellings with Pint behind them, `units.txt` the one registry's unit file.
"""

from readiness.units.divisions import in_divisions, undivided
from readiness.units.quantities import (
    MEASURES,
    UnitsError,
    accuracy,
    compatible,
    completed,
    convert,
    parse,
    parse_written,
    prepare,
    unit_of,
)
from readiness.units.showing import System, entry_unit, label, number, show
from readiness.units.tape import tape

__all__ = [
    "MEASURES",
    "System",
    "UnitsError",
    "accuracy",
    "compatible",
    "completed",
    "convert",
    "entry_unit",
    "in_divisions",
    "label",
    "number",
    "parse",
    "parse_written",
    "prepare",
    "show",
    "tape",
    "undivided",
    "unit_of",
]
