"""What was found, as plain data: readings and events of a job; sheet, bay, instruments, shop.

Numbers are floats in the unit that their type names (`Metre`, `Kilopascal`, ...); in files they are
text with a unit, and the loader converts. Axes of a car: ISO 8855, x forward, y left, z up; the
origin lies on the floor in the middle of the rear axle.
"""

from readiness.job.bay import (
    Bay,
    Corridor,
    Disc,
    HeightBand,
    Instrument,
    Instruments,
    LevelRun,
    Mark,
    Obstacle,
    Place,
    Point,
    Reason,
    Rectangle,
    Sector,
    Segment,
    Shop,
    Signing,
    Standing,
    Survey,
    SurveyPoint,
    Taped,
    Zone,
)
from readiness.job.found import Attached, Ended, Event, Fix, Job, Reading, Value, Waiver
from readiness.job.sheet import (
    AimTolerance,
    AxleLoads,
    Axles,
    Carried,
    Dimensions,
    Document,
    Fuel,
    Load,
    Marks,
    Origin,
    Placard,
    Pressures,
    Result,
    RideHeights,
    Sensor,
    Sheet,
    Springs,
    Station,
    Tape,
    Target,
)
from readiness.job.words import (
    VOID_EVENTS,
    WHEEL_NAMES,
    WHEELS,
    Degree,
    Evidence,
    Fraction,
    Kilogram,
    Kilopascal,
    LaterTyped,
    Litre,
    Lux,
    Metre,
    Millimetre,
    Minute,
    Outcome,
    Side,
    Slope,
    Spring,
    System,
)

__all__ = [
    "VOID_EVENTS", "WHEELS", "WHEEL_NAMES", "AimTolerance", "Attached", "AxleLoads", "Axles", "Bay", "Carried",
    "Corridor", "Degree", "Dimensions", "Disc", "Document", "Ended", "Event", "Evidence", "Fix", "Fraction",
    "Fuel", "HeightBand", "Instrument", "Instruments", "Job", "Kilogram", "Kilopascal", "LaterTyped",
    "LevelRun", "Litre", "Load", "Lux", "Mark", "Marks", "Metre", "Millimetre", "Minute", "Obstacle", "Origin",
    "Outcome", "Placard", "Place", "Point", "Pressures", "Reading", "Reason", "Rectangle", "Result", "RideHeights",
    "Sector", "Segment", "Sensor", "Sheet", "Shop", "Side", "Signing", "Slope", "Spring", "Springs", "Standing", "Station",
    "Survey", "SurveyPoint", "System", "Tape", "Taped", "Target", "Value", "Waiver", "Zone",
]  # fmt: skip
