"""From the load to the ground: pattern, line by coverage level, drift, danger below, hold."""
