"""What the use-cases return: frozen dataclasses of plain values, made by services and core, shown by render."""
