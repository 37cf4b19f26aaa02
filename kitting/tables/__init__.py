"""Every table, one module per family; `kitting.tables.all` has them all.

A command that reads maps only the families whose modules it imports.
"""
