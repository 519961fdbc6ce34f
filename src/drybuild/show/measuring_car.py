"""Drawings of what is measured on the whole car and in its systems. Not to scale, of no car."""

from __future__ import annotations

from drybuild.show.measuring_lines import THICK, Sketch


def car(s: Sketch) -> None:
    """The car from the side and from above, on its wheels."""
    s.words(30, 22, "from the side, front to the left", size=10.5)
    s.ground(20, 470, 196)
    s.line((40, 150), (44, 118), (120, 96), (168, 62), (300, 60), (350, 96), (440, 106), (448, 150),
           width=1.6)  # fmt: skip
    s.line((40, 150), (84, 156), width=1.6)
    s.line((152, 166), (330, 166), width=1.6)
    s.line((398, 156), (448, 150), width=1.6)
    for x in (118, 364):
        s.circle(x, 164, 32, width=THICK)
        s.circle(x, 164, 3, fill="#000")
    s.across("e", (92, 196), (92, 160), at=0.5, aside=(-24, 12))
    s.across("f", (240, 196), (240, 167), at=0.5, aside=(26, 2))
    s.across("g", (338, 196), (338, 162), at=0.5, aside=(-22, 12))
    s.box(46, 118, 16, 12, width=1.2)
    s.across("h", (30, 196), (30, 130), at=0.4)
    s.edge((24, 130), (48, 130))
    for x, letter in ((118, "i"), (364, "j")):
        if letter in s.shown:
            s.box(x - 34, 198, 68, 9, width=1.4, fill="#ddd")
            s.ring(x, 226, letter)
    if "k" in s.shown:
        s.line((84, 248), (398, 248), width=1.4)
        s.ring(241, 248, "k")
        s.words(262, 266, "all of it on one plate", size=10)
    s.words(500, 22, "from above", size=10.5)
    s.line((530, 60), (548, 40), (700, 40), (716, 60), (716, 270), (700, 292), (548, 292),
           (530, 270), width=1.2, closed=True)  # fmt: skip
    for x in (534, 692):
        for y in (70, 220):
            s.round_box(x, y, 22, 50, 7, width=2.0, fill="#fff")
    s.across("a", (520, 95), (520, 245), at=0.5, aside=(-18, 0))
    s.edge((514, 95), (545, 95))
    s.edge((514, 245), (545, 245))
    s.across("b", (730, 95), (730, 245), at=0.5, aside=(18, 0))
    s.edge((703, 95), (736, 95))
    s.edge((703, 245), (736, 245))
    s.across("c", (545, 140), (703, 140), at=0.5)
    s.edge((545, 120), (545, 146))
    s.edge((703, 120), (703, 146))
    s.across("d", (545, 200), (703, 200), at=0.5)
    s.edge((545, 194), (545, 222))
    s.edge((703, 194), (703, 222))
    s.words(560, 316, "hub centres plumbed to the floor", size=10)


def springs(s: Sketch) -> None:
    """Spring, damper, bar and link on the bench."""
    s.ground(20, 220, 288)
    s.coil(110, 60, 288, 86, 7)
    s.across("a", (44, 288), (44, 60), at=0.5)
    s.edge((38, 60), (110, 60))
    s.points_at("b", (146, 156), (190, 140))
    s.across("c", (70, 44), (150, 44), at=0.5, aside=(0, -18))
    s.edge((70, 40), (70, 70))
    s.edge((150, 40), (150, 70))
    s.words(160, 48, "outside, less the wire", size=8)
    for x, top, name in ((300, 46, "drawn out"), (410, 118, "pushed in")):
        s.circle(x, 282, 8, width=2.0)
        s.box(x - 14, 180, 28, 94, width=2.0)
        s.line((x, 180), (x, top + 8), width=3.0)
        s.circle(x, top, 8, width=2.0)
        s.words(x, 312, name, size=10, anchor="middle")
    s.across("d", (262, 282), (262, 46), at=0.5)
    s.edge((256, 46), (292, 46))
    s.edge((256, 282), (292, 282))
    s.across("e", (372, 282), (372, 118), at=0.5)
    s.edge((366, 118), (402, 118))
    s.edge((366, 282), (402, 282))
    s.box(386, 208, 48, 6, width=1.6, fill="#ddd")
    s.across("f", (450, 274), (450, 214), at=0.5, aside=(20, 0))
    s.edge((434, 214), (456, 214))
    s.edge((424, 274), (456, 274))
    s.line((520, 120), (536, 80), (700, 80), (716, 120), width=6.0)
    s.points_at("g", (616, 80), (646, 50))
    s.words(560, 112, "bar, paint off, middle", size=10)
    s.circle(540, 220, 9, width=2.0)
    s.circle(690, 220, 9, width=2.0)
    s.line((549, 220), (681, 220), width=3.0)
    s.across("h", (540, 256), (690, 256), at=0.5)
    s.edge((540, 230), (540, 262))
    s.edge((690, 230), (690, 262))


