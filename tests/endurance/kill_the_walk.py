"""Kill the server while a device sends: what the device was told is stored must be there, once, and nothing is lost.

    python -m tests.endurance.kill_the_walk [--kills 100] [--database sqlite postgresql] [--seed 0]

A device in headless Chromium enters on the walk as fast as a hand, with a photo that is new to the store in each
round. At a random moment the server is killed with SIGKILL, the device goes on for a while, one time in four its page
is closed and opened without a server, and the server is started again. At the end all that was entered must be in the
store, each entry once, in the order in which it was made, each photo whole. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser

from tests.endurance.databases import KINDS, empty_place
from tests.served import Served, launched
from valuation.service import load_shop
from valuation.service.visits import open_shop

sys.path.append(str(Path(__file__).parents[1] / "browser"))
from walker import PHONE, Walker, begun, new_photo


def run(browser: Browser, environ: Mapping[str, str], kills: int, chance: random.Random) -> dict[str, int]:
    """Return how much was entered, and how much of it was lost, doubled or out of order."""
    shop = open_shop(environ, datetime.now(UTC).date())
    visit, token = begun(shop)
    entered: list[tuple[str, object]] = []
    photos = 0
    with Served(environ) as server:
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
        walker = Walker(context, server.address, token)
        walker.ready_offline()
        walker.begin()
        for _ in range(kills):
            for _ in range(chance.randint(1, 4)):
                walker.to_first()
                entered.append(walker.one_answer(chance))
            photos += 1
            walker.photograph(new_photo(), photos)
            walker.page.wait_for_timeout(chance.uniform(0, 300))
            server.kill()
            walker.to_first()
            entered.append(walker.one_answer(chance))
            if chance.random() < 0.25:
                walker.page.close()
                walker = Walker(context, server.address)
            server.start()
            walker.page.evaluate("() => dispatchEvent(new Event('online'))")
        walker.all_sent()
        context.close()
    kept = [entry for entry in shop.history(visit) if entry.field.startswith("finding.")]
    wanted = iter([(entry.field, entry.value) for entry in kept])
    whole = [photo for photo in shop.open_visit(visit, load_shop()).photos if shop.photo_path(photo.hash)]
    found = {
        "entries": len(entered),
        "lost": sum(one not in wanted for one in entered),  # goes on where the one before was found: order counts
        "doubled": len(kept) - len({entry.id for entry in kept}) + max(0, len(kept) - len(entered)),
        "photos": photos,
        "photos lost": photos - len(whole),
    }
    shop.close()
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    print("| database | kills | entries | lost | doubled | photos | photos lost |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    with launched() as browser:
        for kind in given.database:
            with empty_place(kind) as (environ, _):
                found = run(browser, environ, given.kills, random.Random(given.seed))
            print(f"| {kind} | {given.kills} | {' | '.join(f'{count:,}' for count in found.values())} |", flush=True)


if __name__ == "__main__":
    main()
