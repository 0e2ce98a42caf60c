"""The signs of findings as small SVG pictures, black on white, told apart by shape alone."""

from __future__ import annotations

__all__ = ["GLYPHS"]

_SHAPES = {
    "stop": '<path d="M6.3 1h7.4L19 6.3v7.4L13.7 19H6.3L1 13.7V6.3Z"/><path d="M5.5 10h9" stroke="#fff" stroke-width="3"/>',
    "block": '<path d="M10 .4 19.6 10 10 19.6 .4 10Z"/><path d="M5.2 10h9.6" stroke="#fff" stroke-width="3"/>',
    "unknown": (
        '<path d="M10 .9 19.1 10 10 19.1 .9 10Z" fill="#fff" stroke="#000" stroke-width="1.8" stroke-dasharray="3.2 1.8"/>'
        '<path d="M7.4 8.1c0-3.4 5.3-3.3 5.3-.2 0 2-2.6 2-2.6 4M10.1 13.6v1.6" fill="none" stroke="#000" stroke-width="2"/>'
    ),
    "caution": (
        '<path d="M10 1.6 19.2 18.4H.8Z" fill="#fff" stroke="#000" stroke-width="1.8" stroke-linejoin="round"/>'
        '<path d="M10 7.2v5.4M10 14.6v2" stroke="#000" stroke-width="2.2"/>'
    ),
    "noted": '<circle cx="10" cy="10" r="4.4"/>',
    "none": '<circle cx="10" cy="10" r="7.6" fill="#fff" stroke="#000" stroke-width="2"/>',
    "confirmed": (
        '<circle cx="10" cy="10" r="9"/>'
        '<path d="M5.6 10.3l3.1 3.2 5.8-6.4" fill="none" stroke="#fff" stroke-width="2.4"/>'
    ),
}
GLYPHS: dict[str, str] = {
    name: f'<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20" viewBox="0 0 20 20">{shape}</svg>'
    for name, shape in _SHAPES.items()
}
"""By name; `confirmed` is one person's word that people are clear of one drop, and nothing else."""
