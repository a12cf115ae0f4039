"""Pedigrees of the yard's horses."""
