"""Who is let in to a running desk, and what a stranger, a huge upload or a killed program cannot do to the job.

Asked by bare requests (http.client, a raw socket, aiohttp's client), not by the page's own script.
"""

import asyncio
import contextlib
import http.client
import ipaddress
import re
import signal
import socket
import struct
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import aiohttp
import pytest

from formmaker.desk import starting
from formmaker.sources.samples import sample_job
from tests.desk.conftest import ROOT, Desk, end_desk, start_desk, surroundings, until


def ask(desk: Desk, path: str, *, method: str = "GET", body=None, cookie: str | None = None, **headers: str):
    """One request; status and body. ``cookie`` is the key shown, the desk's own where not said."""
    shown = desk.key if cookie is None else cookie
    words = {"Cookie": f"desk-{desk.port}={shown}", **headers}
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", desk.port, timeout=60)) as connection:
        connection.request(method, path, body=body, headers=words)
        reply = connection.getresponse()
        return reply.status, reply.read()


def headers_of(desk: Desk, path: str, **headers: str):
    """Status and headers of what a page gets."""
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", desk.port, timeout=60)) as connection:
        connection.request("GET", path, headers=headers)
        reply = connection.getresponse()
        reply.read()
        return reply.status, reply.headers


def socket_status(desk: Desk, *, key: str, origin: str | None = None, host: str | None = None) -> int:
    """What the desk answers to a page that wants its socket: 101 is yes."""

    async def knock() -> int:
        headers = {"Cookie": f"desk-{desk.port}={key}"}
        headers |= ({"Origin": origin} if origin else {}) | ({"Host": host} if host else {})
        async with aiohttp.ClientSession() as session:
            try:
                async with session.ws_connect(f"http://127.0.0.1:{desk.port}/ws", headers=headers):
                    return 101
            except aiohttp.WSServerHandshakeError as error:
                return error.status

    return asyncio.run(knock())


def test_the_right_key_opens_page_and_socket(plum) -> None:
    assert ask(plum, "/index.html")[0] == 200
    assert socket_status(plum, key=plum.key) == 101
    assert socket_status(plum, key=plum.key, origin=plum.base) == 101


def test_the_key_in_the_address_becomes_a_cookie_that_scripts_cannot_read(plum) -> None:
    status, headers = headers_of(plum, f"/?key={plum.key}")
    assert (status, headers["Location"]) == (302, "/index.html")  # the key leaves the address bar
    said = headers["Set-Cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said


@pytest.mark.parametrize("key", ["", "wrong", "x" * 5000])
def test_a_wrong_key_opens_neither_page_nor_socket(plum, key) -> None:
    for path in ("/", "/index.html", f"/?key={key or 'a'}", "/desk-files/desk.js", "/made/section.svg"):
        status, body = ask(plum, path, cookie=key)
        assert status == 403
        assert b"key" in body
    assert ask(plum, "/begin?way=sample&sample=plum+half+log", method="POST", cookie=key)[0] == 403
    assert socket_status(plum, key=key) == 403


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "192.168.0.9:80", ""])
def test_a_forged_host_is_refused(plum, host) -> None:
    assert ask(plum, "/index.html", Host=host)[0] in (400, 403)
    if host:
        assert socket_status(plum, key=plum.key, host=host) == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:1", "https://127.0.0.1"])
def test_a_page_of_another_origin_is_refused(plum, origin) -> None:
    assert ask(plum, "/index.html", Origin=origin)[0] == 403
    assert ask(plum, "/begin?way=sample&sample=plum+half+log", method="POST", Origin=origin)[0] == 403
    assert socket_status(plum, key=plum.key, origin=origin) == 403


def test_no_other_page_may_frame_or_read_the_desk(plum) -> None:
    _, headers = headers_of(plum, "/index.html", Cookie=f"desk-{plum.port}={plum.key}")
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Origin" not in headers


def test_it_listens_on_loopback_alone(plum) -> None:
    """The kernel's own table of listening sockets (proc(5), /proc/net/tcp): addresses in hexadecimal."""
    table = Path("/proc/net/tcp")
    if not table.exists():
        pytest.skip("this system has no /proc/net/tcp")
    lines = [row.split() for row in table.read_text(encoding="ascii").splitlines()[1:]]
    listening = {row[1].split(":")[0] for row in lines if row[1].endswith(f":{plum.port:04X}") and row[3] == "0A"}
    found = {ipaddress.ip_address(struct.pack("<L", int(address, 16))) for address in listening}
    assert found == {ipaddress.ip_address("127.0.0.1")}


def test_only_what_was_made_is_shown(plum) -> None:
    exports, secret = plum.folder / "exports", plum.folder / "secret.svg"
    exports.mkdir(exist_ok=True)
    secret.write_text("secret")
    (exports / "good.svg").write_text("<svg/>")
    (exports / "link.svg").symlink_to(secret)
    (exports / "way").symlink_to(plum.folder)
    (exports / "notes.txt").write_text("secret")
    until(lambda: ask(plum, "/made/good.svg")[0] == 200, seconds=60)
    for name in ("../secret.svg", "%2e%2e/secret.svg", "..%2fsecret.svg", "link.svg", "way/secret.svg", str(secret)):
        status, body = ask(plum, f"/made/{name}")
        assert status == 404
        assert b"secret" not in body
    for path in ("/made/notes.txt", "/../job.toml", "/desk-files/../../../pyproject.toml"):
        assert ask(plum, path)[0] in (403, 404)


