"""What is handed over: sheets, maps, exports."""
