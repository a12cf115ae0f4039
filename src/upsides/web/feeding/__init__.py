"""Rations, feed boards, feed in store."""
