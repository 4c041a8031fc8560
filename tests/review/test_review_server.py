"""The served page's door: who is answered, with what, and what can never be reached.

The headers asked for are those of the OWASP Secure Headers Project (nosniff, frame, referrer and
content policies); the checks of Host and Origin answer DNS rebinding and cross-site requests.
"""

from __future__ import annotations

import http.client
import json
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from starlette.datastructures import Headers

from impactcut.errors import OutputError
from impactcut.project import Project
from impactcut.review import connections
from impactcut.review.connections import MOST
from impactcut.review.guard import Door
from impactcut.review.serve import LOOPBACK, is_loopback, receive, usual_port
from impactcut.workflow.hits.listing import list_hits
from tests.helpers.projects.review_site import Site, make_project, served

PATHS = ("", "static/main.js", "api/review", "api/decisions", "api/hits/1", "api/hits/1/pictures")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    folder = tmp_path_factory.mktemp("served")
    with served(make_project(folder), folder / "cache") as running:
        yield running


def ask(
    site: Site,
    path: str,
    method: str = "GET",
    body: str | None = None,
    token: str | None = None,
    **headers: str,
) -> tuple[int, http.client.HTTPMessage, bytes]:
    """Ask below the token; headers with ``_`` for ``-``."""
    door = site.reception.door
    connection = http.client.HTTPConnection("127.0.0.1", door.port, timeout=20)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    prefix = door.token if token is None else token
    connection.request(method, f"/{prefix}/{path}" if prefix else f"/{path}", body, named)
    response = connection.getresponse()
    content = response.read()
    connection.close()
    return response.status, response.headers, content


def answer(site: Site, **changes: Any) -> dict[str, Any]:
    hit = json.loads(ask(site, "api/review")[2])["hits"][0]
    given = {
        "hit": hit["id"], "clip": hit["clip"], "digest": hit["digest"], "contact": hit["contact"],
        "answer": "later", "first": None, "count": None, "who": "Ines",
        "when": "2024-03-01T20:00:00Z", "note": "", "seen": hit["version"],
    }  # fmt: skip
    return given | changes


def send(site: Site, body: object, **headers: str) -> tuple[int, dict[str, Any]]:
    sent = {"Content_Type": "application/json", "Origin": f"http://127.0.0.1:{port(site)}"}
    status, _, content = ask(site, "api/answers", "POST", json.dumps(body), **(sent | headers))
    try:
        return status, json.loads(content)
    except ValueError:
        return status, {}


def port(site: Site) -> int:
    return site.reception.door.port


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_needs_the_token(site: Site, path: str) -> None:
    assert ask(site, path)[0] == 200
    for wrong in ("", "x", site.reception.door.token[:-1], site.reception.door.token + "x"):
        status, _, content = ask(site, path, token=wrong)
        assert status == 403 and b"belongs to no running review" in content


@pytest.mark.parametrize("path", PATHS)
def test_another_host_is_refused(site: Site, path: str) -> None:
    numbered = f"192.0.2.1:{port(site)}"  # an address for documentation (RFC 5737)
    for host in (
        "evil.example",
        f"evil.example:{port(site)}",
        "127.0.0.1",
        "127.0.0.1:1",
        "",
        numbered,
    ):
        assert ask(site, path, Host=host)[0] == 403
    assert ask(site, path, Host=f"localhost:{port(site)}")[0] == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
)
def test_another_site_is_refused(site: Site, headers: dict[str, str]) -> None:
    before = site.decisions()
    for path in PATHS:
        assert ask(site, path, **headers)[0] == 403
    assert send(site, answer(site), **headers)[0] == 403
    assert site.decisions() == before


def test_answers_need_an_origin_and_json(site: Site) -> None:
    body = json.dumps(answer(site))
    kind = {"Content_Type": "application/json"}
    assert ask(site, "api/answers", "POST", body, **kind)[0] == 403
    for plain in ("text/plain", "application/x-www-form-urlencoded"):
        assert send(site, answer(site), Content_Type=plain)[0] == 415
    assert send(site, answer(site, note="x" * 70_000))[0] == 413
    assert ask(site, "api/answers")[0] == 405


def test_bad_answers_are_named(site: Site) -> None:
    status, told = send(site, answer(site, answer="maybe"))
    assert status == 422 and "value 'maybe' - at `$.answer`" in told["error"]
    status, told = send(site, [])
    assert status == 422 and "Expected `object`, got `array`" in told["error"]
    status, told = send(site, answer(site, clip="other.mov"))
    assert status == 200 and told["fate"] == "refused" and "other.mov" in told["reason"]


