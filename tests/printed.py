"""What is in a PDF, read back with pypdf: its text, its tags, its fonts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from pypdf import PdfReader


@dataclass(frozen=True)
class Printed:
    """A PDF read back: `text` has one space for any run of blanks, line ends and places to break."""

    pages: int
    text: str
    title: str
    language: str
    marked: bool
    tags: dict[str, int]
    alternatives: tuple[str, ...]
    fonts: dict[str, bool]
    standards: str
    size_mm: tuple[int, int]


def read_back(pdf: bytes) -> Printed:
    """Return what is in a PDF."""
    reader = PdfReader(BytesIO(pdf))
    root = reader.trailer["/Root"]
    tags: dict[str, int] = {}
    alternatives: list[str] = []
    _walk(root["/StructTreeRoot"], tags, alternatives)
    fonts: dict[str, bool] = {}
    for page in reader.pages:
        for font in page["/Resources"].get_object().get("/Font", {}).values():
            one = font.get_object()
            described = one.get("/DescendantFonts", [one])[0].get_object()["/FontDescriptor"].get_object()
            fonts[one["/BaseFont"]] = any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    box = reader.pages[0].mediabox
    return Printed(
        pages=len(reader.pages),
        text=plain("\n".join(page.extract_text() for page in reader.pages)),
        title=str(reader.metadata.title),
        language=str(root["/Lang"]),
        marked=bool(root["/MarkInfo"]["/Marked"]),
        tags=tags,
        alternatives=tuple(alternatives),
        fonts=fonts,
        standards=root["/Metadata"].get_object().get_data().decode(),
        size_mm=(round(float(box.width) / 72 * 25.4), round(float(box.height) / 72 * 25.4)),
    )


def plain(text: str) -> str:
    """Return a text without places to break, with one space for any run of blanks."""
    return re.sub(r"\s+", " ", re.sub("[\u200b\u00ad\u2068\u2069]", "", text)).strip()


def _walk(node: Any, tags: dict[str, int], alternatives: list[str]) -> None:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            _walk(child, tags, alternatives)
    elif isinstance(node, dict):
        if "/S" in node:
            tags[node["/S"]] = tags.get(node["/S"], 0) + 1
        if "/Alt" in node:
            alternatives.append(str(node["/Alt"]))
        if "/K" in node:
            _walk(node["/K"], tags, alternatives)
