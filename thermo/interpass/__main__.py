"""``python -m interpass``: the program ``interpass``."""

import sys

from .commands.app import main

if __name__ == "__main__":
    sys.exit(main())
