"""A small canvas that lays smooth, anti-aliased, optionally blurred and clipped shapes, given in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from drillhall.demo.painter.colours import Colour
from drillhall.demo.painter.curves import Outline, Point

Pixel = tuple[float, float]
Box = tuple[int, int, int, int]
Stroke = tuple[Point, Point, float]
FINE = 3  # shapes are drawn this many times larger and averaged down


class Brush:
    """Colours and shapes on one canvas; `place` turns millimetres into pixels."""

    def __init__(self, size: tuple[int, int], place: Callable[[Point], Pixel], scale: float) -> None:
        self.size = size
        self.place = place
        self.scale = scale  # pixels a millimetre
        self.paint = Image.new("RGB", size, (128, 124, 116))

    # ---- masks
    def frame(self, points: Sequence[Pixel], pad: float) -> Box | None:
        """Return the pixel box around points, within the canvas."""
        left = max(0, int(min(x for x, _ in points) - pad))
        top = max(0, int(min(y for _, y in points) - pad))
        right = min(self.size[0], int(max(x for x, _ in points) + pad) + 2)
        bottom = min(self.size[1], int(max(y for _, y in points) + pad) + 2)
        return (left, top, right, bottom) if right > left and bottom > top else None

    def mask(self, outlines: Iterable[Outline], blur: float = 0.0) -> tuple[Image.Image, Box] | None:
        """Return a soft-edged mask of closed outlines and its box; blur is in millimetres."""
        shapes = [[self.place(p) for p in outline] for outline in outlines]
        radius = blur * self.scale
        box = self.frame([p for shape in shapes for p in shape], 2 + 2.5 * radius) if shapes else None
        if box is None:
            return None
        fine = FINE if radius < 1.5 else 1
        sheet = Image.new("L", ((box[2] - box[0]) * fine, (box[3] - box[1]) * fine), 0)
        draw = ImageDraw.Draw(sheet)
        for shape in shapes:
            draw.polygon([((x - box[0]) * fine, (y - box[1]) * fine) for x, y in shape], fill=255)
        small = sheet.reduce(fine) if fine > 1 else sheet
        return (small.filter(ImageFilter.GaussianBlur(radius)) if radius > 0.3 else small), box

    def whole(self, outlines: Iterable[Outline], blur: float = 0.0) -> Image.Image:
        """Return such a mask over the whole canvas."""
        full = Image.new("L", self.size, 0)
        made = self.mask(outlines, blur)
        if made:
            full.paste(made[0], made[1])
        return full

    # ---- paint
    def lay(self, outline: Outline, colour: Colour, blur: float = 0.0, strength: float = 1.0, clip: Image.Image | None = None) -> None:
        """Fill an outline with a colour, softened by `blur` millimetres."""
        made = self.mask([outline], blur)
        if made is not None and strength > 0:
            self.drop(made[0], made[1], colour, strength, clip)

    def drop(self, mask: Image.Image, box: Box, colour: Colour, strength: float, clip: Image.Image | None) -> None:
        """Paint a colour through a mask, within the clip."""
        if clip is not None:
            mask = ImageChops.multiply(mask, clip.crop(box))
        if strength < 1.0:
            mask = mask.point([round(i * strength) for i in range(256)])
        self.paint.paste(colour, box, mask)

    def flood(self, colour: Colour, mask: Image.Image) -> None:
        """Fill a mask of the whole canvas with a colour."""
        box = mask.getbbox()
        if box:
            self.paint.paste(colour, box, mask.crop(box))

    def hatch(self, strokes: Sequence[Stroke], colour: Colour, strength: float = 1.0, clip: Image.Image | None = None) -> None:
        """Draw many short strokes: from, to and width in millimetres."""
        lines = [(self.place(a), self.place(b), w * self.scale) for a, b, w in strokes]
        box = self.frame([p for a, b, _ in lines for p in (a, b)], 4) if lines else None
        if box is None:
            return
        sheet = Image.new("L", ((box[2] - box[0]) * FINE, (box[3] - box[1]) * FINE), 0)
        draw = ImageDraw.Draw(sheet)
        for (ax, ay), (bx, by), width in lines:
            draw.line(
                [((ax - box[0]) * FINE, (ay - box[1]) * FINE), ((bx - box[0]) * FINE, (by - box[1]) * FINE)],
                fill=255,
                width=max(1, round(width * FINE)),
            )
        self.drop(sheet.reduce(FINE), box, colour, strength, clip)


class Sheet:
    """A finely drawn patch of many overlapping opaque shapes (feathers), put onto a brush through a clip."""

    def __init__(self, brush: Brush, outline: Outline, pad: float) -> None:
        self.brush = brush
        self.box = brush.frame([brush.place(p) for p in outline], pad * brush.scale) or (0, 0, 1, 1)
        size = ((self.box[2] - self.box[0]) * FINE, (self.box[3] - self.box[1]) * FINE)
        self.colour = Image.new("RGB", size)
        self.cover = Image.new("L", size, 0)
        self._paint, self._cover = ImageDraw.Draw(self.colour), ImageDraw.Draw(self.cover)

    def spot(self, p: Point) -> Pixel:
        """Return where a point falls on the sheet."""
        x, y = self.brush.place(p)
        return (x - self.box[0]) * FINE, (y - self.box[1]) * FINE

    def shape(self, outline: Outline, colour: Colour) -> None:
        """Draw an opaque shape."""
        points = [self.spot(p) for p in outline]
        self._paint.polygon(points, fill=colour)
        self._cover.polygon(points, fill=255)

    def line(self, points: Sequence[Point], colour: Colour, width: float) -> None:
        """Draw a line over what is already there."""
        self._paint.line([self.spot(p) for p in points], fill=colour, width=max(1, round(width * self.brush.scale * FINE)))

    def press(self, clip: Image.Image) -> None:
        """Put the sheet onto the brush, within the clip."""
        mask = ImageChops.multiply(self.cover.reduce(FINE), clip.crop(self.box))
        self.brush.paint.paste(self.colour.reduce(FINE), self.box, mask)
