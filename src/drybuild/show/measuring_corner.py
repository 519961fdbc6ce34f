"""Drawings of what is measured at a corner: on its wheels, through its travel, wheel off, hub.

Not to scale, of no car in particular, the left side seen from behind (outboard to the left of the
sheet for a left corner would mirror it: outboard is always to the right here, and says so).
"""

from __future__ import annotations

from drybuild.show.measuring_lines import THICK, Sketch

WIDE, TALL = 760.0, 330.0


def standing(s: Sketch) -> None:
    """On its wheels: seen along the car, beside it from outside and from above."""
    s.ground(20, 380, 296)
    s.round_box(206, 92, 92, 204, 24, width=THICK)
    s.box(222, 134, 60, 120, width=1.0)
    s.middle((130, 194), (400, 194))
    s.line((252, 176), (252, 212), width=THICK)
    s.line((252, 194), (150, 194), width=2.2)
    s.words(262, 208, "hub face", size=9.5)
    # body: arch lip, panel down outboard
    s.line((96, 44), (300, 44), (330, 54), (334, 84), (326, 90), width=THICK)
    s.words(20, 22, "section from behind, outboard →", size=10.5)
    # strut with spring, arm, body
    s.line((110, 46), (180, 188), width=5.0)
    s.coil(124, 60, 122, 34, 5)
    s.line((40, 252), (212, 232), width=3.0)
    s.circle(40, 252, 5)
    s.box(166, 98, 18, 22, fill="#ddd")
    s.words(148, 138, "arm, spring, body", size=9, anchor="end")
    s.words(128, 180, "hub carrier, damper", size=9, anchor="end")
    s.across("a", (298, 124), (331, 124), aside=(2, 26))
    s.edge((331, 92), (331, 130))
    s.across("b", (276, 92), (276, 46), at=0.4, aside=(18, -2))
    s.across("c", (356, 194), (356, 88), at=0.5, aside=(18, 0))
    s.edge((336, 88), (362, 88))
    s.across("d", (175, 172), (206, 172), aside=(-2, 26))
    s.across("e", (184, 109), (206, 109), aside=(0, 26))
    s.across("f", (60, 194), (60, 109), at=0.4)
    s.edge((54, 109), (166, 109))
    s.across("g", (252, 274), (331, 274), at=0.75, aside=(0, 0))
    s.line((331, 92), (331, 290), width=0.6, dash="2 3")
    s.words(336, 290, "plumb", size=9.5)
    s.across("j", (88, 60), (88, 122), aside=(-22, 0))
    s.edge((82, 60), (110, 60))
    s.edge((82, 122), (126, 122))
    # camber
    s.line((236, 92), (236, 20), width=0.6)
    s.line((236, 92), (248, 22), width=0.6)
    s.arc(236, 92, 56, 270, 279, width=1.2)
    s.points_at("k", (240, 36), (268, 18))
    s.points_at("m", (262, 236), (312, 232))
    s.points_at("n", (252, 297), (150, 312))
    # from the side
    s.words(440, 26, "from outside, front to the left", size=10.5)
    s.ground(420, 580, 220)
    s.circle(500, 160, 60, width=THICK)
    s.circle(500, 160, 38, width=1.0)
    s.circle(500, 160, 3, fill="#000")
    s.arc(500, 160, 84, 196, 340, width=THICK)
    s.line((420, 138), (420, 186), width=THICK)
    s.line((579, 131), (584, 182), width=THICK)
    s.middle((430, 160), (604, 160))
    s.across("h", (596, 160), (596, 182), aside=(18, 4))
    s.edge((584, 182), (602, 182))
    s.across("i", (500, 157), (500, 77), at=0.55, aside=(22, 0))
    # from above
    s.words(626, 26, "from above", size=10.5)
    s.middle((640, 60), (640, 290))
    s.line((672, 90), (690, 270), width=1.0)
    s.round_box(664, 92, 34, 170, 10, width=1.0)
    s.line((681, 78), (681, 280), width=0.6)
    s.line((676, 78), (690, 282), width=0.6)
    s.words(668, 74, "front", size=9.5)
    s.points_at("l", (689, 268), (722, 250))
    s.words(630, 306, "middle of the car", size=9.5)


