"""``python -m valuation``."""

from __future__ import annotations

import sys
from io import TextIOWrapper

if __name__ == "__main__":
    try:
        from valuation.cli import main

        # JSON and names are UTF-8 wherever they are sent, also into a file on Windows.
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, TextIOWrapper):
                stream.reconfigure(encoding="utf-8")
        main(prog_name="python -m valuation")
    except KeyboardInterrupt:  # while still loading
        sys.exit(130)
