"""Horses entered and changed, boxes, moves."""
