"""``python -m interpass``: the program, as the command of that name."""

import sys

from .commands.app import main

if __name__ == "__main__":
    sys.exit(main())
