import pytest

from formmaker.desk.guard import Guard, inside, new_key, own_hosts

GUARD = Guard(key="right", hosts=own_hosts(None))


def test_the_right_key_on_loopback_is_let_in() -> None:
    assert GUARD.admits("127.0.0.1:8000", None, "right")
    assert GUARD.admits("localhost:8000", "http://localhost:8000", "right")
    assert GUARD.admits("[::1]:8000", None, "right")


@pytest.mark.parametrize(
    ("host", "origin", "key"),
    [
        ("127.0.0.1:8000", None, "wrong"),
        ("127.0.0.1:8000", None, ""),
        ("127.0.0.1:8000", None, "right\N{COMBINING ACUTE ACCENT}"),
        ("evil.example", None, "right"),  # a name that was made to lead here
        ("127.0.0.1.evil.example:8000", None, "right"),
        ("", None, "right"),
        ("[", None, "right"),
        ("127.0.0.1:8000", "http://evil.example", "right"),
        ("127.0.0.1:8000", "http://127.0.0.1:9000", "right"),  # another program of this machine
        ("127.0.0.1:8000", "null", "right"),  # a page in a sandbox, or from a file
        ("192.168.0.7:8000", None, "right"),  # the network, which was not let in
    ],
)
def test_everybody_else_is_not(host: str, origin: str | None, key: str) -> None:
    assert not GUARD.admits(host, origin, key)


def test_the_network_is_let_in_where_it_was_asked_for() -> None:
    open_guard = Guard(key="right", hosts=own_hosts("192.168.0.7"))
    assert open_guard.admits("192.168.0.7:8000", "http://192.168.0.7:8000", "right")
    assert not open_guard.admits("192.168.0.8:8000", None, "right")


def test_keys_differ_and_can_be_typed() -> None:
    keys = {new_key() for _ in range(100)}
    assert len(keys) == 100
    assert all(len(key) == 20 and not set(key) & set("il1o0") for key in keys)


def test_only_files_inside_a_folder_are_found(tmp_path) -> None:
    folder, outside = tmp_path / "exports", tmp_path / "job.toml"
    folder.mkdir()
    outside.write_text("secret")
    (folder / "sheet.svg").write_text("<svg/>")
    (folder / "link.svg").symlink_to(outside)
    (folder / "way").symlink_to(tmp_path)
    assert inside(folder, "sheet.svg") == (folder / "sheet.svg").resolve()
    for name in ("../job.toml", "link.svg", "way/job.toml", str(outside), "nothing.svg", "", "a\0b", "x" * 5000):
        assert inside(folder, name) is None
