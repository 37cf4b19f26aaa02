"""Texts in other languages: a catalogue per language, compiled when the program is built."""
