"""The yard's tables given out, to be read by people and spreadsheets."""
