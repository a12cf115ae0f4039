"""Plans with proofs: the lots of a morning."""