def travel(s: Sketch) -> None:
    """Spring out: the wheel at droop, at rest, at the first touch of the stop, squeezed solid."""
    s.line((90, 40), (330, 40), (352, 52), (356, 92), width=THICK)
    s.words(96, 32, "body on stands, outboard to the right →", size=10.5)
    for y, name, dash in ((120, "stop squeezed solid", "6 3"), (150, "stop just touching", "2 4"),
                          (190, "at rest", ""), (250, "hanging", "9 4")):  # fmt: skip
        s.round_box(226, y - 56, 84, 112, 20, width=2.2 if not dash else 0.9)
        s.middle((200, y), (470, y))
        s.words(476, y + 4, name, size=11)
    s.across("a", (400, 190), (400, 120), at=0.3, aside=(20, 0))
    s.across("b", (364, 190), (364, 150), at=0.5, aside=(-20, 0))
    s.across("c", (400, 190), (400, 250), at=0.5, aside=(20, 0))
    s.line((330, 100), (338, 290), width=0.6, dash="2 3")
    s.across("d", (310, 284), (337, 284), aside=(30, 14))
    s.words(386, 304, "plumb line: how far the hub face moves out", size=10)
    s.line((120, 96), (140, 150), (178, 170), (226, 236), width=3.0)
    s.points_at("e", (158, 160), (96, 206))
    s.words(40, 236, "brake hose: free length it", size=10)
    s.words(40, 249, "must reach, at both locks", size=10)


def wheel(s: Sketch) -> None:
    """The wheel face down in section, and the tyre by itself."""
    s.words(30, 24, "wheel in section, face down on a cloth", size=10.5)
    s.ground(20, 430, 288)
    # rim halves
    for k in (-1, 1):
        x = 224 + k * 150
        s.line((x, 70), (x - k * 10, 88), (x - k * 26, 96), (x - k * 26, 226), (x - k * 10, 240),
               (x, 258), width=THICK)  # fmt: skip
        s.line((x - k * 26, 214), (224 + k * 46, 196), (224 + k * 26, 196), width=THICK)
    s.line((178, 164), (198, 164), (198, 196), width=THICK)
    s.line((270, 164), (250, 164), (250, 196), width=THICK)
    s.line((178, 164), (178, 192), width=THICK)
    s.line((270, 164), (270, 192), width=THICK)
    s.line((40, 66), (408, 66), width=4.0)
    s.words(44, 58, "straightedge over the inner flange", size=10)
    s.across("a", (186, 67), (186, 164), at=0.42)
    s.words(44, 182, "hub face", size=9.5)
    s.edge((84, 178), (182, 165))
    s.across("b", (198, 150), (250, 150), at=0.5, aside=(0, 26))
    s.across("c", (284, 164), (284, 190), aside=(22, -8))
    s.edge((270, 164), (290, 164))
    s.edge((262, 190), (290, 190))
    s.line((258, 176), (266, 190), width=1.0)
    s.across("d", (318, 164), (318, 204), at=0.4, aside=(22, 4))
    s.edge((270, 164), (324, 164))
    s.middle((224, 40), (224, 300))
    s.across("e", (224, 110), (348, 110), at=0.6)
    # tyre
    s.words(470, 24, "tyre on its rim, inflated", size=10.5)
    s.round_box(500, 50, 70, 120, 22, width=THICK)
    s.across("f", (500, 190), (570, 190), at=0.5, aside=(0, 22))
    s.edge((500, 110), (500, 196))
    s.edge((570, 110), (570, 196))
    s.circle(668, 110, 60, width=THICK)
    s.circle(668, 110, 34, width=1.0)
    s.across("g", (608, 194), (728, 194), aside=(0, 0))
    s.edge((608, 110), (608, 200))
    s.edge((728, 110), (728, 200))
    s.points_at("j", (690, 66), (734, 42))
    s.words(640, 98, "DOT", size=9)
    # spacer and nut
    s.words(470, 252, "in the hand", size=10.5)
    s.box(500, 266, 12, 44, width=2.0)
    s.across("h", (500, 318), (512, 318), at=0.5, aside=(30, -6))
    if "i" in s.shown:  # a nut, in section
        s.line((560, 268), (610, 268), (618, 280), (618, 296), (610, 308), (560, 308), width=2.0,
               closed=True)  # fmt: skip
        s.line((570, 276), (606, 276), width=0.8, dash="3 2")
        s.line((570, 300), (606, 300), width=0.8, dash="3 2")
        s.across("i", (570, 318), (606, 318), aside=(34, -4))
    if "k" in s.shown:  # a bolt, its seat to the right of the head
        s.box(654, 274, 16, 28, width=2.0)
        s.line((670, 272), (682, 281), (738, 281), (738, 295), (682, 295), (670, 304), width=2.0,
               closed=True)  # fmt: skip
        for x in range(694, 738, 6):
            s.line((x, 281), (x + 3, 295), width=0.7)
        s.edge((682, 281), (682, 322))
        s.edge((738, 295), (738, 322))
        s.across("k", (682, 316), (738, 316), aside=(0, 0))


