"""How large a finger's place each part of a drawing has, worked out from what the browser would hit."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import distance_transform_edt

HITS = """step => {
  const box = document.querySelector('svg.piano').getBoundingClientRect(), rows = [];
  for (let y = step / 2; y < box.height; y += step) {
    const row = [];
    for (let x = step / 2; x < box.width; x += step) {
      const hit = document.elementFromPoint(box.left + x, box.top + y);
      row.push(hit?.closest('[data-part]')?.dataset.part ?? '');
    }
    rows.push(row);
  }
  return rows;
}"""


def widest_circles(page, step: float = 2) -> dict[str, float]:
    """Return of each part the diameter of the widest circle that lies within what can be tapped of it [px]."""
    grid = np.array(page.evaluate(HITS, step))
    found = {}
    for part in set(grid.flat) - {""}:
        inside = np.pad(grid == part, 1)
        found[part] = 2 * step * (distance_transform_edt(inside).max() - 0.5)
    return found
