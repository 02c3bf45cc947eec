"""From records to lives: what happened to every part, on the clock that is asked for."""
