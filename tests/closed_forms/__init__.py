"""Exact solutions that the tests compare with."""
