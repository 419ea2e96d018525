"""A joint in text and its verdicts, for the tests of rules; nothing here judges."""

from interpass.rules import judge as rules

PIPE = '[pipe]\nsize = "NPS 1"\nschedule = "80"\nmaterial = "316L"\n'
FITTING = '[fitting]\nkind = "coupling"\n'
PASS = '[[pass]]\ncurrent = "80 A"\nvoltage = "11 V"\ntravel = "50 mm/min"\n'
BASE = PIPE + FITTING + PASS
ZERO = 273.15


def only(case, rule, *sets, history=None):
    """Verdicts of the rules whose names start like this; there must be one."""
    found = [c for c in rules.checks(case, history, sets) if c.rule.startswith(rule)]
    if not found:
        raise LookupError(rule)
    return found
