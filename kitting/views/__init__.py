"""Frozen results that screen, JSON and paper share, one module per family.

Amounts are whole thousandths of the named unit (`each`, `ml`, `g`, `mm`); hours are whole
thousandths of an hour; dates are ISO 8601 in JSON. The field names are the keys of the JSON
output and are documented in kitting/guide/json.md: changing one is a breaking change.
"""
