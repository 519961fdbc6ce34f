"""The book of the build: the car as built, gathered once for paper and page.

Only what is on the car and in its record stands in it. What is planned is listed apart, by title
alone, and no figure of the book rests on it.
"""

from drybuild.examine.book.book import Book, make_book
from drybuild.examine.book.fingerprint import Imprint, fingerprint, imprint, names_folder
from drybuild.examine.book.identity import BuiltPart, Fact
from drybuild.examine.book.limits import Limit
from drybuild.examine.book.papers import Papers
from drybuild.examine.book.readings import Taken
from drybuild.examine.book.rules import RulesRead

__all__ = [
    "Book",
    "BuiltPart",
    "Fact",
    "Imprint",
    "Limit",
    "Papers",
    "RulesRead",
    "Taken",
    "fingerprint",
    "imprint",
    "make_book",
    "names_folder",
]
