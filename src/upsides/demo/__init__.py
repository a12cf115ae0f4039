"""An invented yard simulated from known truth."""

from upsides.demo.invented import Invented, simulate
from upsides.demo.rulebook import rulebook
from upsides.demo.yard import Yard

__all__ = ["Invented", "Yard", "rulebook", "simulate"]
