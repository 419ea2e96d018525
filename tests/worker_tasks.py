"""What the tests of the workers give other processes to do; nothing here asserts."""

import os
import signal
import time
from pathlib import Path

from interpass.text.errors import CatalogueError


def square(x):
    return x * x


def refuse_odd(x):
    if x % 2:
        msg = f"{x} is odd"
        raise CatalogueError(msg)
    return x


def break_on_three(x):
    return 1 / (x - 3)


def die_on_five(x):
    if x == 5:
        os.kill(os.getpid(), signal.SIGKILL)
    return x


def die_once(item):
    """Item is a number and a file that says whether a process died already."""
    x, path = item
    if x == 7 and not Path(path).exists():
        Path(path).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return x


def slow_square(x):
    time.sleep(0.05)
    return x * x, os.getpid()


def threads(_):
    return os.environ.get("NUMBA_NUM_THREADS"), os.environ.get("OMP_NUM_THREADS")
