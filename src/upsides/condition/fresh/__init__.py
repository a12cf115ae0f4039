"""Is it fresh? Each sign beside the horse's own past, and what was not measured."""
