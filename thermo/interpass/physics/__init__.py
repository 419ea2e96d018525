"""Laws without a joint.

Metals and gases against temperature, films of air and radiation, a source travelling
along a wall, formulas of the handbooks.
"""
