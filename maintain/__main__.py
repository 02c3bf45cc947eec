"""Run the program: `maintain` or `python -m maintain`."""

from __future__ import annotations

import gc
import os


def main() -> None:
    """Run the command line."""
    # Starting up makes many objects and hardly any garbage: looking for it took a tenth of the time of a short command.
    gc.set_threshold(100_000)
    # The matrices of a club are small: a second thread costs more than it saves (1 s against 17 s on a busy machine).
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

    from maintain.cli.app import app

    app(prog_name="maintain")


if __name__ == "__main__":
    main()
