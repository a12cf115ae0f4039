"""An invented yard simulated from known truth."""

from upsides.demo.rulebook import rulebook
from upsides.demo.season import Invented, simulate

__all__ = ["Invented", "rulebook", "simulate"]
