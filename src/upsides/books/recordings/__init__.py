"""Files of recordings beside the books: kept, read and measured, by any process and without the books themselves."""
