"""Rows: what a checked catalogue says, as rows of each table, references already resolved."""
