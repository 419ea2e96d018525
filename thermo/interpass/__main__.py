"""``python -m interpass``, and the program ``interpass``: Ctrl-C while it loads is no traceback."""

import gc
import sys


def main() -> int:
    """Load the program and run it; return its exit status."""
    gc.set_threshold(50_000)  # loading makes many objects, and no cycles to look for
    try:
        from .commands.app import main as run  # noqa: PLC0415 - loading is inside the try

        return run()
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped by Ctrl-C.\n")
        return 130


if __name__ == "__main__":
    sys.exit(main())
