"""The invented incident: terrain, water, fuels, weather, a fire and a fleet from a seed."""
