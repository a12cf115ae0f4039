"""Tables of the yard's own, read: which file, which columns, what each row says. Nothing here writes to the books."""
