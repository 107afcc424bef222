"""Counts mix-ups and says what the counts bear: rates, intervals, sensitivity, calibration; it never looks at the scheduler."""

from drillhall.core.confusion.certainty import Brier, CalibrationLine, Forecast, brier, calibration
from drillhall.core.confusion.detection import Sensitivity, forced_choice_sensitivity, log_linear, sensitivity, told_apart
from drillhall.core.confusion.mixups import decayed, directions, first_share, mixup_rate, prior_rate, week_of, weeks_between
from drillhall.core.confusion.proportions import corrected_proportion, guessing, posterior_mean, wilson
from drillhall.core.values import Misses

__all__ = [
    "Brier",
    "CalibrationLine",
    "Forecast",
    "Misses",
    "Sensitivity",
    "brier",
    "calibration",
    "corrected_proportion",
    "decayed",
    "directions",
    "first_share",
    "forced_choice_sensitivity",
    "guessing",
    "log_linear",
    "mixup_rate",
    "posterior_mean",
    "prior_rate",
    "sensitivity",
    "told_apart",
    "week_of",
    "weeks_between",
    "wilson",
]
