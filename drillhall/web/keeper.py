"""The keeper's pages: the state of the hall, its people, and who may join."""

from __future__ import annotations

from typing import Final

from flask import Blueprint

blueprint: Final = Blueprint("keeper", __name__, url_prefix="/hall")
