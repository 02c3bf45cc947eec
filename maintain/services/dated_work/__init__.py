"""Work that is due by date or by count, whatever the odds: one module a source, put in order by `gather`."""
