"""Every route of the desk by plain HTTP: good, wrong and hostile requests."""

import csv
import io
import json
import time
import warnings

import pytest
from interpass.case_file.read import parse_case
from interpass.desk import door as door_module
from interpass.desk.bench import add_event, begin_weld, open_bench
from interpass.desk.door import BENCH, Door, cookie_for, cookie_name, key_for
from interpass.desk.events import Event
from interpass.desk.jobs import next_waits, remedies, solve, variants
from interpass.desk.server import Desk, desk_application, desk_routes
from interpass.desk.welding import weld_routes
from interpass.doubt.bands import find_bands
from interpass.heat.waits import plan
from interpass.logs.log import read_log
from interpass.remedies.trials import find_helps
from interpass.report.plan import text as plan_text
from interpass.results.plan import results
from terminal import ROOT

with warnings.catch_warnings():  # newer releases would rather have another client
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

STUB = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
# ring of 8 cells, coarse: the same numbers from page and command line, sooner
QUICK = STUB + '\n[model]\nring = 8\ncell = "2 mm"\n'
PORT = 8799
HERE = f"http://127.0.0.1:{PORT}"
NAME = "a1b2c3d4e5f6"
GOOD = {  # route: method, body
    "/": ("GET", None),
    "/part/desk.css": ("GET", None),
    "/describe": ("POST", {"text": QUICK}),
    "/change": ("POST", {"text": QUICK, "key": "pass.1.current", "value": "81 A"}),
    "/new": ("POST", {"answers": {"size": "NPS 1", "material": "316L"}, "units": "us"}),
    "/solve": ("POST", {"text": QUICK, "step": "averaged"}),
    "/section": ("POST", {"text": QUICK}),
    "/remedies": ("POST", {"text": QUICK}),
    "/report": ("POST", {"text": QUICK, "units": "us"}),
    "/variants": ("POST", {"text": QUICK, "preset": "amps"}),
    "/joints": ("GET", None),
    "/joints/start": ("POST", {"text": QUICK}),
    "/joints/joint-001/state": ("GET", None),
    "/joints/joint-001/event": (
        "POST",
        {"name": NAME, "kind": "on", "value": "", "number": 1, "age_ms": 0},
    ),
    "/joints/joint-001/log.csv": ("GET", None),
    "/joints/joint-001/case.toml": ("GET", None),
    "/joints/joint-001/phone": ("GET", None),
    "/joints/joint-001/qr.svg": ("GET", None),
}
LATER = {"/joints/joint-001/review", "/lesson", "/phone", "/open/x", "/open/joint-001/x"}


@pytest.fixture(scope="module")
def door():
    return Door(PORT, ("127.0.0.1", "localhost", "192.0.2.7"))


@pytest.fixture(scope="module")
def client(door, tmp_path_factory):
    folder = tmp_path_factory.mktemp("desk") / "welds"
    desk = Desk(door, QUICK, "stub.toml", phone=True)
    desk.keep_in = folder
    application = desk_application(desk, weld_routes(desk, folder))
    with TestClient(application, base_url=HERE, headers={"origin": HERE}) as client:
        client.folder = folder
        client.headers["cookie"] = f"{cookie_name(door)}={cookie_for(door, BENCH)}"
        yield client


def send(client, path, method, body, **more):
    return client.request(method, path, json=body, **more) if body else client.request(
        method, path, **more
    )  # fmt: skip


@pytest.fixture(scope="module")
def answers(client):
    """Every good request once, in order."""
    return {path: send(client, path, *given) for path, given in GOOD.items()}


@pytest.mark.parametrize("path", GOOD)
def test_a_good_request_is_answered(answers, path):
    response = answers[path]
    assert response.status_code == 200, response.text
    for name, value in door_module.HEADERS.items():
        assert response.headers[name] == value
    assert "access-control-allow-origin" not in response.headers


