"""Draw the pictures of the sample jobs and put them into their job files.

The sample jobs are invented, so there is nothing to photograph: each picture is a drawing of what the technician
would have photographed, and its caption says so. The same script draws the same pictures.

Run: python packaging/draw_sample_photos.py
"""

from __future__ import annotations

import hashlib
import io
import math
import random
import sys
from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace
from PIL import Image, ImageDraw, ImageFilter, ImageFont

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from workshop_log.exchange.reading import read_job  # noqa: E402  (the project need not be installed)
from workshop_log.exchange.writing import write_job  # noqa: E402

SAMPLES = ROOT / "sample_jobs"
FONT = ROOT / "resources" / "fonts" / "Lato-Regular.ttf"
SIZE = (800, 600)
# Drawn larger and made smaller, so that edges are smooth.
SCALE = 2
JPEG_QUALITY = 78

PAPER = (244, 242, 236)
INK = (38, 42, 48)
STEEL, STEEL_DARK, STEEL_LIGHT = (150, 156, 162), (104, 110, 117), (196, 201, 206)
RUST, RUST_LIGHT = (126, 74, 44), (168, 106, 66)
COPPER = (188, 112, 66)
VERDIGRIS = (98, 150, 128)
PAINT = (74, 98, 126)
RUBBER = (46, 48, 52)
PLASTIC = (62, 66, 72)
INSIDE_BLUE, OUTSIDE_ORANGE = (32, 92, 158), (196, 92, 20)

Point = tuple[float, float]
Colour = tuple[int, int, int]


class Sheet:
    """A drawing of 800 by 600 units; every length and place is in these units."""

    def __init__(self, background: Colour = PAPER) -> None:
        self.image = Image.new("RGB", (SIZE[0] * SCALE, SIZE[1] * SCALE), background)
        self._draw = ImageDraw.Draw(self.image)

    @staticmethod
    def _scaled(points: list[Point]) -> list[Point]:
        return [(x * SCALE, y * SCALE) for x, y in points]

    def shape(self, points: list[Point], fill: Colour | None = None, outline: Colour | None = INK,
              width: float = 2) -> None:
        """Draw a closed shape."""
        scaled = self._scaled(points)
        if fill:
            self._draw.polygon(scaled, fill=fill)
        if outline:
            self.line([*points, points[0]], outline, width)

    def line(self, points: list[Point], colour: Colour = INK, width: float = 2) -> None:
        """Draw a line through the points."""
        self._draw.line(self._scaled(points), fill=colour, width=round(width * SCALE), joint="curve")

    def disc(self, centre: Point, radius: float, fill: Colour | None = None, outline: Colour | None = INK,
             width: float = 2) -> None:
        """Draw a circle."""
        x, y = centre
        box = self._scaled([(x - radius, y - radius), (x + radius, y + radius)])
        self._draw.ellipse(box, fill=fill, outline=outline, width=round(width * SCALE))

    def box(self, left: float, top: float, right: float, bottom: float, fill: Colour | None = None,
            outline: Colour | None = INK, width: float = 2, radius: float = 0) -> None:
        """Draw a rectangle, its corners rounded by the radius."""
        self._draw.rounded_rectangle(self._scaled([(left, top), (right, bottom)]), radius * SCALE, fill=fill,
                                     outline=outline, width=round(width * SCALE))

    def words(self, at: Point, text: str, size: float = 20, colour: Colour = INK, anchor: str = "la") -> None:
        """Write a text; the anchor is Pillow's two letters."""
        font = ImageFont.truetype(FONT, round(size * SCALE))
        self._draw.text((at[0] * SCALE, at[1] * SCALE), text, font=font, fill=colour, anchor=anchor)

    def pointer(self, text: str, words_at: Point, to: Point) -> None:
        """Write a remark, its left end at a place, with a thin line to what it means."""
        size = 20
        wide = ImageFont.truetype(FONT, size * SCALE).getlength(text) / SCALE
        left, right, y = words_at[0], words_at[0] + wide + 16, words_at[1]
        middle = (left + right) / 2
        self.line([(min(max(to[0], left + 8), right - 8) if abs(to[1] - y) > 40 else middle, y), to], INK, 1.6)
        self.disc(to, 3.5, INK, None)
        # On a plate of its own, to be read on paint as well as on paper.
        self.box(left, y - 16, right, y + 16, PAPER, INK, 1.2, 4)
        self.words((middle, y), text, size, INK, "mm")

    def speckle(self, centre: Point, radius: float, colours: tuple[Colour, ...], count: int, seed: int,
                largest: float = 5) -> None:
        """Scatter small spots of corrosion or dirt round a place."""
        chance = random.Random(seed)
        for _ in range(count):
            angle, distance = chance.uniform(0, math.tau), radius * math.sqrt(chance.random())
            spot = (centre[0] + distance * math.cos(angle), centre[1] + distance * math.sin(angle))
            self.disc(spot, chance.uniform(0.8, largest), chance.choice(colours), None)

    def jpeg(self) -> bytes:
        """Return the finished picture, with a little of the unevenness that a page held in a hand has."""
        soft = self.image.resize(SIZE, Image.Resampling.LANCZOS).filter(ImageFilter.GaussianBlur(0.4))
        buffer = io.BytesIO()
        soft.save(buffer, "JPEG", quality=JPEG_QUALITY, optimize=True)
        return buffer.getvalue()


