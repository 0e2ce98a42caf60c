"""The incident folder: read, checked and written."""