def test_every_route_is_asked_here(door, tmp_path):
    desk = Desk(door, QUICK, "stub.toml")
    routes = desk_routes(desk, weld_routes(desk, tmp_path))
    for route in routes:
        assert any(_alike(route.path, known) for known in {*GOOD, *LATER}), route.path


def _alike(route, known):
    parts, others = route.split("/"), known.split("/")
    return len(parts) == len(others) and all(
        a == b or a.startswith("{") for a, b in zip(parts, others, strict=True)
    )


@pytest.mark.parametrize("path", GOOD)
@pytest.mark.parametrize(
    "headers",
    [
        {"host": "desk.example"},
        {"host": f"127.0.0.1:{PORT + 1}"},
        {"host": f"127.0.0.1.desk.example:{PORT}"},
        {"origin": "http://desk.example"},
        {"origin": "null"},
        {"cookie": ""},
        {"cookie": f"desk_{PORT}=bench.{'0' * 43}"},
        {"cookie": f"desk_{PORT}=joint-001.{'0' * 43}"},
    ],
    ids=str,
)
def test_a_foreign_request_gets_403(client, path, headers):
    response = send(client, path, *GOOD[path], headers=headers)
    assert response.status_code == 403


@pytest.mark.parametrize(
    "path", [p for p, (method, _) in GOOD.items() if method == "POST"]
)
@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"text": 1}',
        b"[" * 60000,
        b'{"text": "a\\u0000"}',
        b'{"text": "\\ud800"}',
        b"\xff\xfe",
        json.dumps({"text": "x", "path": "../../etc/passwd"}).encode(),
    ],
    ids=lambda c: str(c[:24]),
)
def test_a_wrong_body_is_told_and_does_no_harm(client, path, content):
    response = client.post(path, content=content)
    assert response.status_code in (400, 422), response.text
    assert "Traceback" not in response.text


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_methods_are_refused(client, method):
    assert client.request(method, "/solve").status_code == 405


def test_a_post_without_an_origin_is_refused(client):
    request = client.build_request("POST", "/describe", json={"text": ""})
    del request.headers["origin"]
    assert client.send(request).status_code == 403


def test_too_much_and_too_long_are_refused(client):
    huge = client.post("/describe", json={"text": "#" * 300_000})
    assert huge.status_code == 413
    assert client.get("/" + "a" * 3000).status_code == 414


@pytest.mark.parametrize(
    "path",
    ["/part/door.py", "/part/..%2f..%2fpyproject.toml", "/joints/..%2f..%2fx/log.csv",
     "/joints/joint-999/state", "/nothing"],
)  # fmt: skip
def test_names_are_looked_up_and_never_become_paths(client, path):
    assert client.get(path).status_code == 404


def test_rules_are_never_read_from_a_file_that_a_page_names(client, tmp_path):
    secret = tmp_path / "secret.toml"
    secret.write_text('token = "sesame"')
    text = QUICK.replace("[limits]", f'[limits]\nrules = "{secret}"')
    for path, more in (("/solve", {"step": "averaged"}), ("/remedies", {})):
        found = client.post(path, json={"text": text, **more})
        assert "sesame" not in found.text
        assert "reads no files by name" in found.text
    assert client.post("/joints/start", json={"text": text}).status_code == 422


def test_the_key_opens_and_a_wrong_one_does_not(client, door):
    with_key = client.get(f"/open/{key_for(door, BENCH)}", follow_redirects=False)
    assert with_key.status_code == 303
    cookie = with_key.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert client.get(f"/open/{'0' * 43}").status_code == 403
    assert client.get(f"/open/{key_for(door, 'joint-001')}").status_code == 403


