"""Migrations of the database. `HEAD` is the newest revision; a test holds it to the scripts."""

HEAD = "0041"
