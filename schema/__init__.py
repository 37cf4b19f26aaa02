"""Migrations of the database. `HEAD` is the newest revision; a test compares it with the scripts."""

HEAD = "0001"