def ring(centre: Point, radius: float, start: float, end: float, steps: int = 60) -> list[Point]:
    """Return points on an arc; angles in degrees, clockwise from the right."""
    return [(centre[0] + radius * math.cos(math.radians(start + (end - start) * i / steps)),
             centre[1] + radius * math.sin(math.radians(start + (end - start) * i / steps))) for i in range(steps + 1)]


# --- the pictures ---------------------------------------------------------------------------------------------------


def worn_disc() -> Sheet:
    """Draw the worn disc on its hub, with a rust ridge at the rim."""
    sheet = Sheet()
    centre = (310, 310)
    sheet.disc(centre, 250, RUST, INK, 3)
    sheet.speckle(centre, 246, (RUST_LIGHT, (104, 62, 40)), 500, 11, 4)
    sheet.disc(centre, 232, STEEL_LIGHT, STEEL_DARK, 2)
    for radius in range(140, 231, 6):
        sheet.disc(centre, radius, None, STEEL if radius % 12 else STEEL_DARK, 1)
    # One side polished darker than the other: the thickness varies once round.
    for radius in range(146, 230, 3):
        sheet.line(ring(centre, radius, 200, 275), (134, 140, 148), 2.4)
    sheet.disc(centre, 136, RUST_LIGHT, INK, 2)
    sheet.speckle(centre, 130, (RUST, (150, 92, 58)), 260, 12, 4)
    disc_with_gauge(sheet, centre, run_out=0.14)
    sheet.pointer("rust ridge", (560, 60), (440, 101))
    sheet.pointer("polished dark", (30, 40), (235, 132))
    return sheet


def new_disc() -> Sheet:
    """Draw the new disc in the same place, turned evenly from hub to rim."""
    sheet = Sheet()
    centre = (310, 310)
    sheet.disc(centre, 250, STEEL_LIGHT, INK, 3)
    for radius in range(140, 246, 7):
        sheet.disc(centre, radius, None, STEEL, 1)
    sheet.disc(centre, 136, STEEL, INK, 2)
    disc_with_gauge(sheet, centre, run_out=0.02)
    sheet.pointer("clean hub face", (30, 40), (262, 240))
    return sheet


def disc_with_gauge(sheet: Sheet, centre: Point, run_out: float) -> None:
    """Draw the hub with its bolts, and the dial gauge that shows this run-out in millimetres."""
    sheet.disc(centre, 78, STEEL, INK, 2)
    sheet.disc(centre, 34, STEEL_DARK, INK, 2)
    for index in range(5):
        angle = math.radians(72 * index - 90)
        sheet.disc((centre[0] + 56 * math.cos(angle), centre[1] + 56 * math.sin(angle)), 10, RUBBER, INK, 2)
    sheet.words((310, 222), "MIN TH 22.0", 17, INK, "mm")
    # The dial gauge, its stem on the disc 10 mm inside the rim.
    sheet.line([(520, 300), (622, 262)], STEEL_DARK, 7)
    sheet.disc((520, 300), 5, INK, INK)
    dial = (680, 240)
    sheet.disc(dial, 82, STEEL, INK, 3)
    sheet.disc(dial, 70, (252, 252, 250), INK, 2)
    for tick in range(20):
        angle = math.radians(18 * tick - 90)
        inner = 54 if tick % 2 == 0 else 60
        sheet.line([(dial[0] + inner * math.cos(angle), dial[1] + inner * math.sin(angle)),
                    (dial[0] + 66 * math.cos(angle), dial[1] + 66 * math.sin(angle))], INK, 1.6)
    # One turn is 1 mm: 0.14 mm is 50 degrees.
    angle = math.radians(run_out * 360 - 90)
    sheet.line([dial, (dial[0] + 58 * math.cos(angle), dial[1] + 58 * math.sin(angle))], OUTSIDE_ORANGE, 3)
    sheet.disc(dial, 5, INK, INK)
    sheet.words((680, 272), "0.01 mm", 14, INK, "mm")
    sheet.line([(680, 322), (680, 470), (640, 520)], STEEL_DARK, 12)
    sheet.box(590, 510, 720, 560, PLASTIC, INK, 2, 6)


