"""Which trip: one horse's best distance, why, and what would tell more; and gene tests."""
