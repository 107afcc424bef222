"""The rooms of a catalogue's stewards: what is offered, what was relabelled, what is wanted, doubted and alike."""

from drillhall.web.curating import credited, curating, doubts, labels, offers, shortcuts, twins, wanted
from drillhall.web.curating.room import blueprint

__all__ = ["blueprint", "credited", "curating", "doubts", "labels", "offers", "shortcuts", "twins", "wanted"]
