"""Compiled loops of growth: numbers in, numbers out, no errors raised here.

Each module stands alone but for the constants of `layout`: a compiled function is cached by the file
that holds it, and would not notice a change in another. After a change of `layout`, remove the caches.
"""
