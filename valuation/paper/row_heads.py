"""Makes the first cell of each row of a table its head in the tags: it is read out before what stands beside it.

Typst has heads of rows among what it calls experimental, and its binding for Python can't ask for that.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pikepdf


def with_row_heads(pdf: bytes) -> bytes:
    """Return a tagged PDF with the heads of its rows told; the same bytes for the same PDF."""
    import pikepdf  # here, not above: only paper needs it

    with pikepdf.open(io.BytesIO(pdf)) as opened:
        for row in _elements(opened.Root.StructTreeRoot.K):
            if row.S == "/TR" and row.P.S != "/THead":
                _name(list(row.K))
        made = io.BytesIO()
        opened.save(made, deterministic_id=True, fix_metadata_version=False)
        return made.getvalue()


def _elements(node: pikepdf.Object) -> Iterator[pikepdf.Object]:
    """Yield every element of the structure below a node, from the top down."""
    import pikepdf

    if isinstance(node, pikepdf.Array):
        for child in node:
            yield from _elements(child)
    elif isinstance(node, pikepdf.Dictionary):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from _elements(node.K)


def _name(cells: list[pikepdf.Object]) -> None:
    """Make the first cell of a row that isn't empty its head; the others find their heads by the scope of each."""
    import pikepdf

    head = next((cell for cell in cells if len(cell.get("/K", ()))), None)
    for cell in cells:
        for attributes in cell.get("/A", ()):
            if attributes.O == "/Table":
                del attributes["/Headers"]
                if cell is head:
                    attributes.Scope = pikepdf.Name.Row
    if head is not None:
        head.S = pikepdf.Name.TH