def strap(sheet: Sheet, broken: bool) -> None:
    """Draw a braided strap from the upper left down to an eyelet at (470, 330)."""
    chance = random.Random(21)
    for strand in range(26):
        offset = (strand - 12.5) * 3.4
        stop = chance.uniform(0.70, 0.86) if broken and strand % 2 else 1.0
        points = []
        for i in range(60):
            t = i / 59
            if t > stop:
                break
            x = 20 + 330 * t
            y = 90 + 190 * t * t + offset + 5 * math.sin(14 * t + strand * 1.7)
            points.append((x, y))
        sheet.line(points, COPPER if strand % 3 else (214, 146, 98), 2.6)
        if stop < 1:
            x, y = points[-1]
            sheet.line([(x, y), (x + chance.uniform(6, 24), y + chance.uniform(-26, 26))], COPPER, 2)


def eyelet(sheet: Sheet, metal: Colour, edge: Colour) -> None:
    sheet.shape([(340, 244), (412, 270), (412, 352), (340, 326)], metal, edge, 3)
    for x in (358, 376, 394):
        sheet.line([(x, 252 + (x - 340) * 0.36), (x, 330 + (x - 340) * 0.36)], edge, 2)
    sheet.disc((478, 330), 82, metal, edge, 3)


def bolt(sheet: Sheet, metal: Colour, edge: Colour) -> None:
    sheet.disc((478, 330), 50, metal, edge, 2)
    sheet.shape([(478 + 38 * math.cos(math.radians(60 * i + 12)), 330 + 38 * math.sin(math.radians(60 * i + 12)))
                 for i in range(6)], STEEL, INK, 2.4)
    sheet.disc((478, 330), 20, STEEL_DARK, INK, 1.6)


def strap_eyelet() -> Sheet:
    sheet = Sheet((214, 216, 214))
    sheet.shape([(250, 600), (330, 150), (800, 60), (800, 600)], PAINT, INK, 3)
    sheet.speckle((500, 350), 190, (RUST, RUST_LIGHT, (92, 58, 40)), 340, 31, 6)
    strap(sheet, broken=True)
    eyelet(sheet, (146, 116, 84), (84, 60, 40))
    sheet.speckle((478, 330), 104, (VERDIGRIS, (126, 176, 150), RUST_LIGHT), 420, 32, 5)
    bolt(sheet, (140, 126, 104), (84, 60, 40))
    sheet.speckle((478, 330), 46, (VERDIGRIS, RUST), 60, 33, 4)
    sheet.pointer("broken strands", (60, 440), (306, 284))
    sheet.pointer("green round the bolt", (540, 530), (532, 386))
    sheet.pointer("paint under the eyelet", (540, 110), (552, 280))
    return sheet


def new_strap() -> Sheet:
    sheet = Sheet((214, 216, 214))
    sheet.shape([(250, 600), (330, 150), (800, 60), (800, 600)], PAINT, INK, 3)
    sheet.disc((478, 330), 136, STEEL_LIGHT, STEEL, 2)
    for angle in range(0, 180, 9):
        a = math.radians(angle)
        sheet.line([(478 + 130 * math.cos(a), 330 + 130 * math.sin(a)),
                    (478 - 130 * math.cos(a), 330 - 130 * math.sin(a))], (208, 212, 216), 1.4)
    strap(sheet, broken=False)
    eyelet(sheet, (206, 208, 204), STEEL_DARK)
    bolt(sheet, (214, 216, 214), STEEL_DARK)
    sheet.pointer("bare metal", (600, 130), (572, 256))
    sheet.pointer("tinned eyelet", (60, 440), (360, 326))
    sheet.pointer("22 N m", (600, 520), (500, 350))
    return sheet


