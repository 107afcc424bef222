"""The rooms of pictures: their bytes, and everybody's own."""

from drillhall.web.pictures import adding, sending
from drillhall.web.pictures.room import blueprint

__all__ = ["adding", "blueprint", "sending"]
