"""Work that comes round and promises: recorded, taken over from the trade, done, and how it stands."""
