"""What the runs that kill the tool share: a process that works until it is killed, and the table that is printed."""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from tests.endurance.databases import KINDS

ROOT = Path(__file__).resolve().parents[2]


def killed(
    command: list[str], environ: dict[str, str], chance: random.Random, *, after: str, within: float
) -> list[bytes]:
    """Let a module work, kill it at a random moment after it has said something, and return all that it said."""
    process = subprocess.Popen(
        [sys.executable, "-m", *command], cwd=ROOT, env=os.environ | environ, stdout=subprocess.PIPE, bufsize=0
    )
    with process:
        lines = [b""]
        while json.loads(lines[-1] or "{}").get("what") != after:
            lines.append(process.stdout.readline())
            if not lines[-1]:
                raise RuntimeError(f"the process ended by itself with {process.wait()}")
        os.set_blocking(process.stdout.fileno(), False)
        end = time.monotonic() + chance.uniform(0, within)
        rest = b""
        while time.monotonic() < end:  # read on, so that it is never held up by a full pipe
            rest += process.stdout.read() or b""
            time.sleep(0.002)
        process.send_signal(signal.SIGKILL)
        process.wait()
        os.set_blocking(process.stdout.fileno(), True)
        rest += process.stdout.read()
    return lines[1:] + rest.splitlines(keepends=True)


def print_table(about: str, run: Callable[[str, int, int], dict[str, int]]) -> None:
    """Run on the databases that the command line names, and print what each counted."""
    parser = argparse.ArgumentParser(description=about.splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    for number, kind in enumerate(given.database):
        counts = run(kind, given.kills, given.seed)
        if number == 0:
            print(f"| database | {' | '.join(counts)} |\n|{' --- |' * (len(counts) + 1)}")
        print(f"| {kind} | {' | '.join(f'{count:,}' for count in counts.values())} |", flush=True)
