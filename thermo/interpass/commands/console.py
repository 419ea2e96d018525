"""The terminal: results on stdout, progress and remarks on stderr, for ``app`` alone."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from shutil import get_terminal_size
from time import monotonic
from typing import TextIO
from warnings import catch_warnings, simplefilter

from ..text.errors import CatalogueError, ExitStatus
from ..text.files import forget_inputs
from ..text.layout import NARROWEST, WIDTH
from ..text.records import plain_text

SLOW = 1.0  # s before progress is shown


def terminal_width() -> int:
    """Characters of a line: those of the terminal, from 60 to 80; 80 where there is none."""
    columns = get_terminal_size((WIDTH, 24)).columns
    return min(max(columns, NARROWEST), WIDTH)


def open_missing() -> None:
    """Open the streams the program was started without; what goes there is lost."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            stream = os.fdopen(os.open(os.devnull, os.O_RDWR), mode)
            setattr(sys, name, stream)


def tell(text: str) -> None:
    """Write to stderr at once; a terminal that has gone away is no error."""
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:
        _give_up(sys.stderr)


def _give_up(stream: TextIO) -> None:
    """Lose what a stream still holds: Python flushes it once more at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


@dataclass
class Talk:
    """What is said on stderr while a command runs."""

    quiet: bool = False
    verbose: bool = False
    force: bool = False  # files of others may be replaced
    began: float = field(default_factory=monotonic)
    doing: str = "reading the case"
    written: int = 0  # files
    has_line: bool = False  # a line of progress stands on the terminal

    def say(self, words: str) -> None:
        """Write one line, unless told to be quiet."""
        if not self.quiet:
            self.clear()
            tell(plain_text(words) + "\n")

    def detail(self, words: str) -> None:
        """Write how the solver went, where that was asked for."""
        if self.verbose:
            self.say(words)

    def progress(self, share: float, what: str) -> None:
        """Show how far the run is: on a terminal, once it takes long."""
        self.doing = what
        slow = monotonic() - self.began > SLOW
        if slow and not self.quiet and sys.stderr.isatty():
            tell(f"\r{100 * share:3.0f} %  {what:<20}")
            self.has_line = True

    def clear(self) -> None:
        """Take the line of progress away."""
        if self.has_line:
            tell(f"\r{'':30}\r")
            self.has_line = False


@contextmanager
def talking(*, quiet: bool, verbose: bool = False, force: bool = False) -> Iterator[Talk]:
    """Leave a clean line behind however the command ends; Ctrl-C is told, and is 130."""
    talk = Talk(quiet, verbose, force)
    forget_inputs()
    try:
        with catch_warnings():
            if quiet:
                simplefilter("ignore")  # of libraries: they are not errors
            yield talk
    except KeyboardInterrupt:
        talk.clear()
        files = f"{talk.written} files" if talk.written else "no file"
        tell(f"\nStopped by Ctrl-C at {talk.doing}; {files} written.\n")
        raise SystemExit(int(ExitStatus.INTERRUPTED)) from None
    finally:
        talk.clear()


def show(text: str) -> None:
    """Print a result; a reader that has gone away is no error.

    Letters a terminal does not have are replaced.

    Raises
    ------
    OSError
        When stdout can take no more, as a file on a full disk.
    """
    encoding = sys.stdout.encoding or "utf-8"
    try:
        sys.stdout.write(plain_text(text).encode(encoding, "replace").decode(encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        _give_up(sys.stdout)
    except OSError as error:
        _give_up(sys.stdout)
        raise OSError(error.errno, error.strerror, "standard output") from error


def typed(prompt: str) -> str:
    """Ask on the terminal and return the line typed; the question is on stderr.

    Raises
    ------
    CatalogueError
        The input ended.
    """
    tell(prompt)
    line = sys.stdin.readline()
    if not line:
        tell("\n")
        msg = "the input ended before all was answered"
        raise CatalogueError(msg, "nothing was written: answer all, or give options")
    return line.rstrip("\n")
