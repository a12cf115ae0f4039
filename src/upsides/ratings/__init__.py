"""What each run was worth: figures, levels, sections, chances."""
