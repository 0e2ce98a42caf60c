"""Published tables, as printed, each beside its provenance. One number lives in one place."""

from wetline.tables.load import Provenance, Table, load, names

__all__ = ["Provenance", "Table", "load", "names"]
