"""Where to fill: scoop lanes, each proved clear, and dip sites."""
