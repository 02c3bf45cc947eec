"""How many spares to hold: what is called for, what running out costs, and the best use of money."""
