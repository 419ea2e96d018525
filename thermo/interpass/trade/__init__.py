"""What the trade has in print.

Pipe, sockets, flanges, wires, electrodes, limits, currents, each row with its source
and standing. `data/` holds the rows.
"""
