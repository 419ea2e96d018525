"""How work that takes long tells how far it is; apart, so that it loads nothing."""

from collections.abc import Callable

Progress = Callable[[float, str], None]  # share done, 0 to 1, and what is being done