def cranking_drop() -> Sheet:
    """Draw where 12.44 V go while cranking, as one bar drawn to scale."""
    sheet = Sheet()
    sheet.words((60, 36), "Where the voltage goes while cranking", 30)
    # From the readings before the repair: 12.44 V rested, 11.02 V at the posts, the drops one after another.
    parts = (("inside the battery", 1.42, STEEL_LIGHT), ("cable and solenoid", 0.187, STEEL),
             ("starter motor", 8.366, (170, 190, 208)), ("strap and its joint on the engine", 0.054, STEEL),
             ("strap's joint on the body", 2.382, OUTSIDE_ORANGE), ("battery cable to the body", 0.031, STEEL))
    whole, top, label_top = sum(volts for _, volts, _ in parts), 100.0, 60.0
    for name, volts, colour in parts:
        height = 430 * volts / whole
        sheet.box(90, top, 250, top + max(height, 1.5), colour, INK, 1.2)
        middle = top + height / 2
        # Each remark beside its part, but never over the one above it.
        label_top = max(label_top + 34, middle)
        sheet.line([(250, middle), (270, middle), (300, label_top)], INK, 1.2)
        sheet.words((310, label_top), f"{name}: {volts:.2f} V", 21,
                    OUTSIDE_ORANGE if colour == OUTSIDE_ORANGE else INK, "lm")
        top += height
    return sheet


def sensor_curve() -> Sheet:
    """Draw the NTC's curve with its tolerance, and both readings."""
    sheet = Sheet()
    left, right, top, bottom = 110, 760, 90, 520

    def place(temperature: float, ohm: float) -> Point:
        return (left + (right - left) * temperature / 100,
                bottom - (bottom - top) * math.log(ohm / 200) / math.log(10000 / 200))

    def curve(temperature: float, sign: int) -> float:
        exponent = 3468 * (1 / (temperature + 273.15) - 1 / 298.15)
        return 2500 * (1 + 0.03 * sign) * math.exp(exponent + sign * 0.03 * abs(exponent))

    band = [place(t, curve(t - 0.5, 1)) for t in range(0, 101)]
    band += [place(t, curve(t + 0.5, -1)) for t in range(100, -1, -1)]
    sheet.shape(band, (206, 220, 234), None)
    sheet.line([place(t, curve(t, 0)) for t in range(0, 101)], INSIDE_BLUE, 2)
    sheet.line([(left, top), (left, bottom), (right, bottom)], INK, 2)
    for temperature in range(0, 101, 20):
        sheet.line([place(temperature, 200), (place(temperature, 200)[0], bottom + 8)], INK, 2)
        sheet.words((place(temperature, 200)[0], bottom + 14), f"{temperature} °C", 19, INK, "ma")
    for ohm, words in ((200, "200 Ω"), (500, "500 Ω"), (1000, "1 kΩ"), (2000, "2 kΩ"), (5000, "5 kΩ"),
                       (10000, "10 kΩ")):
        sheet.line([(left - 8, place(0, ohm)[1]), (left, place(0, ohm)[1])], INK, 2)
        sheet.words((left - 14, place(0, ohm)[1]), words, 19, INK, "rm")
    cold, hot = place(20, 2896), place(80, 648)
    sheet.disc(cold, 8, INSIDE_BLUE, INK, 2)
    sheet.shape([(hot[0], hot[1] - 11), (hot[0] + 11, hot[1]), (hot[0], hot[1] + 11), (hot[0] - 11, hot[1])],
                OUTSIDE_ORANGE, INK, 2)
    sheet.words((cold[0] + 22, cold[1] - 30), "20 °C: 2.896 kΩ, on the curve", 21)
    sheet.words((hot[0] - 30, hot[1] - 42), "80 °C: 648 Ω, off it", 21, OUTSIDE_ORANGE)
    sheet.words((60, 30), "Duct temperature sensor in the water bath", 28)
    return sheet


