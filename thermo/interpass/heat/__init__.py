"""The heat run.

Outline -> grid -> section -> body -> kernels -> march -> waits -> history. `kernels`
alone is compiled and knows arrays only; `solver` loads it as machine code.
"""
