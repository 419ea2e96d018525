"""How long to wait between passes of a TIG socket weld on small-bore pipe."""

__version__ = "0.1.0"
