"""What may be done with a picture, and the credit that it asks for.

A cautious reading aid, not legal advice: local law and the text of the licence decide.
"""

from drillhall.core.rights.changing import consequences
from drillhall.core.rights.checking import check_entry, check_rights, lacking
from drillhall.core.rights.credits import ALTERED_WORDS, altered_words, credit_line, licence_name, maker_line, short_credit
from drillhall.core.rights.judging import columns, may
from drillhall.core.rights.values import ASKED, COVERED_BY, DATA_MINING, Purpose, Rights, RightsColumns, Verdict

__all__ = [
    "ALTERED_WORDS",
    "ASKED",
    "COVERED_BY",
    "DATA_MINING",
    "Purpose",
    "Rights",
    "RightsColumns",
    "Verdict",
    "altered_words",
    "check_entry",
    "check_rights",
    "columns",
    "consequences",
    "credit_line",
    "lacking",
    "licence_name",
    "maker_line",
    "may",
    "short_credit",
]
