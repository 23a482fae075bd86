"""An upright, opened from the front, and its back beside it."""

from __future__ import annotations

from valuation.drawing.shapes import Part, box, dots, line, lines, row, solid, spread

HEIGHT = 548

_LEFT, _RIGHT = 16.0, 252.0
"""The inside of the case."""

_DAMPERS_END = 194.0
"""The highest notes have no dampers."""


def parts() -> tuple[Part, ...]:
    """Return the parts in the order in which they lie over each other, the lowest first."""
    return (
        _whole(), _cabinet(), _soundboard(), _frame(), _strings(), _plate(), _treble_bridge(), _tenor_bridge(),
        _bass_bridge(), _pinblock(), _dampers(), _hammers(), _action(), _keys(), _pedals(), _player(), _tuning(),
    )  # fmt: skip


def _whole() -> Part:
    boards = lines([(x, 510, x - 9, 543) for x in spread(40, 350, 8)])
    return Part("whole", (box(2, 508, 386, 36, 4),), (195, 526), 300, (boards,))


def _cabinet() -> Part:
    lid = "M4 52L18 6H250L264 52z"
    left, right = box(4, 52, 12, 452), box(252, 52, 12, 452)
    bed, bottom = "M0 300h268v12h-268z", box(4, 496, 260, 8)
    feet = (solid(box(8, 504, 14, 5)), solid(box(246, 504, 14, 5)))
    edge = line("M16 14H252M12 44H256")
    return Part("cabinet", (lid, left, right, bed, bottom), (134, 30), 200, (edge, *feet))


def _soundboard() -> Part:
    front = box(_LEFT, 312, 236, 104)
    back = box(280, 92, 104, 368)
    ribs = lines([(280, y + 40, 384, y) for y in spread(96, 416, 9)], 3, "rib")
    grain = lines([(_LEFT, y, _LEFT + (y - 312) * 1.2, 312) for y in spread(322, 412, 7)])
    return Part("soundboard", (front, back), (58, 340), 92, (grain, ribs))


def _frame() -> Part:
    top, foot = box(276, 52, 112, 42), box(276, 456, 112, 48)
    posts = tuple(box(x, 94, 12, 362) for x in (276, 326, 376))
    bolts = dots([(x, y) for x in (282, 332, 382) for y in (60, 497)], 2.2)
    return Part("frame", (top, foot, *posts), (332, 74), 104, (bolts,))


def _strings() -> Part:
    up = lines([(x, 96, x + (x - 134) * 0.02, 132) for x in spread(22, 246, 42)], 0.8)
    bass = lines([(x, 312, 150 + (x - 20) * 1.1, 414) for x in spread(20, 88, 12)], 1.5, "wire")
    rest = lines([(x, 312, x - (250 - x) * 0.38, 414 - max(0, x - 160) * 0.9) for x in spread(106, 244, 26)], 0.7)
    return Part("strings", (box(_LEFT, 94, 236, 40),), (134, 114), 200, (up, bass, rest))


def _plate() -> Part:
    web = "M16 312h8v92h220v-92h8v140h-236z"
    strut = "M92 312h9l44 92h-9z"
    pins = dots([(x, 410 + (i % 2) * 5) for i, x in enumerate(spread(24, 244, 45))], 1.3)
    holes = line("M40 447h60M168 447h60", 2.5)
    return Part("plate", (web, strut), (134, 434), 180, (pins, holes))


def _treble_bridge() -> Part:
    run = "M74 396C130 388 196 352 242 322"
    return Part(
        "treble_bridge", ("M71 388C127 379 190 345 237 315L247 329C202 361 135 396 77 404z",), (176, 350), 84,
        (line(run, 1, "fine"),), (run,),
    )  # fmt: skip


def _tenor_bridge() -> Part:
    run = "M28 384L62 372"
    return Part("tenor_bridge", ("M25 376L59 364L65 380L31 392z",), (52, 376), 80, (), (run,))


def _bass_bridge() -> Part:
    run = "M172 398L236 378"
    return Part("bass_bridge", ("M169 389L233 369L239 387L175 407z",), (208, 388), 76, (line(run),), (run,))


def _pinblock() -> Part:
    pins = [(x, y) for row, y in enumerate((60, 70, 80)) for x in spread(24 + row * 2, 240 + row * 2, 40)]
    return Part("pinblock", (box(_LEFT, 52, 236, 42),), (134, 73), 200, (dots(pins, 1.7),))


def _hammers() -> Part:
    at = spread(23, 245, 28)
    felt = row((x - 3 for x in at), 172, "v-22q0 -11 3 -11q3 0 3 11v22z", "felt")
    shanks = [(x, 172, x, 178) for x in at]
    return Part("hammers", (box(_LEFT, 134, 236, 44),), (134, 157), 200, (felt, lines(shanks, 1.5)))


def _dampers() -> Part:
    felts = row(spread(20, _DAMPERS_END - 9, 24), 184, "h5v14h-5z", "felt")
    wires = lines([(x + 2.5, 198, x + 2.5, 216) for x in spread(20, _DAMPERS_END - 9, 24)])
    bare = lines([(x, 178, x, 216) for x in spread(_DAMPERS_END + 5, 248, 9)], 0.8)
    return Part("dampers", (box(_LEFT, 178, _DAMPERS_END - _LEFT, 38),), (104, 197), 150, (felts, wires, bare))


def _action() -> Part:
    at = spread(23, 245, 28)
    levers = row((x - 3 for x in at), 222, "h6v8l2 12h-10l2 -12z", "pale")
    rods = lines([(x, 242, x, 254) for x in at], 1.6)
    return Part("action_parts", (box(_LEFT, 216, 236, 40),), (134, 236), 200, (levers, rods, line("M16 228H252", 2)))


def _keys() -> Part:
    whites = spread(6, 262, 33)
    edges = lines([(x, 256, x, 300) for x in whites[1:-1]])
    missing = {2, 6}  # of the seven white keys from C, the third and the seventh have no black one after them
    blacks = [x - 2.6 for i, x in enumerate(whites[1:-1]) if (i + 5) % 7 not in missing]
    return Part("keys", (box(6, 256, 256, 44),), (134, 290), 200, (edges, row(blacks, 256, "h5.2v26h-5.2z")))


def _pedals() -> Part:
    rods = lines([(134, 480, 134, 458), (112, 480, 40, 464), (156, 480, 228, 464)], 3, "rib")
    feet = "".join(f"M{x - 5} 478h10l3 16q-8 7 -16 0z" for x in (112, 134, 156))
    return Part("pedals", (box(_LEFT, 452, 236, 46),), (60, 482), 72, (rods, solid(feet, "brass")))


def _player() -> Part:
    return Part("player", (box(288, 404, 84, 46, 4),), (330, 427), 80, (line(box(296, 410, 68, 34, 6)),))


def _tuning() -> Part:
    fork = line("M288 20h30m0 0q0 -8 8 -8h46M318 20q0 8 8 8h46", 3.2, "wire")
    return Part("tuning", (box(276, 2, 112, 44, 8),), (332, 36), 104, (fork,))
