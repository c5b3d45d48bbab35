"""Who may look, and who may type."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.edge.board.guard import (
    LOCKED,
    MOST_GUESTS,
    TRIES,
    Guard,
    kept_pass,
    our_name,
    our_page,
)
from handsfree.errors import DeviceError

OWNER = "x" * 43


def test_the_owners_pass_is_good_on_this_machine_only() -> None:
    guard = Guard(OWNER, "type", lambda: 0.0)
    assert guard.right(f"Bearer {OWNER}", "127.0.0.1") == "type"
    assert guard.right(f"Bearer {OWNER}", "192.168.1.20") is None
    for wrong in (
        None,
        "",
        "Bearer",
        "Bearer ",
        f"Basic {OWNER}",
        f"Bearer {OWNER[:-1]}",
        "Bearer é",
    ):
        assert guard.right(wrong, "127.0.0.1") is None


def test_a_code_lets_one_machine_in_and_is_used_up() -> None:
    guard = Guard(OWNER, "look", lambda: 0.0)
    code = guard.code
    guest = guard.pair(code)
    assert guest is not None
    assert guard.right(f"Bearer {guest}", "192.168.1.20") == "look"
    assert guard.code != code
    assert guard.pair(code) is None


def test_wrong_codes_rest_the_pairing_and_make_a_new_code() -> None:
    now = [0.0]
    guard = Guard(OWNER, "look", lambda: now[0])
    code = guard.code
    wrong = f"{(int(code) + 1) % 1_000_000:06d}"
    for _ in range(TRIES):
        assert guard.pair(wrong) is None
    assert guard.resting()
    assert guard.code != code
    assert guard.pair(guard.code) is None
    now[0] = LOCKED
    assert guard.pair(guard.code) is not None


def test_only_so_many_machines_are_let_in() -> None:
    guard = Guard(OWNER, "look", lambda: 0.0)
    let_in = [guard.pair(guard.code) for _ in range(MOST_GUESTS)]
    assert None not in let_in
    assert guard.pair(guard.code) is None


def test_nobody_is_paired_where_nothing_is_shared() -> None:
    guard = Guard(OWNER, None, lambda: 0.0)
    assert guard.pair(guard.code) is None


@pytest.mark.parametrize(
    ("host", "address", "ours"),
    [
        ("127.0.0.1:8137", "127.0.0.1", True),
        ("localhost:8137", "127.0.0.1", True),
        ("192.168.1.5:8137", "192.168.1.5", True),
        ("localhost:8137", "192.168.1.5", False),
        ("rebound.example:8137", "127.0.0.1", False),
        ("127.0.0.1", "127.0.0.1", False),
        ("127.0.0.1:8137.example", "127.0.0.1", False),
        (None, "127.0.0.1", False),
    ],
)
def test_a_host_is_the_address_at_which_it_came_in(
    host: str | None, address: str, *, ours: bool
) -> None:
    assert our_name(host, (address, 8137)) is ours


def test_a_page_is_ours_only_at_the_same_address() -> None:
    assert our_page("http://127.0.0.1:8137", "127.0.0.1:8137")
    for origin in (None, "null", "https://127.0.0.1:8137", "http://localhost:8137"):
        assert not our_page(origin, "127.0.0.1:8137")


def test_the_pass_is_kept_and_is_its_users_alone(tmp_path: Path) -> None:
    file = tmp_path / "jobs" / "board.pass"
    made = kept_pass(file)
    assert len(made) >= 43, "256 bits in base64"
    assert file.stat().st_mode & 0o777 == 0o600
    assert kept_pass(file) == made
    file.chmod(0o644)
    assert kept_pass(file) != made, "others may have read it"
    file.write_text("short")
    assert kept_pass(file) not in ("short", made)


def test_a_pass_that_cannot_be_kept_is_told(tmp_path: Path) -> None:
    (tmp_path / "jobs").write_text("a file in the way")
    with pytest.raises(DeviceError, match=r"board\.pass"):
        kept_pass(tmp_path / "jobs" / "board.pass")
