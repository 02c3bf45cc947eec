"""After a sinking: what to do in which order, what was found of every part, and when it is tried again."""
