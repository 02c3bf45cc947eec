"""A club's own spreadsheet, in whatever layout it keeps: from its cells to rows of our own files."""
