"""A real PostgreSQL server of the tests' own, in a folder of its own, reached by a socket only."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from shutil import which
from uuid import uuid4

import psycopg

PORT = 5544


def find_binaries() -> Path | None:
    """Return the folder of the server's programs, the newest version's; None where there is none."""
    if found := which("initdb"):
        return Path(found).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]))
    return versions[-1].parent if versions else None


class PostgresServer:
    """Started by `start`, thrown away by `remove`. Runs as the user postgres where we are root, who may not run it."""

    def __init__(self, binaries: Path) -> None:
        self.binaries = binaries
        self.folder = Path(tempfile.mkdtemp(prefix="pg-"))
        self.user = "postgres" if os.geteuid() == 0 else None
        if self.user:
            shutil.chown(self.folder, self.user)
        self._run("initdb", "-D", str(self.folder / "data"), "-A", "trust", "-U", "app", "--no-sync", "-E", "UTF8")

    def start(self) -> None:
        """Start it and wait until it answers."""
        options = f"-p {PORT} -c listen_addresses='' -c unix_socket_directories={self.folder} -c max_connections=200"
        log = str(self.folder / "log")
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-w", "-l", log, "-o", options, "start")

    def stop(self, how: str = "fast") -> None:
        """Stop it; 'immediate' is as if the power had gone."""
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-w", "-m", how, "stop")

    def remove(self) -> None:
        """Stop it if it runs, and remove its folder."""
        try:
            if (self.folder / "data" / "postmaster.pid").exists():
                self.stop("immediate")
        finally:
            shutil.rmtree(self.folder)

    def new_database(self) -> str:
        """Return the address of an empty database."""
        name = f"t{uuid4().hex}"
        with psycopg.connect(self._address("postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}"')
        return self._address(name)

    def drop_database(self, address: str) -> None:
        """Remove a database, whoever is still in it."""
        name = address.partition("?")[0].rpartition("/")[2]
        with psycopg.connect(self._address("postgres"), autocommit=True) as connection:
            connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')

    def _address(self, name: str) -> str:
        return f"postgresql://app@/{name}?host={self.folder}&port={PORT}"

    def _run(self, program: str, *arguments: str) -> None:
        command = [str(self.binaries / program), *arguments]
        done = subprocess.run(
            command, user=self.user, cwd="/", stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, check=False
        )
        if done.returncode:
            raise RuntimeError(f"{program} ended with {done.returncode}: {done.stderr}")