def chafed_loom() -> Sheet:
    sheet = Sheet((196, 200, 202))
    sheet.shape([(0, 0), (800, 0), (800, 170), (430, 214), (0, 190)], (92, 98, 104), INK, 2)
    sheet.shape([(350, 90), (520, 84), (540, 300), (470, 322), (376, 306)], STEEL, INK, 3)
    sheet.line([(376, 306), (470, 322), (540, 300)], (236, 238, 240), 4)
    sheet.disc((440, 150), 20, STEEL_DARK, INK, 2)

    def wire_at(t: float) -> Point:
        return (-20 + 840 * t, 380 - 46 * math.sin(math.pi * t) + 10 * math.sin(5 * t))

    for dy, colour in ((34, (120, 74, 44)), (64, (52, 92, 66))):
        sheet.line([(x, y + dy) for x, y in map(wire_at, (i / 80 for i in range(81)))], INK, 25)
        sheet.line([(x, y + dy) for x, y in map(wire_at, (i / 80 for i in range(81)))], colour, 21)
    path = [wire_at(i / 80) for i in range(81)]
    sheet.line(path, INK, 25)
    sheet.line(path, (134, 138, 142), 21)
    sheet.line([(x, y - 3) for x, y in path], (40, 42, 46), 5)
    bare = [wire_at(0.55 + 0.07 * i / 20) for i in range(21)]
    sheet.line(bare, (70, 60, 52), 24)
    chance = random.Random(41)
    for strand in range(9):
        offset = (strand - 4) * 2.2
        sheet.line([(x, y + offset + chance.uniform(-0.8, 0.8)) for x, y in bare],
                   (226, 160, 104) if strand % 2 else COPPER, 2)
    sheet.box(120, 370, 160, 486, RUBBER, INK, 2, 8)
    sheet.shape([(620, 470), (650, 470), (646, 500), (624, 500)], None, STEEL_DARK, 2)
    sheet.speckle((470, 322), 26, ((226, 160, 104), (240, 200, 150)), 30, 42, 2)
    sheet.pointer("edge of the bumper bracket", (30, 250), (392, 309))
    sheet.pointer("insulation gone, 8 mm", (570, 260), (478, 338))
    sheet.pointer("clip missing", (600, 550), (636, 490))
    return sheet


def spread_pin() -> Sheet:
    sheet = Sheet((224, 224, 220))
    sheet.box(90, 130, 710, 470, PLASTIC, INK, 4, 28)
    sheet.box(120, 160, 680, 440, (78, 82, 88), INK, 2, 18)
    sheet.box(340, 92, 460, 140, PLASTIC, INK, 3, 8)
    for index in range(8):
        row, column = divmod(index, 4)
        x, y = 200 + 132 * column, 240 + 120 * row
        sheet.box(x - 42, y - 42, x + 42, y + 42, (32, 34, 38), INK, 2, 6)
        gap = 22 if index == 3 else 7
        colour = (176, 168, 150)
        for sign in (-1, 1):
            lean = sign * (9 if index == 3 else 0)
            near, far = x + sign * gap, x + sign * (gap + 9)
            sheet.shape([(near, y - 28), (far, y - 28), (far + lean, y + 28), (near + lean, y + 28)], colour, INK, 1.6)
        sheet.words((x, y + 48), str(index + 1), 19, (226, 228, 230), "ma")
    sheet.speckle((612, 240), 20, ((120, 96, 70), (90, 74, 60)), 22, 51, 2)
    sheet.disc((596, 240), 64, None, OUTSIDE_ORANGE, 4)
    sheet.pointer("pin 4: spread, fretted on one side", (470, 46), (596, 178))
    sheet.pointer("pin 1: as it should be", (60, 46), (200, 204))
    return sheet


