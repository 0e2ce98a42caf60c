"""The command line: parse, ask `app`, render."""