def test_a_phone_sees_its_joint_and_nothing_else(client, door, answers):
    assert answers["/joints/start"].status_code == 200
    address = client.get("/joints/joint-001/phone").json()["address"]
    assert address.startswith(f"http://192.0.2.7:{PORT}/open/joint-001/")
    path = address.removeprefix(f"http://192.0.2.7:{PORT}")
    assert client.get(path, follow_redirects=False).headers["location"] == "/phone"
    client.cookies.clear()
    phone = {"cookie": f"{cookie_name(door)}={cookie_for(door, 'joint-001')}"}
    assert 'data-joint="joint-001"' in client.get("/phone", headers=phone).text
    assert client.get("/joints/joint-001/state", headers=phone).status_code == 200
    open_to_it = ("/joints/joint-001/state", "/joints/joint-001/event", "/part")
    for path, given in GOOD.items():
        if not path.startswith(open_to_it):
            assert send(client, path, *given, headers=phone).status_code == 403, path
    started = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    other = client.get(f"/joints/{started}/state", headers=phone)
    assert other.status_code == 403


def test_too_many_requests_are_slowed_down(door, monkeypatch):
    monkeypatch.setattr(door_module, "BURST", 5.0)
    monkeypatch.setattr(door_module, "STEADY", 0.0)  # none comes back on a slow machine

    async def nothing(scope, receive, send):
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    client = TestClient(door_module.guarded(nothing, door), base_url=HERE)
    cookies = {"cookie": f"{cookie_name(door)}={cookie_for(door, BENCH)}"}
    found = [client.get("/", headers=cookies).status_code for _ in range(9)]
    assert found[:5] == [200] * 5
    assert 429 in found


# numbers


def test_the_first_numbers_are_those_of_plan(client):
    case = parse_case(QUICK, "stub.toml")
    history = plan(case)
    bands = find_bands(case, history)
    wanted = json.loads(json.dumps(results(case, history, bands=bands)))
    wanted.pop("probes")
    found = client.post("/solve", json={"text": QUICK, "step": "bands"}).json()
    assert found["data"] == wanted
    report = client.post("/report", json={"text": QUICK, "units": "si"}).json()["report"]
    helps = find_helps(case, history, bands=bands)
    assert report == plan_text(case, history, bands=bands, helps=helps)
    row = found["shown"]["si"]["passes"][1]
    for cell in ("safe", "typical", "strike"):
        assert row[cell].split()[0] in report


def test_a_mistake_stands_beside_its_field_in_the_words_of_the_file(client):
    given = {"text": QUICK, "key": "pass.2.current", "value": "90"}
    found = client.post("/change", json=given).json()
    field = next(f for f in found["fields"] if f["key"] == "pass.2.current")
    assert "'90' is a bare number" in field["mistakes"][0]
    assert client.post("/solve", json={"text": found["text"], "step": "ring"}).json()[
        "mistakes"
    ]


def test_only_schedules_that_exist_are_offered(client):
    def offered(size):
        given = {"text": QUICK, "key": "pipe.size", "value": size}
        fields = client.post("/change", json=given).json()["fields"]
        return next(f["choices"] for f in fields if f["key"] == "pipe.schedule")

    assert "5S" in offered("NPS 3/4")
    assert "5S" not in offered("NPS 1/8")


def test_a_hostile_title_stays_text(client):
    title = '<img src=x onerror="alert(1)">{{ 7 * 7 }}'
    given = {"text": QUICK, "key": "title", "value": title}
    found = client.post("/change", json=given).json()
    assert found["title"] == title
    started = client.post("/joints/start", json={"text": found["text"]}).json()
    assert "<img" not in client.get("/").text
    log = client.get(f"/joints/{started['joint']}/log.csv").text
    assert log.splitlines()[0].startswith("# interpass desk:")


def test_a_huge_case_is_cut_off_and_the_page_lives(client, monkeypatch):
    from interpass.desk import server

    monkeypatch.setitem(server.SOLVE, "ring", ("full", 2, 1.5))
    text = STUB + '\n[model]\nring = 96\ncell = "0.4 mm"\n'
    began = time.monotonic()
    found = client.post("/solve", json={"text": text, "step": "ring"})
    assert found.status_code == 503
    assert "given up after" in found.json()["trouble"]
    assert time.monotonic() - began < 20
    again = client.post("/solve", json={"text": QUICK, "step": "ring"})
    assert again.json()["step"] == "ring"


