"""Mail, as its readers meet it: where one is reached, and the links in letters."""

from drillhall.web.mail import addresses, links
from drillhall.web.mail.room import blueprint

__all__ = ["addresses", "blueprint", "links"]
