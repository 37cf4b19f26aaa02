"""Every table, one module per family; `kitting.tables.every` has them all.

A command that reads maps only the families whose modules it imports.
"""
