"""Files of spreadsheet programs, by the ends of their names."""

from __future__ import annotations

XLSX = ".xlsx"
OTHER_SPREADSHEETS = frozenset({".ods", ".xls", ".xlsb", ".xlsm", ".xltx"})
SAVE_AS_XLSX = "In the spreadsheet program save it as .xlsx"
