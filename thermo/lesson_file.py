"""A case table written out as the TOML text of a case file."""

import json
from typing import Any


def case_file(table: dict[str, Any]) -> str:
    """TOML text of a case table.

    Examples
    --------
    >>> print(case_file({"title": "T", "pipe": {"size": "NPS 1"}, "pass": [{}]}), end="")
    title = "T"
    <BLANKLINE>
    [pipe]
    size = "NPS 1"
    <BLANKLINE>
    [[pass]]
    """
    lines = [_line(k, v) for k, v in table.items() if not isinstance(v, dict | list)]
    for name, value in table.items():
        entries = value if isinstance(value, list) else [value]
        head = f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
        for entry in entries:
            if isinstance(entry, dict) and (entry or isinstance(value, list)):
                lines += ["", head, *(_line(k, v) for k, v in entry.items())]
    return "\n".join(lines) + "\n"


def _line(key: str, value: Any) -> str:
    return f"{_key(key)} = {_value(value)}"


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else _value(key)


def _value(value: Any) -> str:
    """One value as TOML writes it."""
    if isinstance(value, dict):
        return "{ " + ", ".join(_line(k, v) for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
