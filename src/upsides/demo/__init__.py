"""An invented yard simulated from known truth."""

from upsides.demo.invented import Invented, simulate
from upsides.demo.rulebook import rulebook
from upsides.demo.yard import Yard
from upsides.demo.yardbooks import Books, books_of

__all__ = ["Books", "Invented", "Yard", "books_of", "rulebook", "simulate"]