def worn_track() -> Sheet:
    sheet = Sheet((30, 32, 36))
    sheet.disc((400, 300), 284, (214, 210, 198), (12, 12, 14), 10)
    centre = (400, 640)
    for radius, colour in ((430, (58, 52, 48)), (360, (58, 52, 48))):
        sheet.line(ring(centre, radius, 232, 308), colour, 34)
        sheet.line(ring(centre, radius, 232, 308), (82, 74, 68), 22)
    for radius in (424, 430, 436):
        sheet.line(ring(centre, radius, 234, 306), (112, 102, 94), 1.4)
    # Just below half: worn through to the ceramic.
    sheet.line(ring(centre, 430, 274, 281), (226, 222, 212), 20)
    sheet.speckle((424, 212), 30, ((70, 62, 56), (150, 142, 132)), 70, 61, 3)
    for angle in range(236, 308, 6):
        inner, outer = ring(centre, 380, angle, angle, 1)[0], ring(centre, 410, angle, angle, 1)[0]
        sheet.line([inner, outer], (168, 140, 80), 3)
    sheet.line([(330, 570), (352, 236)], (196, 170, 104), 9)
    sheet.disc((352, 232), 9, (222, 198, 130), INK, 2)
    sheet.words((300, 120), "half", 22, INK, "mm")
    sheet.words((540, 140), "a quarter", 22, INK, "mm")
    sheet.pointer("worn through, 4 mm", (430, 410), (452, 216))
    return sheet


def sender_sweep() -> Sheet:
    """Draw the sender's resistance against its float's position, with the maker's limits."""
    sheet = Sheet()
    left, right, top, bottom = 120, 740, 100, 500
    # Position of the float in eighths, what was read [Ω], the maker's limits [Ω].
    readings = ((8, 10.0, 9.6, 10.4), (6, 42.0, 40.3, 43.7), (4, 71.6, 71.0, 77.0), (3, None, 97.0, 105.0),
                (2, 128.4, 122.9, 133.1), (0, 180.6, 172.8, 187.2))

    def place(eighths: float, ohm: float) -> Point:
        return (right - (right - left) * eighths / 8, bottom - (bottom - top) * ohm / 200)

    sheet.line([(left, top), (left, bottom), (right, bottom)], INK, 2)
    for ohm in range(0, 201, 50):
        sheet.line([(left - 8, place(8, ohm)[1]), (left, place(8, ohm)[1])], INK, 2)
        sheet.words((left - 14, place(8, ohm)[1]), f"{ohm} Ω", 19, INK, "rm")
    for eighths, words in ((8, "full"), (6, "3/4"), (4, "half"), (3, "3/8"), (2, "1/4"), (0, "empty")):
        sheet.words((place(eighths, 0)[0], bottom + 14), words, 19, INK, "ma")
    for eighths, ohm, low, high in readings:
        x = place(eighths, 0)[0]
        for limit in (low, high):
            sheet.line([(x - 14, place(0, limit)[1]), (x + 14, place(0, limit)[1])], INK, 2.4)
        if ohm is None:
            sheet.line([(x, place(0, high)[1]), (x, top - 6)], OUTSIDE_ORANGE, 2)
            sheet.shape([(x, top - 18), (x + 9, top - 4), (x - 9, top - 4)], OUTSIDE_ORANGE, INK, 1.6)
            sheet.words((x + 16, top - 8), "OL: no contact", 21, OUTSIDE_ORANGE, "lm")
        else:
            sheet.disc((x, place(0, ohm)[1]), 6, INSIDE_BLUE, INK, 1.6)
    sheet.words((60, 30), "Fuel-level sender on the bench", 28)
    return sheet


PICTURES: dict[str, Callable[[], Sheet]] = {
    "disc-with-gauge.jpg": worn_disc,
    "new-disc-with-gauge.jpg": new_disc,
    "strap-joint-before.jpg": strap_eyelet,
    "where-the-voltage-goes.jpg": cranking_drop,
    "strap-joint-after.jpg": new_strap,
    "sensor-and-curve.jpg": sensor_curve,
    "chafed-wire.jpg": chafed_loom,
    "plug-k1.jpg": spread_pin,
    "sender-track.jpg": worn_track,
    "sender-sweep.jpg": sender_sweep,
}


def main() -> None:
    for path in sorted(SAMPLES.glob("*.job.json")):
        job = read_job(path.read_bytes(), path.name)
        photos = []
        for photo in job.photos:
            data = PICTURES[photo.name]().jpeg()
            photos.append(replace(photo, data=data, sha256=hashlib.sha256(data).hexdigest()))
            print(f"{path.name}: {photo.name}, {len(data) / 1000:.0f} kB")
        path.write_bytes(write_job(replace(job, photos=tuple(photos))))


if __name__ == "__main__":
    main()
