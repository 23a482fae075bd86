"""Where an endurance run keeps its store: a folder, and SQLite or a PostgreSQL server of its own."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.postgres_server import PostgresServer, find_binaries

KINDS = ("sqlite", "postgresql")


@contextmanager
def empty_place(kind: str) -> Iterator[tuple[dict[str, str], PostgresServer | None]]:
    """Give the environment of a store that isn't there yet, and the server if there is one."""
    with TemporaryDirectory(prefix="endurance-") as folder:
        if kind == "sqlite":
            yield {"VALUATION_DATA": folder, "DATABASE_URL": ""}, None
            return
        binaries = find_binaries()
        if binaries is None:
            raise SystemExit("PostgreSQL is missing; install it (on Debian 12: apt-get install postgresql-15)")
        server = PostgresServer(binaries)
        try:
            server.start()
            yield {"VALUATION_DATA": folder, "DATABASE_URL": server.new_database()}, server
        finally:
            server.remove()


def kill_server(server: PostgresServer) -> None:
    """Kill all of a PostgreSQL server as the power would, by the ids of its own processes, and start it again."""
    main = int((server.folder / "data" / "postmaster.pid").read_text().splitlines()[0])
    family = [main, *(int(pid) for pid in Path(f"/proc/{main}/task/{main}/children").read_text().split())]
    for pid in family:
        os.kill(pid, signal.SIGKILL)
    while any(Path(f"/proc/{pid}").exists() and not _is_dead(pid) for pid in family):
        time.sleep(0.02)
    # after a real loss of power no process has these numbers; here one that is dead may still be on the list
    for lock in (server.folder / "data" / "postmaster.pid", *server.folder.glob(".s.PGSQL.*")):
        lock.unlink(missing_ok=True)
    server.start()


def _is_dead(pid: int) -> bool:
    """Tell whether a process only waits to be forgotten by whoever started it."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True
