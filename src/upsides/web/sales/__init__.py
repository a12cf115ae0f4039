"""Sales: their lists, the shortlist, and what was seen of a lot."""
