"""One watch over all that is measured: horses against themselves, their barn, their device and the yard's day."""