# welds


def tap(client, joint, kind, *, value="", number=0, age=0.0, name=None):
    tap.count += 1
    body = {
        "name": name or f"tap{tap.count:09d}",
        "kind": kind,
        "value": value,
        "number": number,
        "age_ms": int(1000 * age),
    }
    return client.post(f"/joints/{joint}/event", json=body)


tap.count = 0


def test_a_weld_is_on_disk_and_review_reads_it(client):
    joint = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    assert tap(client, joint, "on", number=1, age=300).status_code == 200
    assert tap(client, joint, "amps", value="82 A", age=250).status_code == 200
    assert tap(client, joint, "off", age=215).status_code == 200
    assert tap(client, joint, "read", value="260 degC", age=100).status_code == 200
    path = client.folder / f"{joint}-log.csv"
    assert path.read_text() == client.get(f"/joints/{joint}/log.csv").text
    log = read_log(path, 2)
    assert [(b.current, round(b.off - b.on)) for b in log.passes[0].burns] == [(82.0, 85)]
    assert round(log.readings[0].since) == 115
    state = _current(client, joint)
    assert state["answer"]["by"] == "readings"
    assert state["answer"]["rows"][0]["number"] == 2
    found = client.post(f"/joints/{joint}/review", json={"units": "si"}).json()
    assert "Sampling stub" in found["report"]
    (row,) = csv.DictReader(io.StringIO(found["record"]))
    assert "82" in " ".join(row.values())


