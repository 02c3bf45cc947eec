"""The club's spares: counted, bought, issued, lent, owed, scrapped, and looked at."""
