"""What the welder sets and the heat does not need stands in words, pass by pass."""

import pytest
from interpass.case_file.read import parse_case
from interpass.report.joint import settings_words
from interpass.text.kinds import SI, US
from terminal import ROOT

SET = """current = "85 A"
tungsten = "2.4 mm"
cup = "8"
stick_out = "6 mm"
gas_flow = "8 l/min"
technique = "stringer"
"""


@pytest.mark.parametrize(
    ("units", "told"),
    [
        (SI, ["tungsten 2.4 mm", "cup 8", "stick-out 6.00 mm", "gas 8.0 l/min"]),
        (US, ["tungsten 0.094 in", "cup 8", "stick-out 0.236 in", "gas 17 cfh"]),
    ],
)
def test_settings_of_a_pass_in_words(units, told):
    text = (ROOT / "cases/sampling-stub.toml").read_text(encoding="utf-8")
    assert 'current = "85 A"' in text
    case = parse_case(text.replace('current = "85 A"\n', SET))
    assert list(settings_words(case.passes[1], units)) == [*told, "stringer"]
    assert not list(settings_words(case.passes[0], units))