def _current(client, joint):
    """State once its waits are computed for what is known."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        state = client.get(f"/joints/{joint}/state").json()
        if state["is_current"]:
            return state
        time.sleep(0.1)
    raise AssertionError(state)


@pytest.mark.parametrize(("burnt", "is_short", "is_told"),
                         [(3, True, False), (40, True, True), (84, False, True)])  # fmt: skip
def test_after_a_spark_the_page_asks_for_no_reading_that_cannot_be_had(
    burnt, is_short, is_told
):
    """An arc of 3 s leaves the mark at 5 mm within 10 K of the air, and a limit of 175 degC."""
    log = f"pass,arc_on,arc_off\n1,0 s,{burnt} s\n"
    found = next_waits(lambda *_: None, text=QUICK, file="stub.toml", log=log)
    assert [row["number"] for row in found["rows"]] == ([2] if is_told else [])
    assert (found["by_weld"] is None) == is_told
    assert (f"0:{burnt:02d} of 1:24" in found["short"]) == is_short
    if not is_told:
        assert "reads 175 degC or less" in found["by_weld"]["si"]
        assert "reads 347 degF or less" in found["by_weld"]["us"]


def test_amps_noted_late_stand_in_the_row_of_their_arc(client):
    joint = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    tap(client, joint, "on", number=1, age=200)
    tap(client, joint, "off", age=100)
    assert tap(client, joint, "amps", value="79 A").status_code == 200
    assert (
        read_log(client.folder / f"{joint}-log.csv", 2).passes[0].burns[0].current == 79
    )


def test_a_line_cut_short_is_mended_and_rows_changed_by_hand_are_left_alone(tmp_path):
    for name in ("one", "two"):
        begin_weld({}, tmp_path, QUICK)
        weld = open_bench(tmp_path)[max(open_bench(tmp_path))]
        add_event(weld, Event(f"{name}arcon", "on", 1.7e9, 1))
        add_event(weld, Event(f"{name}arcoff", "off", 1.7e9 + 80))
    torn, edited = (tmp_path / f"joint-00{n}-log.csv" for n in (1, 2))
    whole = torn.read_text()
    torn.write_text(whole + '# desk {"name": "cut')
    edited.write_text(edited.read_text().replace("1,20", "1,30"))
    by_hand = edited.read_text()
    assert [(w.name, len(w.events)) for w in open_bench(tmp_path).values()] == [
        ("joint-001", 2)
    ]
    assert torn.read_text() == whole
    assert edited.read_text() == by_hand


@pytest.mark.parametrize(
    ("taps", "words"),
    [
        ([("off", {})], "no arc is on"),
        ([("on", {"number": 2})], "pass 2 cannot be next"),
        ([("on", {"number": 1}), ("on", {"number": 1})], "is on already"),
        ([("on", {"number": 1}), ("off", {})], "less than a second"),
        ([("on", {"number": 1}), ("read", {"value": "150 degC"})], "between passes"),
        ([("read", {"value": "warm"})], "warm"),
        ([("amps", {"value": "80 A"})], "no arc was on"),
        ([("undo", {"value": "nothing"})], "only what was told last"),
        ([("end", {}), ("on", {"number": 1})], "has ended"),
    ],
    ids=str,
)
def test_what_cannot_be_is_refused_and_not_written(client, taps, words):
    joint = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    for kind, given in taps[:-1]:
        assert tap(client, joint, kind, **given).status_code == 200
    before = client.get(f"/joints/{joint}/log.csv").text
    refused = tap(client, joint, taps[-1][0], **taps[-1][1])
    assert refused.status_code == 422
    assert words in refused.json()["refused"]
    assert client.get(f"/joints/{joint}/log.csv").text == before


def test_the_same_tap_sent_twice_counts_once(client):
    joint = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    for _ in range(2):
        assert tap(client, joint, "on", number=1, name="sametap0001").status_code == 200
    assert client.get(f"/joints/{joint}/state").json()["events"] == 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "explode"},
        {"name": "x"},
        {"name": "../../etc"},
        {"value": "a\nb"},
        {"value": "x" * 500},
        {"age_ms": -5},
        {"age_ms": 10**9},
        {"number": True},
    ],
    ids=str,
)
def test_an_event_out_of_order_is_told(client, wrong):
    joint = client.post("/joints/start", json={"text": QUICK}).json()["joint"]
    body = {"name": "goodname1", "kind": "on", "value": "", "number": 1, "age_ms": 0}
    assert client.post(f"/joints/{joint}/event", json=body | wrong).status_code == 400


def test_a_desk_without_phones_lets_none_in(door, tmp_path):
    desk = Desk(door, QUICK, "stub.toml")
    application = desk_application(desk, weld_routes(desk, tmp_path))
    with TestClient(application, base_url=HERE) as client:
        assert (
            client.get(f"/open/joint-001/{key_for(door, 'joint-001')}").status_code == 403
        )


def test_it_listens_on_the_loopback_alone():
    from interpass.desk.server import listening

    with listening("127.0.0.1", 0) as at:
        assert at.getsockname()[0] == "127.0.0.1"


@pytest.mark.parametrize(
    ("preset", "own"),
    [
        ("amps", "80 A, this joint"),
        ("length", "120 mm, this joint"),
        ("size", "NPS 3/4, this joint"),
    ],
)
def test_what_is_taught_holds_the_joint_described(preset, own):
    labels = [
        one["label"]
        for one in variants(lambda *_: None, text=QUICK, file="stub.toml", preset=preset)[
            "variants"
        ]
    ]
    assert labels.count(own) == 1
    if preset in ("amps", "length"):  # each in its place
        sizes = [float(label.split()[0]) for label in labels if label != "long"]
        assert sizes == sorted(sizes)
    assert len(labels) == len(set(labels)) <= 5


def test_a_metal_of_ones_own_is_taught_first():
    text = QUICK.replace('"316L"', '"304L"').replace('filler = "ER316L"\n', "")
    found = variants(lambda *_: None, text=text, file="stub.toml", preset="metal")
    assert found["variants"][0]["label"] == "304L, this joint"


def test_remedies_start_from_the_total_that_the_page_shows():
    given = {"text": QUICK, "file": "stub.toml"}
    offered = remedies(lambda *_: None, **given)["offered"]
    total = solve(lambda *_: None, **given, step="ring")["shown"]["si"]["total"]
    assert {one["before"] for one in offered} == {total}