def hub(s: Sketch) -> None:
    """Hub and brake in section, wheel off; the hub's face from outside."""
    s.words(30, 14, "in section, outboard to the right →", size=10.5)
    s.middle((30, 250), (420, 250))
    s.line((250, 150), (250, 300), width=THICK)
    s.line((250, 226), (286, 226), (286, 274), (250, 274), width=THICK)
    s.words(120, 296, "hub", size=10)
    s.line((120, 222), (250, 222), width=2.0)
    s.line((120, 278), (250, 278), width=2.0)
    s.line((120, 222), (120, 278), width=2.0)
    for y in (176, 198):
        if "c" in s.shown:  # a stud
            s.line((232, y), (322, y), width=1.6)
        elif "i" in s.shown:  # a bolt hole
            s.line((214, y), (250, y), width=1.2, dash="3 2")
    if "i" in s.shown:
        low = 214 if "c" in s.shown else 187
        s.across("i", (214, low), (250, low), at=0.5, aside=(-40, 6))
    if "c" in s.shown:
        s.across("c", (262, 210), (322, 210), at=0.6, aside=(40, -6))
        s.edge((322, 196), (322, 216))
    # disc with bell
    s.line((262, 146), (262, 212), width=THICK)
    s.line((262, 146), (204, 146), (204, 120), width=THICK)
    s.box(196, 44, 10, 80, width=1.6)
    s.box(214, 44, 10, 80, width=1.6)
    s.across("g", (196, 36), (224, 36), aside=(30, -8))
    s.edge((196, 30), (196, 48))
    s.edge((224, 30), (224, 48))
    # pads and caliper
    s.box(184, 58, 12, 50, width=1.2, fill="#ddd")
    s.box(224, 58, 12, 50, width=1.2, fill="#ddd")
    s.across("h", (224, 114), (236, 114), aside=(26, 10))
    s.line((160, 112), (160, 22), (262, 22), (262, 112), (242, 112), (242, 52), (178, 52),
           (178, 112), width=2.2, closed=True)  # fmt: skip
    s.words(100, 60, "caliper", size=10)
    s.across("d", (380, 250), (380, 22), at=0.42)
    s.edge((262, 22), (386, 22))
    s.across("e", (262, 132), (250, 132), aside=(36, 0))
    s.line((250, 150), (250, 128), width=0.6, dash="2 3")
    s.words(306, 130, "caliper face", size=9)
    s.words(306, 141, "to hub face", size=9)
    s.across("f", (60, 250), (60, 44), at=0.5)
    s.words(72, 200, "disc: twice this,", size=9.5)
    s.words(72, 212, "across the middle", size=9.5)
    s.edge((54, 44), (196, 44))
    s.across("a", (300, 226), (300, 274), at=0.5, aside=(24, 16))
    s.edge((286, 226), (306, 226))
    s.edge((286, 274), (306, 274))
    # face
    s.words(510, 24, "from outside", size=10.5)
    s.circle(590, 170, 92, width=THICK)
    s.circle(590, 170, 30, width=THICK)
    for dx, dy in ((0, -62), (62, 0), (0, 62), (-62, 0)):
        s.circle(590 + dx, 170 + dy, 9, width=2.0)
    s.across("b", (590, 108), (652, 170), at=0.5, aside=(30, -26))
    if "b" in s.shown:
        s.words(476, 290, "outside to outside of two neighbours, less one stud", size=10)
