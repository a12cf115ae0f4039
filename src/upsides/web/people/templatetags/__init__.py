"""Parts of the pages about people."""
