"""Which bay can take a car: where to park it, which way round, what binds, and what would have to change."""

from readiness.bayfit.found import BayFit, Binding, Chalk, Direction, Fit, Mode, Need, Tape
from readiness.bayfit.search import bay_fit, modes_of

__all__ = ["BayFit", "Binding", "Chalk", "Direction", "Fit", "Mode", "Need", "Tape", "bay_fit", "modes_of"]
