"""Which trip: one curve a horse from all its evidence."""
