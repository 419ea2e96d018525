"""A page that plans and welds: a local server, its door, its workers, its script.

`server` answers requests, `door` lets them in, `lanes` hands the work to processes.
"""
