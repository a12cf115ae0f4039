"""The mornings of the horses that wear trackers: files of some, what was measured of others."""
