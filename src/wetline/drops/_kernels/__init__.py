"""Compiled loops of the droplet model: plain scalars and contiguous arrays, SI throughout."""
