"""A grand from above, and one of its keys from the side."""

from __future__ import annotations

from valuation.drawing.shapes import Part, box, dots, line, lines, row, solid, spread

HEIGHT = 626

_OUTER = "M68 434V60Q68 6 122 6H150C214 6 232 44 246 104C260 164 300 190 340 210Q384 232 384 268V434z"
_INNER = "M88 282V74Q88 48 118 48H146C190 48 208 70 222 118C236 176 286 212 328 232Q364 248 364 282z"


def parts() -> tuple[Part, ...]:
    """Return the parts in the order in which they lie over each other, the lowest first."""
    return (
        _whole(), _cabinet(), _frame(), _soundboard(), _plate(), _strings(), _treble_bridge(), _tenor_bridge(),
        _bass_bridge(), _dampers(), _pinblock(), _keys(), _action(), _hammers(), _pedals(), _player(), _tuning(),
    )  # fmt: skip


def _whole() -> Part:
    boards = lines([(x, 588, x - 9, 621) for x in spread(40, 350, 5)])
    return Part("whole", (box(2, 586, 386, 36, 4),), (195, 604), 300, (boards,))


def _cabinet() -> Part:
    lid = "M60 430L6 412V60Q6 22 36 16L60 12z"
    cheeks = "M68 386h16v48h-16zM368 386h16v48h-16z"
    hinges = dots([(62, y) for y in (80, 220, 360)], 3)
    return Part("cabinet", (lid, cheeks), (34, 214), 56, (line("M16 406V66Q16 32 38 27"), hinges))


def _frame() -> Part:
    return Part("frame", (_OUTER + _INNER,), (132, 27), 96, ())


def _soundboard() -> Part:
    grain = lines([(102, y, 102 + (y - 96) * 0.62, 96) for y in spread(120, 250, 5)])
    return Part("soundboard", (_INNER,), (166, 148), 98, (grain,))


def _plate() -> Part:
    rim = (
        "M88 282V74Q88 48 118 48H146C190 48 208 70 222 118C236 176 286 212 328 232Q364 248 364 282H352Q350 260 322 244"
    )
    rim += "C278 224 224 184 209 122Q198 92 160 90H112Q100 90 100 102V282z"
    struts = "M152 90h7l6 192h-7zM203 118l7 3l16 161h-8zM276 221l7 4l8 57h-8z"
    pins = dots([(x, 84) for x in spread(104, 168, 14)], 1.3)
    return Part("plate", (rim, struts), (140, 67), 92, (pins,))


def _strings() -> Part:
    band = box(88, 256, 276, 42)
    bass = lines([(x, 298, 112 + (x - 92) * 1.1, 92) for x in spread(92, 144, 8)], 1.5, "wire")
    tenor = lines([(x, 298, 100 + (x - 156) * 0.8, 128 + (x - 156) * 0.35) for x in spread(156, 262, 9)], 0.7)
    treble = lines([(x, 298, x - (360 - x) * 0.22, 172 + (x - 266) * 0.72) for x in spread(270, 356, 7)], 0.7)
    return Part("strings", (band,), (226, 277), 220, (bass, tenor, treble))


def _treble_bridge() -> Part:
    run = "M116 196C170 190 190 214 236 232S300 244 330 262"
    body = "M114 187C174 180 194 205 240 223S304 235 335 254L326 270C296 252 276 256 232 241S168 199 118 205z"
    return Part("treble_bridge", (body,), (240, 230), 96, (line(run),), (run,))


def _tenor_bridge() -> Part:
    run = "M112 232L150 240"
    return Part("tenor_bridge", ("M114 223L152 231L148 249L110 241z",), (134, 236), 80, (), (run,))


def _bass_bridge() -> Part:
    run = "M114 118L178 108"
    return Part("bass_bridge", ("M113 109L177 99L179 117L115 127z",), (148, 112), 78, (line(run),), (run,))


def _dampers() -> Part:
    heads = row(spread(92, 296, 28), 303, "h6v16h-6z", "felt")
    wires = lines([(x + 3, 319, x + 3, 338) for x in spread(92, 296, 28)])
    bare = lines([(x, 298, x, 340) for x in spread(312, 358, 6)], 0.8)
    return Part("dampers", (box(88, 298, 218, 42),), (197, 320), 180, (heads, wires, bare))


def _pinblock() -> Part:
    pins = [(x, y) for row, y in enumerate((350, 360, 370)) for x in spread(94 + row * 2, 354 + row * 2, 44)]
    return Part("pinblock", (box(88, 340, 276, 44),), (226, 362), 220, (dots(pins, 1.7),))


def _keys() -> Part:
    whites = spread(84, 368, 36)
    edges = lines([(x, 386, x, 434) for x in whites[1:-1]])
    blacks = [x - 2.6 for i, x in enumerate(whites[1:-1]) if (i + 5) % 7 not in {2, 6}]
    lever = "M8 546h236v-8h40v18h-40l-6 10h-230q-4 0 -4 -6v-10z"
    front = line("M76 546v20M8 552h68", 1.2)
    pin = lines([(158, 566, 158, 578), (30, 566, 30, 578)], 2.5)
    details = (edges, row(blacks, 386, "h5.2v28h-5.2z"), front, pin)
    return Part("keys", (box(84, 386, 284, 48), lever), (226, 422), 220, details, ("M20 556H150",))


def _action() -> Part:
    lever = "M236 530H120q-8 0 -8 -6l10 -22h92q22 0 28 20q2 8 -6 8z"
    jack = line("M132 502l-12 -14M150 502V490M214 528v12", 3, "wire")
    spring = line("M150 500q24 -14 52 4", 1.4)
    return Part("action_parts", (lever, box(112, 496, 128, 36, 6)), (176, 514), 116, (jack, spring))


def _hammers() -> Part:
    shank = "M72 482l156 -8v-6l-156 6z"
    head = "M252 452q-24 -12 -40 4l-2 24q6 14 22 12q22 -2 26 -18q2 -14 -6 -22z"
    flange = "M60 468h22v20h-22z"
    core = solid("M234 490l4 -26q-8 -6 -14 0l2 26z", "pale")
    string = line("M4 446H286", 1.6, "wire")
    return Part("hammers", (head, shank, flange), (150, 474), 110, (core, string), ("M160 472H238",))


def _pedals() -> Part:
    posts = lines([(322, 452, 316, 544), (358, 452, 364, 544)], 5, "rib")
    rods = lines([(334, 452, 334, 548), (346, 452, 346, 548)], 1.5)
    feet = "".join(f"M{x - 6} 550h12l3 18q-9 7 -18 0z" for x in (318, 340, 362))
    return Part("pedals", (box(298, 448, 84, 126, 6),), (340, 500), 80, (posts, rods, solid(feet, "brass")))


def _player() -> Part:
    return Part("player", (box(286, 66, 98, 44, 4),), (335, 88), 94, (line(box(294, 72, 82, 32, 6)),))


def _tuning() -> Part:
    fork = line("M284 24h30m0 0q0 -8 8 -8h54M314 24q0 8 8 8h54", 3.2, "wire")
    return Part("tuning", (box(270, 6, 116, 46, 8),), (328, 41), 110, (fork,))
