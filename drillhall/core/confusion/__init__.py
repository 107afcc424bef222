"""Counts mix-ups and says what the counts bear: rates, intervals, sensitivity, calibration; it never looks at the scheduler."""

from drillhall.core.confusion.certainty import Brier, CalibrationLine, Forecast, brier, calibration
from drillhall.core.confusion.change import Change, Difference, WeekOfAnswers, change_of, difference, weeks_until
from drillhall.core.confusion.detection import Sensitivity, forced_choice_sensitivity, log_linear, sensitivity, told_apart
from drillhall.core.confusion.expecting import Expected, prior_rate
from drillhall.core.confusion.halving import YearKey, YearSum, sum_years, weight_in_year, worth_of_year
from drillhall.core.confusion.looking import Failing, Prompted, what_fails
from drillhall.core.confusion.matrix import FEW_SHOWN, AnswerSum, Cell, Matrix, count_cells, lay_out
from drillhall.core.confusion.mixups import (
    decayed,
    direction_of,
    directions,
    first_share,
    mixup_rate,
    span_of,
    week_of,
    weeks_between,
)
from drillhall.core.confusion.proportions import guessing, wilson
from drillhall.core.confusion.seriation import seriate
from drillhall.core.confusion.teaching import Lesson, teach_next
from drillhall.core.values import Misses

__all__ = [
    "FEW_SHOWN",
    "AnswerSum",
    "Brier",
    "CalibrationLine",
    "Cell",
    "Change",
    "Difference",
    "Expected",
    "Failing",
    "Forecast",
    "Lesson",
    "Matrix",
    "Misses",
    "Prompted",
    "Sensitivity",
    "WeekOfAnswers",
    "YearKey",
    "YearSum",
    "brier",
    "calibration",
    "change_of",
    "count_cells",
    "decayed",
    "difference",
    "direction_of",
    "directions",
    "first_share",
    "forced_choice_sensitivity",
    "guessing",
    "lay_out",
    "log_linear",
    "mixup_rate",
    "prior_rate",
    "sensitivity",
    "seriate",
    "span_of",
    "sum_years",
    "teach_next",
    "told_apart",
    "week_of",
    "weeks_between",
    "weeks_until",
    "weight_in_year",
    "what_fails",
    "wilson",
    "worth_of_year",
]
