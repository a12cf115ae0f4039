"""Long work, done by a worker and never by a web process."""
