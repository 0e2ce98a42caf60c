"""How fast and how hard the fire spreads: rate, direction, shape, intensity, flame length."""
