"""Use cases: one function per thing a person can ask. Files and physics meet only here."""
