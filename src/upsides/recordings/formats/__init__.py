"""Readers, one folder a format, and what they share: text, XML, columns."""
