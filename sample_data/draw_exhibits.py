"""Draws the pictures of the invented example, the same bytes for the same Pillow.

Run it from anywhere: ``python sample_data/draw_exhibits.py``. It needs Pillow only, takes no
arguments, uses no chance and no clock, and writes into ``exhibits`` beside this file (or into
the folder given as the one argument). Each picture is drawn at twice its size and brought
down, which smooths the edges, and each says at its foot that it was drawn for an invented
example: none shows a real object, and none can be taken for a photograph of one.
"""

# ruff: noqa: INP001 - a script beside the data it makes, not a package

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter, ImageFont

WIDTH, HEIGHT = 1200, 800
FOOT = 64
SCALE = 2
COLOURS = 96
NOTICE = "drawn for an invented example"

Colour = tuple[int, int, int]
Point = tuple[float, float]

INK: Colour = (38, 34, 48)
PENCIL: Colour = (92, 90, 94)
CREAM: Colour = (236, 224, 196)
STEEL: Colour = (172, 174, 178)
WALNUT: Colour = (104, 66, 38)
MAPLE: Colour = (196, 142, 82)
SOLDER: Colour = (190, 194, 200)


def scatter(count: int, seed: int) -> Iterator[tuple[float, float, float]]:
    """Yield ``count`` triples in [0, 1), the same ones for the same seed (Weyl sequences)."""
    for step in range(1, count + 1):
        place = step + seed * 977
        yield (place * 0.754877666) % 1, (place * 0.569840291) % 1, (place * 0.387654321) % 1


def shade(colour: Colour, by: int) -> Colour:
    """Return the colour made lighter (or darker, below nothing) by so much."""
    red, green, blue = (max(0, min(255, part + by)) for part in colour)
    return red, green, blue


def surface(colour: Colour, seed: int, marks: int = 900, strength: int = 12) -> Image.Image:
    """Return a ground with faint specks, so that it does not look like plain colour."""
    image = Image.new("RGB", (WIDTH, HEIGHT), colour)
    pen = ImageDraw.Draw(image)
    for across, down, much in scatter(marks, seed):
        x, y, size = across * WIDTH, down * HEIGHT, 1 + much * 3
        by = int((much - 0.5) * 2 * strength)
        pen.ellipse((x, y, x + size, y + size), fill=shade(colour, by))
    return image


def wood(colour: Colour, seed: int, lines: int = 150) -> Image.Image:
    """Return a ground with grain running across."""
    image = surface(colour, seed, marks=300)
    pen = ImageDraw.Draw(image)
    for across, down, much in scatter(lines, seed + 5):
        y, left = down * HEIGHT, across * WIDTH
        points = [(left + i * 90, y + ((i * 7 + seed) % 5 - 2) * much * 3) for i in range(9)]
        pen.line(points, fill=shade(colour, int(-26 + much * 40)), width=2)
    return image


def write(image: Image.Image, at: Point, text: str, size: int = 44, ink: Colour = INK) -> None:
    """Put a line of text on the picture."""
    font = ImageFont.load_default(size)
    box = font.getbbox(text)
    layer = Image.new("L", (int(box[2]) + 12, int(box[3]) + 12), 0)
    ImageDraw.Draw(layer).text((4, 4), text, font=font, fill=255)
    image.paste(Image.new("RGB", layer.size, ink), (int(at[0]), int(at[1])), layer)


