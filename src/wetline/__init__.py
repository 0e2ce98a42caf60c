"""Wetline plans, checks and briefs a day's aerial attack on a wildfire.

A planning aid: crew, aerial supervisor and incident command decide; local rules prevail.
"""

__version__ = "0.1.0"
__all__ = ["__version__"]
