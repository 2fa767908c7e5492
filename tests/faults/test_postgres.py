"""The embedded database survives killed servers, keepers and clients, and two first starts at once."""

from __future__ import annotations

import os
import signal
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import psycopg
import pytest

from tests.faults.rig import a_client, a_place, command_lines, until
from workshop.embedded import processes
from workshop.embedded.places import CannotKeep, Place, own, settle

pytestmark = pytest.mark.fault


def ask(place: Place, sql: str) -> object:
    """One value from the database, or nothing while it does not answer."""
    try:
        with psycopg.connect(host=str(place.socket_folder), user="postgres", dbname="colature") as db:
            row = db.execute(sql).fetchone()  # type: ignore[arg-type]
    except psycopg.OperationalError:
        return None
    return row[0] if row else None


def joined(client: object) -> str:
    """The socket folder that a client prints once it has joined."""
    return client.stdout.readline().strip()  # type: ignore[attr-defined, no-any-return]


def test_a_killed_server_answers_again_with_its_rows() -> None:
    with a_place() as place, a_client(place) as client:
        assert joined(client) == str(place.socket_folder)
        with psycopg.connect(host=str(place.socket_folder), user="postgres", dbname="colature") as db:
            db.execute("CREATE TABLE kept AS SELECT 'J4' AS tag")
        first = processes.postmaster(place.data)
        assert first is not None
        os.kill(first, signal.SIGKILL)
        until(lambda: processes.postmaster(place.data) not in (None, first))
        until(lambda: ask(place, "SELECT tag FROM kept") == "J4")


def test_four_first_starts_at_once_make_one_server() -> None:
    with a_place() as place, ExitStack() as stack:
        clients = [stack.enter_context(a_client(place)) for _ in range(4)]
        assert {joined(client) for client in clients} == {str(place.socket_folder)}
        servers = [pid for pid in processes.living(place.data) if pid == processes.postmaster(place.data)]
        assert len(servers) == 1
        assert len(command_lines("workshop.embedded.keeper", place.base)) == 1
        assert len(command_lines("bin/postgres -D", place.data)) == 1


def test_the_server_leaves_with_its_last_client_even_a_killed_one() -> None:
    with a_place() as place:
        with a_client(place) as client:
            joined(client)
            client.send_signal(signal.SIGKILL)
        until(lambda: not processes.living(place.data))
        until(lambda: not command_lines("workshop.embedded.keeper", place.base))
        assert not (place.data / "postmaster.pid").exists()


def test_a_killed_keeper_takes_its_server_along_and_the_next_client_starts_anew() -> None:
    with a_place() as place, a_client(place) as first:
        joined(first)
        (keeper,) = command_lines("workshop.embedded.keeper", place.base)
        os.kill(keeper, signal.SIGKILL)
        with a_client(place) as second:
            assert joined(second) == str(place.socket_folder)
            (successor,) = command_lines("workshop.embedded.keeper", place.base)
            assert successor != keeper
            assert ask(place, "SELECT 1") == 1


def test_a_stale_pid_file_with_a_number_in_use_does_not_stop_the_start() -> None:
    with a_place() as place:
        with a_client(place) as client:
            joined(client)
        until(lambda: not processes.living(place.data))
        (place.data / "postmaster.pid").write_text(f"{os.getpid()}\n{place.data}\n")
        with a_client(place) as client:
            assert joined(client) == str(place.socket_folder)


def test_without_proc_the_server_is_found_by_ps_and_a_strangers_number_is_not() -> None:
    with a_place() as place:
        with a_client(place) as client:
            joined(client)
            assert processes.from_ps(place.data) == [processes.postmaster(place.data)]
            assert processes.from_ps(place.data)[0] in processes.from_proc(place.data)
        until(lambda: not processes.living(place.data))
        (place.data / "postmaster.pid").write_text(f"{os.getpid()}\n")
        assert processes.from_ps(place.data) == []


def test_a_folder_with_other_things_in_it_is_refused_in_words() -> None:
    with a_place() as place:
        own(place.data)
        (place.data / "letters.txt").write_text("not a database")
        with a_client(place) as client:
            words = client.stdout.read()  # type: ignore[union-attr]
        assert f"{place.data} holds no database: move it away and start again." in words
        assert (place.data / "letters.txt").exists()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root hands the server to another user")
def test_a_private_folder_of_root_keeps_its_rights_and_its_database_elsewhere() -> None:
    with a_place(mode=0o700) as place, a_client(place) as client:
        assert joined(client) == str(place.socket_folder)
        assert place.base.parent.name == "lib"
        assert ask(place, "SELECT 1") == 1


@pytest.mark.skipif(os.geteuid() != 0, reason="only root hands the server to another user")
def test_sixteen_first_starts_in_a_private_folder_settle_in_one_place(tmp_path: Path) -> None:
    tmp_path.chmod(0o700)
    for number in range(12):
        folder = tmp_path / str(number)
        if number % 2:
            folder.mkdir()  # an empty one is there already
        with ThreadPoolExecutor(16) as pool:
            settled = set(pool.map(settle, [folder] * 16))
        (place,) = settled
        assert folder.resolve() == place.base
        place.base.rmdir()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root hands the server to another user")
def test_data_that_became_unreachable_is_not_left_behind_silently() -> None:
    with a_place() as place:
        own(place.data)
        place.base.parent.chmod(0o700)
        with pytest.raises(CannotKeep, match="holds data that the user colature can no longer reach"):
            settle(place.base)
