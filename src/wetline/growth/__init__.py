"""Where the fire is when: arrival times, fronts, the edge and its parts."""
