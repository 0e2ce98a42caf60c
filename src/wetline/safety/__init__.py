"""Checks of any plan: pure functions that return findings."""
