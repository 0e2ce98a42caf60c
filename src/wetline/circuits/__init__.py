"""Fill-fly-drop cycles, drop runs, the day: loads with their times."""