def test_an_upload_of_3_gb_is_refused_before_it_is_read(empty) -> None:
    with socket.create_connection(("127.0.0.1", empty.port), timeout=60) as line:
        line.sendall(
            f"POST /begin?way=scan&file=burr.stl HTTP/1.1\r\nHost: 127.0.0.1:{empty.port}\r\n"
            f"Cookie: desk-{empty.port}={empty.key}\r\nContent-Length: 3000000000\r\n\r\n".encode()
        )
        said = line.recv(4096).decode()
    assert said.startswith("HTTP/1.1 400")
    assert list(empty.folder.iterdir()) == []


def test_an_upload_that_does_not_say_its_size_is_counted(empty) -> None:
    chunk = b"x" * (1 << 20)

    def without_end() -> Iterator[bytes]:
        for _ in range(3000):
            yield chunk

    with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # the desk hangs up amid the sending
        status, body = ask(empty, "/begin?way=scan&file=burr.stl", method="POST", body=without_end())
        assert status == 400
        assert f"larger than {starting.MOST_BYTES // 1_000_000} MB".encode() in body
    assert list(empty.folder.iterdir()) == []
    assert ask(empty, "/index.html")[0] == 200  # and lives on


@pytest.mark.parametrize(
    ("query", "word"),
    [
        ("way=scan&file=burr.exe", "ends in one of"),
        ("way=scan&file=", "ends in one of"),
        ("way=scan&file=empty.stl", "the file is empty"),
        ("way=nothing", "choose a scan"),
        ("way=readings&file=../../up.stl", "ends in one of .csv"),
    ],
)
def test_a_bad_beginning_is_refused_in_words_and_leaves_nothing(empty, query, word) -> None:
    status, body = ask(empty, f"/begin?{query}", method="POST", body=b"")
    assert status == 400
    assert word in body.decode()
    assert list(empty.folder.iterdir()) == []


def test_a_name_that_leads_out_of_the_folder_stays_in_it(tmp_path) -> None:
    """Of the path only the last name counts, and of a title its letters."""
    (tmp_path / "in").mkdir()
    desk = start_desk(tmp_path / "in")
    try:
        plank = b"way=shape&shape=round&size.diameter=200&size.thickness=60&units=mm&title=..%2F..%2Fout"
        assert ask(desk, f"/begin?{plank.decode()}", method="POST")[0] == 200
        query = "way=scan&file=..%2F..%2Fevil.stl&title=..%2F..%2Fmore&scan_unit=mm"
        assert ask(desk, f"/begin?{query}", method="POST", body=b"solid nothing\nendsolid\n")[0] == 200
        made = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*")}
        assert made == {"in", "in/out", "in/out/job.toml"}  # of the bad scan nothing is left
    finally:
        end_desk(desk)


def test_the_network_is_let_in_only_when_asked_and_with_a_warning(tmp_path) -> None:
    (tmp_path / "job.toml").write_text(sample_job("plum half log"))
    command = [sys.executable, "-m", "formmaker", "desk", "--no-browser", "--lan", "job.toml"]
    process = subprocess.Popen(
        command, cwd=tmp_path, env=surroundings(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stderr is not None
    try:
        line = process.stdout.readline()
        if not line:
            pytest.skip("this machine is on no network: " + process.stderr.read().strip())
        here = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/\?key=(\w+)\n", line)
        assert here is not None
        said = process.stderr.readline()
        there = re.search(r"type: http://([\d.]+):(\d+)/\?key=(\w+)", said)
        assert there is not None, said
        assert there.groups()[1:] == here.groups()
        assert "Everyone on this network" in process.stderr.readline()
        with contextlib.closing(http.client.HTTPConnection(there[1], int(there[2]), timeout=60)) as connection:
            connection.request("GET", "/index.html")
            assert connection.getresponse().status == 403
            connection.close()
            connection.request("GET", f"/?key={there[3]}")
            assert connection.getresponse().status == 302
    finally:
        process.terminate()
        process.communicate(timeout=20)


KILLER = """
import os, random, signal, sys, time
from pathlib import Path
from formmaker.pipeline.sitting import open_sitting, save, with_text

path = Path(sys.argv[1])
old = open_sitting(path, lambda line: None)
new = with_text(old, old.text + "# " + "shavings " * 40_000 + "\\n", lambda line: None)
draw = random.Random(6)
seen = {old.text: 0, new.text: 0}
for time_of_death in range(int(sys.argv[2])):
    child = os.fork()
    if child == 0:
        while True:
            save(new)
            save(old)
    time.sleep(draw.uniform(0.0, 0.06))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    seen[path.read_text()] += 1  # any other text is a KeyError
print(*seen.values(), len(list(path.parent.glob(".*.part"))))
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill -9")
def test_killed_200_times_while_saving_the_job_file_is_always_whole(tmp_path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(sample_job("plum half log"))
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", KILLER, str(path), "200"],
        cwd=ROOT, env=surroundings(), capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    old, new, interrupted = map(int, done.stdout.split())
    assert old + new == 200
    assert new > 0  # some were killed between two savings
    assert interrupted > 0  # and some amid one
    assert tomllib.loads(path.read_text())["title"] == "Plum half log"
