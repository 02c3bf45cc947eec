"""Use-cases of the day of a battle."""
