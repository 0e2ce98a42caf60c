"""Compiled loops of the search for lanes: numbers in, numbers out, no errors raised here.

`search` calls `chords`, `stations` and `proof` in turn for each heading. A compiled function is cached
by the file that holds it, and would not notice a change in another: after a change remove the caches.
"""
