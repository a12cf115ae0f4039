"""Results drawn as charts with one theme, for page and paper."""
