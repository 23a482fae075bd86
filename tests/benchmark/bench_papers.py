"""How long a paper takes, against the appraisal it tells of: content and layout, with and without photos.

    .venv/bin/python -m tests.benchmark.bench_papers

Prints seconds for what they are worth on this machine, and the ratio to one appraisal in the same run.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))

from demo_pianos import NAMES, WRITTEN_ON, demo_shop, study_of

from valuation.engine.appraise import appraise
from valuation.service.papers import WRITTEN, Picture, print_form, write_paper

_TIMES = 5


def seconds(work) -> float:
    """Return the middle time of a few runs after one that doesn't count."""
    work()
    taken = []
    for _ in range(_TIMES):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return median(taken)


def main() -> None:
    """Measure and print."""
    # as uneven as a room: coarse shapes, and a little grain
    chance = np.random.default_rng(1)
    coarse = Image.fromarray(chance.integers(0, 255, (75, 100, 3), dtype=np.uint8)).resize((4000, 3000))
    grain = chance.normal(0, 4, (3000, 4000, 1))
    camera = io.BytesIO()
    Image.fromarray(np.clip(np.asarray(coarse) + grain, 0, 255).astype(np.uint8)).save(camera, "JPEG", quality=85)
    photos = [Picture(data=camera.getvalue(), caption=f"Photo {i}") for i in range(12)]
    print(f"each photo: 12 million pixels, {len(camera.getvalue()) / 1e6:.1f} MB")
    for name in (NAMES[0], NAMES[4]):
        study = study_of(name)
        once = seconds(lambda study=study: appraise(study.visit, study.tables, on=study.on))
        print(f"{name}: one appraisal {once:.3f} s")
        for what in WRITTEN:
            took = seconds(lambda s=study, w=what: write_paper(w, s, written_on=WRITTEN_ON, shop=demo_shop()))
            print(f"  {what:11} {took:.3f} s   {took / once:5.1f} appraisals")
        for count in (6, 12):
            some = photos[:count]
            took = seconds(lambda s=study, p=some: write_paper("evaluation", s, written_on=WRITTEN_ON, pictures=p))
            print(f"  evaluation with {count} such photos {took:.3f} s   {took / once:5.1f} appraisals")
    took = seconds(lambda: print_form(study.tables, "upright"))
    print(f"  the form {took:.3f} s   {took / once:5.1f} appraisals")


if __name__ == "__main__":
    main()
