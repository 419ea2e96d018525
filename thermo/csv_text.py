"""The text of a CSV file, or why its bytes are none."""

from pathlib import Path

from .errors import CaseError, Mistake

LARGEST = 1_000_000  # bytes


def csv_text(path: str | Path) -> str:
    """Text of a CSV file; CaseError when it is no text file of sensible size."""
    name, file = str(path), Path(path)
    try:
        if file.is_dir():
            raise alone(name, "this is a directory", "give a CSV file in it")
        with file.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise alone(name, "there is no such file", "check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise alone(name, f"cannot be read: {reason}", "check the path") from None
    return decoded(raw, name)


def decoded(raw: bytes, name: str) -> str:
    """Text of the bytes of a file."""
    if len(raw) > LARGEST:
        problem = f"more than {LARGEST / 1e6:g} MB"
        raise alone(name, problem, "a log is a page of text; is it the right file?")
    remedy = "save it as CSV, UTF-8"
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise CaseError([Mistake(name, line, "this is not a text (zero bytes)", remedy)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise CaseError([Mistake(name, line, "this is not UTF-8 text", remedy)]) from None


def alone(file: str, problem: str, remedy: str) -> CaseError:
    """One mistake that no line of a file is to blame for."""
    return CaseError([Mistake(file, None, problem, remedy)])
