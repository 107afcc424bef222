"""All words that people read: said in English where they arise, told in the reader's language where she reads them."""

from drillhall.words.said import Said, joined, listed, say, say_n
from drillhall.words.speaking import LANGUAGES, speak, speaking

__all__ = ["LANGUAGES", "Said", "joined", "listed", "say", "say_n", "speak", "speaking"]
