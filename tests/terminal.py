"""A person at a terminal, for tests of what asks for single keys."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import termios
from collections.abc import Sequence
from pathlib import Path

from tests.conftest import TODAY

ASKED = b"q pause]"  # ends the line in which a walk offers its keys


def walked(club: Path, words: Sequence[str], keys: Sequence[tuple[bytes, bytes]]) -> tuple[int, bytes]:
    """Run the program at a terminal and press each key once what it waits for was said; exit code, and all it said."""
    ours, theirs = pty.openpty()
    command = [Path(sys.executable).with_name("maintain"), *words, "--on", str(TODAY)]
    env = {**os.environ, "MAINTAIN_DB": str(club), "NO_COLOR": "1", "TERM": "dumb"}
    said = b""
    with subprocess.Popen(command, stdin=theirs, stdout=subprocess.PIPE, stderr=theirs, env=env) as program:
        os.close(theirs)
        for waits_for, key in keys:
            said += _pressed(ours, waits_for, key)
        program.communicate(timeout=60)
    os.close(ours)
    return program.returncode, said


def _pressed(terminal: int, waits_for: bytes, key: bytes) -> bytes:
    """Wait until the program has asked and reads single keys, press one, and return what was said before."""
    said = b""
    while waits_for not in said:
        said += os.read(terminal, 4096)
    while termios.tcgetattr(terminal)[3] & termios.ICANON:
        pass
    os.write(terminal, key)
    return said
