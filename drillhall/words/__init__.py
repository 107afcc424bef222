"""All words that people read: said in English where they arise, told in the reader's language where she reads them."""

from drillhall.words.said import Said, joined, listed, say, say_n, within
from drillhall.words.speaking import speak, speaking

__all__ = ["Said", "joined", "listed", "say", "say_n", "speak", "speaking", "within"]