def scrawl(image: Image.Image, at: Point, text: str, size: int = 44, ink: Colour = INK) -> None:
    """Put a line on the picture as if by hand: leaning, each glyph a little off the line."""
    font = ImageFont.load_default(size)
    x = at[0]
    for glyph, (_, off, lean) in zip(text, scatter(len(text), size), strict=True):
        layer = Image.new("L", (size * 2, size * 2), 0)
        ImageDraw.Draw(layer).text((size // 2, size // 4), glyph, font=font, fill=255)
        slant = 0.22 + lean * 0.08
        layer = layer.transform(
            layer.size,
            Image.Transform.AFFINE,
            (1, slant, -slant * size, 0, 1, 0),
            resample=Image.Resampling.BICUBIC,
        )
        down = int(at[1] + off * size / 9)
        image.paste(Image.new("RGB", layer.size, ink), (int(x - size / 2), down), layer)
        x += font.getlength(glyph) * 1.06


def stamp(image: Image.Image, at: Point, text: str, size: int, ground: Colour) -> None:
    """Put text on the picture as if struck into metal: a dark stroke with a lit lower edge."""
    write(image, (at[0] + 3, at[1] + 4), text, size, shade(ground, 50))
    write(image, at, text, size, shade(ground, -95))


def blob(pen: ImageDraw.ImageDraw, at: Point, radius: float, colour: Colour) -> None:
    """Draw a rounded lump of solder, lit from above left."""
    x, y = at
    for step in range(7):
        part = radius * (1 - step / 8)
        shift = -step * radius / 28
        box = (x - part + shift, y - part * 0.82 + shift, x + part + shift, y + part * 0.82 + shift)
        pen.ellipse(box, fill=shade(colour, -46 + step * 15))


def aged(image: Image.Image, seed: int) -> Image.Image:
    """Return the picture as an old print: brown, paler, with a white border and a crease."""
    grey = image.convert("L").filter(ImageFilter.GaussianBlur(2))
    print_size = (WIDTH - 120, HEIGHT - FOOT - 150)
    brown = Image.merge(
        "RGB",
        (
            grey.point(lambda level: 52 + level * 0.74),
            grey.point(lambda level: 40 + level * 0.68),
            grey.point(lambda level: 26 + level * 0.56),
        ),
    ).resize(print_size)
    sheet = surface((240, 232, 214), seed)
    sheet.paste(brown, (60, 50))
    pen = ImageDraw.Draw(sheet)
    pen.line([(930, 50), (960, 300), (948, 636)], fill=(226, 214, 190), width=3)
    return sheet


def volume_control() -> Image.Image:
    """Return the back of a control whose code has one digit under solder."""
    image = surface((58, 46, 38), 1)
    pen = ImageDraw.Draw(image)
    for step in range(24):
        inset = step * 3
        pen.ellipse(
            (250 + inset, 30 + inset, 950 - inset, 730 - inset),
            fill=shade(STEEL, -30 + step * 2),
        )
    pen.ellipse((420, 200, 780, 560), outline=shade(STEEL, -25), width=3)
    stamp(image, (392, 262), "9 1 4  5", 104, STEEL)
    stamp(image, (754, 262), "2", 104, STEEL)
    stamp(image, (430, 452), "500 K  A", 62, STEEL)
    pen = ImageDraw.Draw(image)
    blob(pen, (716, 330), 74, SOLDER)
    pen.line([(740, 350), (900, 500), (1190, 560)], fill=(34, 60, 120), width=22)
    pen.line([(740, 344), (900, 494), (1190, 552)], fill=(74, 108, 176), width=6)
    write(image, (24, 690), "x 6, light from the left", 30, (200, 190, 176))
    return image


def harness_joints() -> Image.Image:
    """Return three lugs under the loupe: one alloy, one flux, plastic-covered wire."""
    image = Image.new("RGB", (WIDTH, HEIGHT), (20, 18, 18))
    pen = ImageDraw.Draw(image)
    pen.ellipse((230, -20, 970, 720), fill=(116, 92, 60))
    for number, (x, y) in enumerate(((400, 220), (600, 390), (770, 250))):
        pen.rounded_rectangle((x - 44, y - 130, x + 44, y + 60), 30, fill=(176, 160, 112))
        pen.ellipse((x - 16, y - 112, x + 16, y - 80), fill=(70, 56, 40))
        end = (x - 130 + number * 130, 700)
        pen.line([(x, y), (x - 20 + number * 20, y + 180), end], fill=(36, 66, 130), width=34)
        pen.line([(x - 6, y), (x - 26 + number * 20, y + 180), end], fill=(86, 120, 190), width=8)
        pen.ellipse((x - 70, y - 10, x + 70, y + 70), fill=(150, 112, 44))
        blob(pen, (x, y + 16), 54, SOLDER)
    pen.line([(520, 80), (596, 372)], fill=(196, 180, 140), width=5)
    ring = Image.new("L", (WIDTH, HEIGHT), 255)
    ImageDraw.Draw(ring).ellipse((244, -6, 956, 706), fill=0)
    image.paste((20, 18, 18), (0, 0), ring)
    pen.arc((230, -20, 970, 720), 0, 360, fill=(120, 120, 124), width=14)
    write(image, (24, 640), "x 10", 40, (200, 190, 176))
    write(image, (24, 690), "volume, capacitor, tone", 30, (200, 190, 176))
    return image


def lost_plate() -> Image.Image:
    """Return the end of the body where a plate was: a dark outline and two pin holes."""
    image = wood((120, 74, 40), 3)
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle(
        (300, 240, 900, 480), 36, fill=(88, 50, 26), outline=(70, 40, 22), width=5
    )
    for across, down, much in scatter(60, 4):
        x, y = 320 + across * 560, 255 + down * 205
        pen.line([(x, y), (x + 40 + much * 60, y + 1)], fill=(78, 44, 24), width=2)
    for x in (346, 854):
        pen.ellipse((x - 13, 347, x + 13, 373), fill=(24, 14, 8))
        pen.arc((x - 18, 342, x + 18, 378), 20, 200, fill=(150, 104, 66), width=3)
    pen.line([(300, 560), (900, 560)], fill=CREAM, width=4)
    for step in range(7):
        pen.line([(300 + step * 100, 545), (300 + step * 100, 575)], fill=CREAM, width=4)
    write(image, (520, 590), "60 mm", 36, CREAM)
    write(image, (24, 30), "tail end: outline of the plate, two pin holes", 34, CREAM)
    return image


def photograph_of_three() -> Image.Image:
    """Return an old print: three people on a porch, one with a steel on the knees."""
    scene = surface((186, 186, 180), 7, strength=20)
    pen = ImageDraw.Draw(scene)
    for x in range(0, WIDTH, 70):
        pen.line([(x, 0), (x, 520)], fill=(164, 164, 158), width=5)
    pen.rectangle((0, 560, WIDTH, HEIGHT), fill=(112, 112, 108))
    for x, dark in ((260, 70), (600, 90), (940, 60)):
        pen.ellipse((x - 56, 130, x + 56, 260), fill=(206, 206, 200))
        pen.pieslice((x - 62, 104, x + 62, 230), 180, 360, fill=(50, 50, 50))
        pen.polygon(
            [(x - 120, 560), (x - 84, 268), (x + 84, 268), (x + 120, 560)], fill=(dark,) * 3
        )
        pen.rectangle((x - 120, 540, x + 120, 640), fill=(dark - 20,) * 3)
        for foot in (x - 96, x + 44):
            pen.rectangle((foot, 600, foot + 52, 740), fill=(dark - 30,) * 3)
    pen.polygon(
        [(380, 470), (760, 452), (842, 470), (842, 520), (760, 548), (380, 520)], fill=(64,) * 3
    )
    pen.rectangle((400, 484, 700, 508), fill=(210,) * 3)
    for fret in range(412, 700, 26):
        pen.line([(fret, 484), (fret, 508)], fill=(70,) * 3, width=3)
    for x in (772, 806):
        pen.ellipse((x - 14, 480, x + 14, 508), fill=(236,) * 3)
    pen.polygon([(822, 470), (842, 470), (842, 490)], fill=(226,) * 3)
    for x, y in ((560, 462), (690, 458)):
        pen.ellipse((x - 28, y - 24, x + 28, y + 22), fill=(206, 206, 200))
    print_ = aged(scene, 8)
    scrawl(print_, (90, 648), "Harvest supper, July 1951", 40, (70, 66, 110))
    return print_


def output_transformer() -> Image.Image:
    """Return a transformer with a stamped code, one digit lost under varnish."""
    image = surface((92, 94, 92), 11)
    pen = ImageDraw.Draw(image)
    for line in range(40):
        y = 110 + line * 13
        pen.line([(150, y), (1050, y)], fill=shade((70, 66, 62), (line % 3) * 8), width=11)
    pen.rounded_rectangle((260, 70, 940, 660), 40, fill=(44, 46, 50), outline=(84, 86, 92), width=6)
    for x in (200, 1000):
        pen.ellipse((x - 30, 340, x + 30, 400), fill=(150, 150, 146), outline=(80, 80, 78), width=5)
    write(image, (330, 250), "9 3 7", 110, (214, 178, 92))
    write(image, (620, 250), "7", 110, (214, 178, 92))
    write(image, (778, 250), "6", 110, (214, 178, 92))
    write(image, (360, 440), "O.P.   8 OHM", 60, (180, 150, 84))
    varnish = Image.new("L", image.size, 0)
    ImageDraw.Draw(varnish).ellipse((664, 190, 786, 430), fill=215)
    varnish = varnish.filter(ImageFilter.GaussianBlur(14))
    image.paste(Image.new("RGB", image.size, (62, 42, 22)), (0, 0), varnish)
    write(image, (24, 690), "varnish run over the first digit of the week", 30, (214, 210, 200))
    return image


def capacitor_can() -> Image.Image:
    """Return a removed capacitor in its envelope, lying on the bench."""
    image = surface((150, 132, 104), 13)
    pen = ImageDraw.Draw(image)
    pen.polygon([(60, 120), (1120, 60), (1150, 660), (90, 720)], fill=(206, 182, 136))
    pen.polygon([(60, 120), (1120, 60), (600, 300)], fill=(190, 164, 118))
    scrawl(image, (560, 560), "out of the amplifier 2004", 46, (44, 60, 120))
    for step in range(70):
        y = 270 + step * 3
        light = int(60 - abs(step - 22) * 2.4)
        pen.line([(200, y), (900, y)], fill=shade((168, 170, 172), light - 20), width=4)
    pen.rectangle((900, 300, 940, 450), fill=(50, 44, 40))
    for y in (330, 375, 420):
        pen.line([(940, y), (1040, y - 14)], fill=(176, 170, 130), width=9)
    stamp(image, (260, 310), "922 732", 84, (176, 178, 180))
    stamp(image, (640, 320), "16-16 MFD", 44, (176, 178, 180))
    return image


def invoice() -> Image.Image:
    """Return a repairer's bill of 1986 for a period loudspeaker."""
    image = surface((120, 110, 100), 17)
    pen = ImageDraw.Draw(image)
    pen.rectangle((150, 20, 1050, 730), fill=(240, 236, 222))
    write(image, (200, 50), "TANSY LANE WIRELESS & AMPLIFIER REPAIRS", 36)
    write(image, (200, 100), "an invented workshop", 26, (120, 110, 110))
    pen.line([(200, 150), (1000, 150)], fill=INK, width=3)
    write(image, (200, 170), "Invoice 0318", 36)
    write(image, (740, 170), "11 March 1986", 36)
    rows = (
        "Garganey amplifier, chassis no.",
        "1 old 12 in loudspeaker, same make & age,",
        "   from a scrapped set, supplied and fitted",
        "Old loudspeaker (cone torn) scrapped",
        "New grille cloth; paper on back board scraped off",
    )
    for number, row in enumerate(rows):
        scrawl(image, (210, 244 + number * 70), row, 34, (30, 44, 120))
        pen.line(
            [(200, 300 + number * 70), (1000, 300 + number * 70)], fill=(170, 180, 200), width=2
        )
    pen.rectangle((790, 246, 960, 292), fill=(20, 20, 20))
    write(image, (808, 254), "withheld", 28, (240, 236, 222))
    write(image, (740, 630), "Paid", 64, (170, 40, 40))
    return image


def dance_hall() -> Image.Image:
    """Return an old print: the amplifier on a stage, with a braided strap for a handle."""
    scene = surface((92, 92, 92), 19, strength=24)
    pen = ImageDraw.Draw(scene)
    for x in range(-40, WIDTH, 110):
        pen.polygon([(x, 0), (x + 80, 0), (x + 96, 540), (x - 16, 540)], fill=(128,) * 3)
    pen.rectangle((0, 540, WIDTH, HEIGHT), fill=(58,) * 3)
    pen.polygon([(380, 250), (850, 250), (850, 690), (380, 690)], fill=(196,) * 3)
    pen.polygon([(850, 250), (930, 214), (930, 640), (850, 690)], fill=(146,) * 3)
    pen.polygon([(380, 250), (460, 214), (930, 214), (850, 250)], fill=(214,) * 3)
    pen.rounded_rectangle((430, 320, 800, 640), 60, fill=(116,) * 3)
    for step in range(0, 360, 18):
        pen.line([(440 + step, 330), (440 + step, 630)], fill=(150,) * 3, width=4)
    for step in range(12):
        x = 540 + step * 18
        y = 226 - (step * (11 - step)) * 1.4
        pen.ellipse((x - 13, y - 9, x + 13, y + 9), fill=(70,) * 3, outline=(170,) * 3, width=3)
    pen.ellipse((738, 652, 800, 680), fill=(62,) * 3)
    pen.ellipse((752, 656, 780, 674), fill=(30,) * 3)
    pen.line([(180, 120), (180, 700)], fill=(200,) * 3, width=8)
    pen.ellipse((150, 70, 210, 150), fill=(214,) * 3)
    print_ = aged(scene, 21)
    scrawl(print_, (90, 648), "14 Aug 1949", 40, (70, 66, 110))
    return print_


def label() -> Image.Image:
    """Return the paper label in the mandolin, torn at a corner, its number covered."""
    image = wood(MAPLE, 23)
    pen = ImageDraw.Draw(image)
    pen.polygon(
        [(230, 140), (980, 140), (980, 470), (930, 520), (900, 500), (850, 580), (230, 580)],
        fill=CREAM,
    )
    pen.polygon(
        [(256, 166), (954, 166), (954, 440), (826, 554), (256, 554)], outline=(120, 60, 40), width=4
    )
    for across, down, much in scatter(26, 24):
        x, y, size = 250 + across * 600, 150 + down * 400, 4 + much * 10
        pen.ellipse((x, y, x + size, y + size), fill=shade(CREAM, -22))
    write(image, (300, 190), "CALVEROCK INSTRUMENT WORKS", 38, (120, 50, 34))
    write(image, (300, 250), "Sallow Quay", 34, (120, 50, 34))
    write(image, (300, 320), "Whinchat   No.", 38, (120, 50, 34))
    pen.rectangle((590, 318, 790, 364), fill=(20, 20, 20))
    write(image, (622, 326), "withheld", 28, CREAM)
    scrawl(image, (300, 400), "passed  Feb. 1931", 46, (50, 44, 84))
    scrawl(image, (300, 476), "E. Dray", 46, (50, 44, 84))
    write(
        image, (24, 690), "seen through the sound hole; lower right corner gone", 30, (60, 40, 20)
    )
    return image


def keyed_seam() -> Image.Image:
    """Return the back in raking light: a seam with four keys let in across it."""
    image = wood(WALNUT, 29, lines=230)
    pen = ImageDraw.Draw(image)
    pen.line([(0, 372), (WIDTH, 378)], fill=(48, 28, 16), width=5)
    pen.line([(0, 378), (WIDTH, 384)], fill=(150, 104, 66), width=3)
    for number, x in enumerate((170, 450, 730, 1010)):
        lift = (number % 2) * 6
        outline = [
            (x - 84, 300 + lift),
            (x, 352),
            (x + 84, 300 - lift),
            (x + 84, 456),
            (x, 404),
            (x - 84, 456 - lift),
        ]
        pen.polygon(outline, fill=(176, 128, 76), outline=(60, 36, 20), width=4)
        for row in range(5):
            y = 330 + row * 22
            pen.line([(x - 70, y + 12), (x - 52, y + 8)], fill=(150, 104, 60), width=2)
            pen.line([(x + 52, y + 8), (x + 70, y + 12)], fill=(150, 104, 60), width=2)
    pen.line([(860, 240), (1010, 300)], fill=CREAM, width=3)
    write(image, (610, 190), "knife line runs past the key", 34, CREAM)
    write(
        image, (24, 690), "raking light from above: the keys stand proud of the finish", 30, CREAM
    )
    return image


PICTURES: dict[str, Callable[[], Image.Image]] = {
    "dunnock-volume-control": volume_control,
    "dunnock-joints": harness_joints,
    "dunnock-plate-outline": lost_plate,
    "dunnock-photograph-1951": photograph_of_three,
    "garganey-output-transformer": output_transformer,
    "garganey-removed-can": capacitor_can,
    "garganey-invoice-1986": invoice,
    "garganey-photograph-1949": dance_hall,
    "whinchat-label": label,
    "whinchat-keyed-seam": keyed_seam,
}


def finish(image: Image.Image) -> Image.Image:
    """Return the picture with its notice at the foot, at its final size and few colours."""
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, HEIGHT - FOOT, WIDTH, HEIGHT), fill=(28, 28, 32))
    font = ImageFont.load_default(34)
    left = (WIDTH - font.getlength(NOTICE)) / 2
    pen.text((left, HEIGHT - FOOT + 10), NOTICE, font=font, fill=(246, 240, 226))
    small = image.resize((WIDTH // SCALE, HEIGHT // SCALE), Image.Resampling.LANCZOS)
    return small.quantize(COLOURS, dither=Image.Dither.NONE)


def draw_all(folder: Path) -> tuple[Path, ...]:
    """Draw every picture into the folder and return the files, in the order of the table."""
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for name, draw in PICTURES.items():
        file = folder / f"{name}.png"
        finish(draw()).save(file, optimize=True)
        files.append(file)
    return tuple(files)


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "exhibits"
    for drawn in draw_all(target):
        sys.stdout.write(f"{drawn.name}: {drawn.stat().st_size} bytes\n")
