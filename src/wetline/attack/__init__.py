"""Tactics, rollouts of drops against the growing fire, the plan."""
