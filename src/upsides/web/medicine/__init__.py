"""Medicines, vaccinations, contacts."""
