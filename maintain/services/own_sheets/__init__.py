"""A club's own spreadsheets: shown as they would be read, imported once agreed, remembered by their headings."""