def fuel(s: Sketch) -> None:
    """Tank to rail and back, with the gauge at the rail; injectors on the bench."""
    s.round_box(30, 150, 150, 110, 14, width=THICK)
    s.words(60, 246, "tank", size=11)
    s.box(90, 170, 26, 60, width=1.6)
    s.words(84, 164, "pump", size=10)
    s.line((103, 170), (103, 110), (300, 110), width=2.2)
    s.box(300, 98, 54, 24, width=1.6)
    s.words(306, 92, "filter", size=10)
    s.line((354, 110), (430, 110), width=2.2)
    s.box(430, 98, 190, 24, width=2.2)
    s.words(438, 92, "rail", size=10)
    for x in (460, 505, 550, 595):
        s.line((x, 122), (x, 150), (x - 5, 150), (x, 166), (x + 5, 150), (x, 150), width=1.4)
    s.line((620, 110), (660, 110), (660, 200), width=2.2)
    s.box(640, 200, 40, 30, width=1.6)
    s.words(688, 220, "regulator", size=10)
    s.line((660, 230), (660, 290), (150, 290), (150, 260), width=2.2)
    s.line((525, 98), (525, 60), width=1.4)
    s.circle(525, 40, 20, width=2.0)
    s.line((525, 40), (536, 30), width=1.4)
    s.points_at("a", (540, 52), (590, 40))
    s.points_at("b", (240, 110), (216, 80))
    s.across("c", (110, 130), (296, 130), at=0.55)
    s.points_at("d", (560, 290), (584, 262))
    s.across("e", (156, 310), (654, 310), at=0.5)
    s.points_at("f", (60, 260), (60, 292))
    s.points_at("g", (460, 166), (436, 196))
    s.points_at("h", (505, 166), (520, 200))
    s.words(430, 226, "injectors: on a bench, never in the car", size=10)


def air(s: Sketch) -> None:
    """Air in, charge, exhaust out, with where a pressure or a temperature is tapped."""
    boxes = (
        (30, 60, "air box"), (140, 60, "air meter"), (250, 60, "compressor"),
        (370, 60, "charge cooler"), (500, 60, "throttle"), (620, 60, "engine"),
        (620, 220, "turbine"), (490, 220, "dump pipe"), (350, 220, "catalyst"),
        (200, 220, "silencers"),
    )  # fmt: skip
    for x, y, name in boxes:
        s.box(x, y, 92, 44, width=1.8)
        s.words(x + 46, y + 26, name, size=10.5, anchor="middle")
    s.line((122, 82), (140, 82), width=2.2)
    s.line((232, 82), (250, 82), width=2.2)
    s.line((342, 82), (370, 82), width=2.2)
    s.line((462, 82), (500, 82), width=2.2)
    s.line((592, 82), (620, 82), width=2.2)
    s.line((666, 104), (666, 220), width=2.2)
    s.line((620, 242), (582, 242), width=2.2)
    s.line((490, 242), (442, 242), width=2.2)
    s.line((350, 242), (292, 242), width=2.2)
    s.line((200, 242), (120, 242), width=2.2)
    s.points_at("a", (240, 82), (240, 128))
    s.points_at("b", (232, 82), (206, 128))
    s.points_at("c", (186, 60), (186, 34))
    s.across("d", (352, 118), (482, 118), at=0.5, aside=(0, 24))
    s.edge((356, 82), (356, 122))
    s.edge((480, 82), (480, 122))
    s.points_at("e", (416, 60), (416, 32))
    s.points_at("f", (600, 242), (600, 284))
    s.points_at("g", (466, 242), (466, 284))
    s.points_at("h", (320, 242), (320, 284))
    s.points_at("i", (606, 82), (606, 34))
    s.points_at("j", (666, 60), (690, 34))
    s.words(30, 310, "each loss at full load, with the air flow written beside it", size=10.5)


