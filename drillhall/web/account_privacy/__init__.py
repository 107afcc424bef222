"""What is kept about somebody, to take along or to erase: by herself, by her teacher, by the keeper."""

from drillhall.web.account_privacy import hall, own, pupils
from drillhall.web.account_privacy.room import blueprint

__all__ = ["blueprint", "hall", "own", "pupils"]
