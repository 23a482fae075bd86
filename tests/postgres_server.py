"""A real PostgreSQL server of the tests' own, in a folder of its own, reached by a socket only."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from shutil import which
from uuid import uuid4

import psycopg

PORT = 5544

READY = 0
"""What `pg_isready` ends with where the server takes connections."""

STARTS_WITHIN = 60.0
"""How long the server may take [s]."""

GUARD = """
folder=$1; shift
"$@" >>"$folder/log" 2>&1 &
server=$!
read -r _
if [ -e "$folder/data/postmaster.pid" ]; then kill -QUIT $server; wait $server; rm -rf "$folder"; fi
"""
"""Runs the server until its standard input ends: whoever started it may die without a word, and leaves nothing."""


def find_binaries() -> Path | None:
    """Return the folder of the server's programs, the newest version's; None where there is none."""
    if found := which("initdb"):
        return Path(found).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]))
    return versions[-1].parent if versions else None


def name_of(address: str) -> str:
    """Return the name of the database at an address."""
    return address.partition("?")[0].rpartition("/")[2]


class PostgresServer:
    """Started by `start`, thrown away by `remove`. Runs as the user postgres where we are root, who may not run it."""

    def __init__(self, binaries: Path) -> None:
        self.binaries = binaries
        self.folder = Path(tempfile.mkdtemp(prefix="pg-"))
        self.user = "postgres" if os.geteuid() == 0 else None
        if self.user:
            shutil.chown(self.folder, self.user)
        self._guard: subprocess.Popen | None = None
        self._run("initdb", "-D", str(self.folder / "data"), "-A", "trust", "-U", "app", "--no-sync", "-E", "UTF8")

    def start(self) -> None:
        """Start it and wait until it answers."""
        self._let_go()
        settings = {"listen_addresses": "", "unix_socket_directories": self.folder, "max_connections": 200}
        options = [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        server = [str(self.binaries / "postgres"), "-D", str(self.folder / "data"), "-p", str(PORT), *options]
        self._guard = subprocess.Popen(
            ["sh", "-c", GUARD, "sh", str(self.folder), *server],
            stdin=subprocess.PIPE,
            user=self.user,
            cwd="/",
            start_new_session=True,  # Ctrl-C is for the tests
        )
        end = time.monotonic() + STARTS_WITHIN
        while self._status() != READY:
            if time.monotonic() > end:
                raise RuntimeError(f"the server did not answer: {(self.folder / 'log').read_text()}")
            time.sleep(0.05)

    def stop(self, how: str = "fast") -> None:
        """Stop it; 'immediate' is as if the power had gone."""
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-w", "-m", how, "stop")
        self._let_go()

    def _let_go(self) -> None:
        """Let the guard of a server that has ended end too."""
        if self._guard is not None:
            self._guard.communicate()
            self._guard = None

    def _status(self) -> int:
        """Return what the server says to a knock."""
        knock = [str(self.binaries / "pg_isready"), "-q", "-h", str(self.folder), "-p", str(PORT)]
        return subprocess.run(knock, check=False).returncode

    def remove(self) -> None:
        """Stop it if it runs, and remove its folder."""
        self._let_go()
        shutil.rmtree(self.folder, ignore_errors=True)  # the guard may have done it

    def new_database(self, like: str = "template1") -> str:
        """Return the address of an empty database, or of a copy of the one of this name."""
        name = f"t{uuid4().hex}"
        with psycopg.connect(self._address("postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{like}"')
        return self._address(name)

    def drop_database(self, address: str) -> None:
        """Remove a database, whoever is still in it."""
        name = name_of(address)
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
