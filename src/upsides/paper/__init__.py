"""Printed sheets: values in, a PDF out. Every word on them is the caller's, so that it can be in his language."""