def electrics(s: Sketch) -> None:
    """Battery, alternator, and the runs to pump and fan."""
    s.box(40, 170, 100, 64, width=THICK)
    s.words(90, 208, "battery", size=11, anchor="middle")
    s.box(56, 160, 14, 10, width=1.6)
    s.box(110, 160, 14, 10, width=1.6)
    s.circle(90, 90, 24, width=1.8)
    s.words(90, 94, "V", size=14, anchor="middle")
    s.line((68, 98), (62, 160), width=0.9)
    s.line((112, 98), (117, 160), width=0.9)
    s.points_at("a", (106, 76), (140, 52))
    s.circle(230, 90, 34, width=THICK)
    s.words(230, 94, "alternator", size=9.5, anchor="middle")
    s.line((124, 164), (170, 164), (170, 100), (196, 96), width=1.8)
    s.points_at("b", (170, 130), (200, 146))
    s.line((56, 164), (22, 164), (22, 290), width=1.8)
    s.circle(22, 250, 9, width=1.4)
    s.points_at("c", (31, 250), (64, 268))
    s.words(20, 312, "body", size=10)
    for y, name, first in ((150, "pump", "d"), (250, "fan", "g")):
        s.box(330, y - 12, 50, 24, width=1.4)
        s.words(355, y + 4, "fuse", size=9.5, anchor="middle")
        s.box(420, y - 12, 54, 24, width=1.4)
        s.words(447, y + 4, "relay", size=9.5, anchor="middle")
        s.circle(600, y, 24, width=2.0)
        s.words(600, y + 4, name, size=10.5, anchor="middle")
        s.line((380, y), (420, y), width=1.8)
        s.line((474, y), (576, y), width=1.8)
        s.line((624, y), (690, y), (690, y + 30), width=1.8)
        s.line((680, y + 30), (700, y + 30), width=2.2)
        names = {"d": ("d", "e", "f"), "g": ("g", "h", "")}[first]
        s.across(names[0], (330, y - 28), (576, y - 28), at=0.5)
        s.across(names[1], (628, y - 16), (690, y - 16), at=0.5, aside=(0, -20))
        if names[2]:
            s.points_at(names[2], (530, y), (530, y + 34))
    s.line((280, 150), (330, 150), width=1.8)
    s.line((280, 250), (330, 250), width=1.8)
    s.line((280, 150), (280, 250), width=1.8)
    s.line((264, 97), (280, 97), (280, 150), width=1.8)
    s.circle(500, 250, 9, width=1.4)
    s.points_at("i", (500, 259), (500, 290))


def road(s: Sketch) -> None:
    """The microphone behind the tailpipe; needle and distance; the plug for reading the engine."""
    s.words(30, 22, "from above: 0.5 m, at 45°", size=10.5)
    s.line((60, 60), (60, 150), (180, 150), (180, 60), width=1.6)
    s.box(84, 150, 22, 34, width=2.0)
    s.line((95, 184), (165, 254), width=0.9)
    s.circle(170, 259, 8, width=2.0)
    s.middle((95, 184), (95, 290))
    s.arc(95, 184, 46, 45, 90, width=1.0)
    s.points_at("c", (135, 224), (190, 214))
    s.words(300, 22, "steady on the flat, a second person reads", size=10.5)
    s.box(320, 60, 170, 70, width=1.8)
    for k in range(9):
        s.line((334 + 18 * k, 112), (334 + 18 * k, 120), width=1.0)
    s.line((334, 120), (478, 120), width=1.2)
    s.line((420, 118), (416, 78), width=2.2)
    s.points_at("a", (417, 86), (452, 44))
    s.words(336, 146, "the needle, as the driver sees it", size=10)
    s.box(330, 178, 92, 40, width=1.6)
    s.words(376, 202, "true speed", size=10.5, anchor="middle")
    s.points_at("b", (422, 198), (460, 198))
    s.box(330, 252, 92, 36, width=1.6)
    s.words(376, 274, "84 210 km", size=11, anchor="middle")
    s.points_at("f", (422, 270), (460, 270))
    s.words(540, 22, "warm idle, all loads off", size=10.5)
    s.line((560, 80), (690, 80), (680, 130), (570, 130), width=2.0, closed=True)
    for k in range(8):
        s.circle(582 + 12 * k, 94, 2.4, width=1.0)
        s.circle(582 + 12 * k, 114, 2.4, width=1.0)
    s.points_at("d", (600, 130), (590, 170))
    s.points_at("e", (650, 130), (660, 170))
    s.words(548, 206, "read from the diagnosis plug", size=10)
