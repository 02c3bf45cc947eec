"""The schema this program writes, as a constant: no command imports alembic to compare it. A test keeps it true."""

HEAD = "0015"