def test_safe_headers_stand_on_every_answer(site: Site) -> None:
    for path, token in [(path, None) for path in PATHS] + [("", "wrong"), ("api/hits/999", None)]:
        headers = ask(site, path, token=token)[1]
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "script-src 'self'" in policy
        assert "unsafe" not in policy and "frame-ancestors 'none'" in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert headers["X-Frame-Options"] == "DENY"
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert headers["Access-Control-Allow-Origin"] is None
        assert "private" in headers["Cache-Control"] or headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    [
        "static/../../night.db", "static/%2e%2e%2f%2e%2e%2fnight.db", "static/..%5cnight.db",
        "static/page.html", "api/hits/1/pictures/../../../night.db", "api/hits/-1", "api/hits/x",
        "api/hits/1.0", "api/hits/999999", "api/hits/99999999999999999999/strip",
        "api/hits/1/frames/0", "night.db", "api/hits/1/production?path=/etc/passwd/../x/y",
    ],
)  # fmt: skip
def test_no_path_reaches_the_disk(site: Site, path: str) -> None:
    status, _, content = ask(site, path)
    assert status == 404 or (path.startswith("api/hits/1/production") and status == 200)
    assert b"SQLite" not in content and b"root:" not in content


def test_pages_hold_no_path_of_the_disk(site: Site) -> None:
    for path in ("", "api/review", "api/hits/1"):
        assert str(site.project.parent).encode() not in ask(site, path)[2]


def test_pictures_come_from_the_cache_the_second_time(site: Site) -> None:
    first = ask(site, "api/hits/2/pictures")[2]
    clip = site.project.parent / "cards" / "S1_T1_A_quay.mov"
    hidden = clip.rename(clip.with_suffix(".away"))
    try:
        assert ask(site, "api/hits/2/pictures")[2] == first
        status, _, content = ask(site, "api/hits/1/strip")
        assert status == 409 and b"No such file" in content
    finally:
        hidden.rename(clip)
    assert ask(site, "api/hits/1/strip")[0] == 200


def test_sound_of_a_silent_clip_is_empty(site: Site) -> None:
    hits = json.loads(ask(site, "api/review")[2])["hits"]
    silent, heard = (
        next(hit["id"] for hit in hits if hit["clip"].startswith(name)) for name in ("S2", "S1")
    )
    assert ask(site, f"api/hits/{silent}/production")[2] == b""
    assert ask(site, f"api/hits/{heard}/production")[2][:4] == b"RIFF"
    assert ask(site, f"api/hits/{silent}/thump")[2][:4] == b"RIFF"


def _has_its_port(project: Path) -> bool:
    """Whether nothing else of this machine sits on a project's own port."""
    try:
        socket.create_server((LOOPBACK, usual_port(project))).close()
    except OSError:
        return False
    return True


def test_one_project_keeps_its_port_and_gets_a_new_token(tmp_path: Path) -> None:
    project = next(filter(_has_its_port, (tmp_path / f"night {n}.db" for n in range(20))))
    doors = []
    for _ in range(2):
        reception = receive(project)
        doors.append(reception.door)
        reception.socket.close()
    assert doors[0].port == doors[1].port == usual_port(project)
    assert doors[0].token != doors[1].token and len(doors[0].token) >= 32


def test_taken_ports_are_told(tmp_path: Path) -> None:
    held = receive(tmp_path / "night.db")
    try:
        other = receive(tmp_path / "night.db")
        assert other.door.port != held.door.port
        other.socket.close()
        with pytest.raises(OutputError, match="--port"):
            receive(tmp_path / "night.db", port=held.door.port)
    finally:
        held.socket.close()
    with pytest.raises(OutputError, match="cannot be listened on"):
        receive(tmp_path / "night.db", host="203.0.113.7")


def test_only_this_machine_listens_unless_asked(tmp_path: Path) -> None:
    reception = receive(tmp_path / "night.db")
    assert reception.socket.getsockname()[0] == "127.0.0.1"
    reception.socket.close()
    for host in ("0.0.0.0", "::") if socket.has_ipv6 else ("0.0.0.0",):
        reception = receive(tmp_path / "night.db", host)
        with reception.socket:
            at = urlsplit(reception.address)
            socket.create_connection((at.hostname, at.port), 5).close()
    assert is_loopback("127.0.0.1") and is_loopback("::1") and is_loopback("localhost")
    assert not is_loopback("0.0.0.0") and not is_loopback("192.0.2.1")


