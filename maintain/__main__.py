"""Run the program: `maintain` or `python -m maintain`."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from maintain.cli.app import app

    app(prog_name="maintain")


if __name__ == "__main__":
    main()
