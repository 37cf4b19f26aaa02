"""Rows as entries of a catalogue file again: the way back of `kitting.services.catalogue.rows`."""