def test_names_stay_refused_on_a_network() -> None:
    door = Door("token", 5000, open_to_network=True)
    for host, refused in [
        ("192.0.2.1:5000", False),
        ("[2001:db8::1]:5000", False),
        ("localhost:5000", False),
        ("studio.example:5000", True),
        ("192.0.2.1:5001", True),
    ]:
        assert bool(door.refusal("GET", "/token/", Headers({"host": host}))) is refused


def test_half_open_connections_shut_nobody_out(site: Site) -> None:
    """More connections than are held, none with a whole question: the next one is answered."""
    begun = [
        f"POST /{site.reception.door.token}/api/answers HTTP/1.1\r\nHost: 127.0.0.1\r\n",
        f"GET /{site.reception.door.token}/",
        "",
    ]
    halves = []
    for number in range(MOST + 20):
        halves.append(socket.create_connection(("127.0.0.1", port(site))))
        halves[-1].sendall(begun[number % 3].encode())
    assert ask(site, "api/review")[0] == 200
    ended = [each for each in halves if is_ended(each)]
    assert 20 <= len(ended) < MOST and ended[0] is halves[0]
    for each in halves:
        each.close()


def test_half_a_question_is_not_waited_for(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "PATIENCE_SECONDS", 0.2)
    host = f"127.0.0.1:{port(site)}"
    head = (
        f"POST /{site.reception.door.token}/api/answers HTTP/1.1\r\nHost: {host}\r\n"
        f"Origin: http://{host}\r\nContent-Type: application/json\r\n"
        "Content-Length: 100\r\n\r\n{"
    )
    for sent in ("", head[:40], head):
        with socket.create_connection(("127.0.0.1", port(site)), timeout=5) as half:
            half.sendall(sent.encode())
            with suppress(ConnectionResetError):
                assert half.recv(100) == b""
    assert send(site, answer(site))[0] == 200


def test_who_reads_nothing_is_let_go(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "READING_SECONDS", 0.2)
    ask_again = (
        f"GET /{site.reception.door.token}/static/page.js HTTP/1.1\r\n"
        f"Host: 127.0.0.1:{port(site)}\r\n\r\n"
    )
    with (
        socket.create_connection(("127.0.0.1", port(site)), timeout=5) as deaf,
        pytest.raises((ConnectionResetError, BrokenPipeError)),
    ):
        for _ in range(400):
            deaf.sendall(ask_again.encode())
            time.sleep(0.005)
    assert ask(site, "api/review")[0] == 200


def is_ended(connection: socket.socket) -> bool:
    connection.setblocking(False)
    try:
        return connection.recv(1) == b""
    except BlockingIOError:
        return False
    except ConnectionResetError:
        return True


def test_the_overview_judges_nothing(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of hundreds of hits the trims are read that are proposed or approved, not every one."""
    with Project(site.project) as project:
        list_hits(project)

    def propose(*_: object) -> None:
        raise AssertionError("every trim was read")

    monkeypatch.setattr("impactcut.workflow.hits.listing.propose_for_clip", propose)
    status, _, content = ask(site, "api/review")
    hits = json.loads(content)["hits"]
    assert status == 200 and len(hits) == 4
    assert len(content) / len(hits) < 1500
    assert "trims" not in hits[0]


def test_command_serves_until_it_is_stopped(tmp_path: Path) -> None:
    project = make_project(tmp_path, ["S1_T1_A_quay.mov"])
    command = [sys.executable, "-m", "impactcut", "review", "--no-browser", "--project", project]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert running.stdout is not None
    address = running.stdout.readline().strip()
    with urllib.request.urlopen(address) as page:
        assert page.status == 200 and b'data-form="served"' in page.read()
    running.send_signal(signal.SIGINT)
    out, errors = running.communicate(timeout=30)
    assert (running.returncode, out) == (0, "") and errors == "Ctrl+C stops it.\n"


def test_command_warns_of_the_network(tmp_path: Path) -> None:
    project = make_project(tmp_path, ["S1_T1_A_quay.mov"])
    command = [sys.executable, "-m", "impactcut", "review", "--no-browser", "--project", project]
    running = subprocess.Popen(
        [*command, "--host", "0.0.0.0"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert running.stdout is not None
    address = running.stdout.readline().strip()
    assert address.startswith("http://127.0.0.1:")
    with urllib.request.urlopen(address) as page:
        assert page.status == 200
    running.send_signal(signal.SIGINT)
    assert "whoever on that network learns the address" in running.communicate(timeout=30)[1]
    assert running.returncode == 0
