"""Timed comparisons run when their folder is named, or once each with timing off."""


def pytest_ignore_collect(collection_path, config):
    """Leave ``test_speed.py`` out of a run of the whole suite."""
    named = any("benchmarks" in str(argument) for argument in config.args)
    untimed = config.getoption("benchmark_disable", default=False)
    if collection_path.name == "test_speed.py" and not (named or untimed):
        return True
    return None
