"""From a form's measures and a pose to the geometry of one bird, in millimetres, facing +x, standing on y = 0."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from functools import cached_property

from drillhall.demo.painter.curves import Outline, Point, bend, bezier, lerp, mix, read_table, ribbon, smooth, turn
from drillhall.demo.painter.poses import BUILDS, PLOVER_BILL, SANDPIPER_BILL, WING_HIGH, WING_LOW, Pose


@dataclass
class Figure:
    """One bird of a form in a pose: frames, outlines and where its parts lie."""

    shape: dict[str, float | str]
    pose: Pose
    dice: random.Random
    floor: float = 0.0  # height of the surface (water) above the feet
    body_turn: complex = 1 + 0j
    heart: Point = 0j
    poll: Point = 0j
    gaze: complex = 1 + 0j
    reach: float = 0.0
    feet: list[Point] = field(default_factory=list)
    bill_sunk: float = 0.0

    def __post_init__(self) -> None:
        self._stand()
        self._raise_head(self.pose.neck, self.pose.gaze)
        if self.pose.name in ("pecking", "probing"):
            self._lower_bill()
        self._place_feet()

    # ---- measures
    def size(self, key: str) -> float:
        """Return a measure of the form in millimetres (or a plain ratio)."""
        return float(self.shape[key])

    @property
    def depth(self) -> float:
        """Return the depth of the body as held in this pose."""
        return self.size("depth") * self.pose.puff

    @property
    def leg(self) -> float:
        """Return the height of the hip above the ground."""
        return (self.size("tibia") + self.size("tarsus")) * self.pose.crouch

    # ---- pose
    def _stand(self, extra_tilt: float = 0.0) -> None:
        self.body_turn = turn(self.pose.tilt + extra_tilt + self.size("carriage"))
        hip = complex(0, self.leg)
        self.heart = hip + self.body_turn * complex(0.03 * self.size("body"), 0.39 * self.depth)

    def _raise_head(self, neck: float, gaze: float) -> None:
        base = self.body(0.29, 0.14)
        self.reach = 0.43 * self.size("depth") + self.pose.stretch * self.size("neck")
        self.poll = base + turn(neck) * self.reach
        self.gaze = turn(gaze)

    def _lower_bill(self) -> None:
        """Tip the body and drop the neck until the bill meets the ground."""
        target = self.floor + (-0.16 * self.bill_length if self.pose.name == "probing" else self.dice.uniform(0.2, 2.0))
        steepest = -80 if self.pose.name == "probing" else -62
        for k in range(40):
            ease = k / 39
            self._stand(lerp(8, -26, ease))
            self._raise_head(lerp(self.pose.neck + 25, -62, ease), lerp(self.pose.gaze + 8, steepest, ease))
            if self.bill_line[-1].imag <= target:
                break
            self._forget()
        tip = self.bill_line[-1].imag - self.floor
        self.bill_sunk = max(0.0, -tip / self.bill_length)

    def _forget(self) -> None:
        self.__dict__.pop("bill_line", None)

    def _place_feet(self) -> None:
        lean = 0.04 * self.size("body")
        half = 0.5 * self.pose.stride * self.leg
        if self.pose.legs == 1:
            self.feet = [complex(lean, 0)]
        else:
            swap = self.dice.choice((1, -1))
            gap = 0.10 * self.size("tarsus")
            self.feet = [complex(lean + swap * half, -0.35), complex(lean - swap * half + 0.3 * gap, gap)]

    # ---- frames
    def body(self, u: float, v: float) -> Point:
        """Return a point of the body: u in body lengths forward, v in body depths up, from the middle."""
        return self.heart + self.body_turn * complex(u * self.size("body"), v * self.depth)

    def face(self, u: float, v: float) -> Point:
        """Return a point of the head: in head lengths from its middle, u toward the bill."""
        return self.poll + self.gaze * complex(u, v) * self.size("head")

    def wing(self, a: float, b: float) -> Point:
        """Return a point of the folded wing: a from its bend (0) to the tertial tips (1), b from lower edge (0) to back (1)."""
        u = lerp(0.34, self.tertial_end, a)
        return self.body(u, lerp(read_table(WING_LOW, a), read_table(WING_HIGH, u), b))

    @property
    def tertial_end(self) -> float:
        """Return where along the body the longest tertial ends."""
        beyond = self.size("tail") + self.size("wing_beyond") - self.size("primary")
        return -0.5 - beyond / self.size("body")

    @cached_property
    def neck_line(self) -> list[Point]:
        """Return the middle of the neck, from the head into the body."""
        base, end = self.body(0.29, 0.14), self.face(-0.12, -0.10)
        inner = self.body(0.02, -0.02)
        lift = self.body_turn * complex(0.30, 0.12) * self.reach
        drop = self.gaze * complex(-0.25, -0.55) * self.size("head") * max(0.0, min(1.0, self.pose.stretch + 0.3))
        line = [bezier(end, end + drop, base + lift, base, k / 10) for k in range(11)]
        return line + [mix(base, inner, k / 4) for k in range(1, 5)]

    def neck_half(self, t: float) -> float:
        """Return half the thickness of the neck: t = 0 at the head, 1 at its base, up to 1.4 inside the body."""
        slim, full = self.size("neck_width") * 0.5 * self.size("head"), 0.40 * self.depth
        return lerp(slim, full, max(0.0, min(1.0, t)) ** 1.5)

    def neck(self, t: float, side: float) -> Point:
        """Return a point of the neck: t along it, side from -1 (throat and breast) to 1 (nape and mantle)."""
        x = max(0.0, min(13.999, t * 10))
        i = int(x)
        here = mix(self.neck_line[i], self.neck_line[i + 1], x - i)
        ahead = self.neck_line[min(14, i + 2)] - self.neck_line[max(0, i - 1)]
        return here - 1j * ahead / abs(ahead) * self.neck_half(t) * side

    def collar(self, front: tuple[float, float], nape: tuple[float, float]) -> Outline:
        """Return a ring around the neck, from front[0] to front[1] on the breast side and nape[0] to nape[1] behind."""
        sides = [-1.35, -1.0, -0.5, 0.0, 0.5, 1.0, 1.3]
        bow = (0.0, 0.0, 0.05, 0.08, 0.06, 0.0, -0.03)
        share = [(s + 1) / 2 for s in sides]
        first = [self.neck(lerp(front[0], nape[0], h) + 0.6 * w, s) for s, h, w in zip(sides, share, bow, strict=True)]
        last = [self.neck(lerp(front[1], nape[1], h) + w, s) for s, h, w in zip(sides, share, bow, strict=True)]
        return smooth(first, False, 4) + smooth(last, False, 4)[::-1]

    # ---- outlines
    @cached_property
    def body_outline(self) -> Outline:
        """Return the trunk from breast to tail base."""
        return smooth([self.body(u, v) for u, v in BUILDS[str(self.shape["build"])]])

    @cached_property
    def neck_outline(self) -> Outline:
        """Return the neck, running into the trunk."""
        return ribbon(self.neck_line, lambda t: self.neck_half(t * 1.4))

    @cached_property
    def head_outline(self) -> Outline:
        """Return the head, tapering to the root of the bill."""
        brow, high = self.size("brow"), self.size("head_depth") * 0.5
        root = 0.42 * self.size("bill_depth")
        points = (
            (0.545, -0.045 + root),
            (0.46, 0.01 + root),
            (lerp(0.38, 0.44, brow), high * lerp(0.42, 0.62, brow)),
            (lerp(0.20, 0.26, brow), high * lerp(0.84, 0.95, brow)),
            (-0.04, high * 1.04),
            (-0.30, high * 0.84),
            (-0.48, high * 0.30),
            (-0.47, -high * 0.40),
            (-0.26, -high * 0.86),
            (0.08, -high * 0.88),
            (0.34, -high * 0.58),
            (0.46, -0.09 - root),
            (0.545, -0.06 - root),
        )
        return smooth([self.face(u, v) for u, v in points])

    @property
    def bill_length(self) -> float:
        """Return the length of the bill in millimetres."""
        return self.size("bill") * self.size("head")

    @cached_property
    def bill_line(self) -> list[Point]:
        """Return the middle of the bill from inside the face to the tip."""
        length = self.bill_length
        start = self.face(0.42, -0.05)
        axis = self.gaze * turn(-2)
        line = []
        for k in range(17):
            s = k / 16
            sag = self.size("droop") * s**2.2 + self.size("tip_droop") * max(0.0, (s - 0.55) / 0.45) ** 2
            line.append(start + axis * complex(s * length + s * 0.08 * self.size("head"), -sag * length))
        return line

    def bill_half(self, t: float) -> float:
        """Return half the depth of the bill at a share of its length."""
        rows = PLOVER_BILL if self.shape["bill_kind"] == "plover" else SANDPIPER_BILL
        return 0.5 * self.size("bill_depth") * self.size("head") * read_table(rows, t)

    @cached_property
    def bill_outline(self) -> Outline:
        """Return the bill."""
        return ribbon(self.bill_line, self.bill_half)

    def bill_piece(self, start: float, end: float, upper: float = 1.0, lower: float = 1.0) -> Outline:
        """Return the bill between two shares of its length; upper and lower scale the two halves."""
        picks = [start + (end - start) * k / 8 for k in range(9)]
        top, under = [], []
        for s in picks:
            x = min(15.999, s * 16)
            i = int(x)
            here = mix(self.bill_line[i], self.bill_line[i + 1], x - i)
            ahead = self.bill_line[i + 1] - self.bill_line[i]
            normal = ahead * 1j / abs(ahead) * self.bill_half(s)
            top.append(here + normal * upper)
            under.append(here - normal * lower)
        return top + under[::-1]

    @cached_property
    def tail_outline(self) -> Outline:
        """Return the closed tail, in line with the body."""
        length, body = self.size("tail"), self.size("body")
        tip = -0.5 - length / body
        points = ((-0.34, 0.20), (-0.5, 0.13), (tip + 0.05, 0.07), (tip, 0.04), (tip, -0.025), (tip + 0.08, -0.06), (-0.5, -0.10))
        return [self.body(u, v) for u, v in points]

    @cached_property
    def wing_tip(self) -> tuple[Point, Outline]:
        """Return the folded primaries: their tip and outline."""
        body = self.size("body")
        u = -0.5 - (self.size("tail") + self.size("wing_beyond")) / body
        points = (
            (-0.20, 0.0),
            (-0.36, 0.12),
            (-0.5, 0.125),
            (lerp(-0.5, u, 0.6), 0.105),
            (u, 0.05),
            (lerp(-0.5, u, 0.5), 0.005),
            (-0.44, -0.05),
        )
        return self.body(u, 0.05), smooth([self.body(a, b) for a, b in points], True, 5)

    def leg_bones(self, index: int) -> tuple[Point, Point, Point]:
        """Return hip (at the feathers), ankle joint and foot of a leg."""
        near = index == 0
        hip = self.body(-0.02 if near else 0.03, -0.36)
        foot = self.feet[index]
        lower = self.size("tarsus")
        upper = max(self.size("tibia") + self.leg * 0.03, abs(foot - hip) - lower * 0.985)
        return hip, bend(hip, foot, upper, lower), foot

    def toes(self, index: int) -> list[Outline]:
        """Return the toes of a foot as thin outlines: two forward, one toward the viewer, and the short hind toe."""
        foot = self.feet[index]
        long = self.size("toe")
        width = self.size("leg_width") * 0.62
        tips = [complex(0.95, -0.02), complex(0.62, -0.22), complex(0.78, 0.12)]
        if float(self.shape["hind_toe"]) > 0:
            tips.append(complex(-0.30 * self.size("hind_toe"), -0.05))
        out = []
        for tip in tips:
            end = foot + tip * long
            knuckle = mix(foot, end, 0.5) + 0.05j * long
            out.append(ribbon([foot + 0.3j * width, knuckle, end], lambda t: width * lerp(0.62, 0.30, t)))
        return out

    @cached_property
    def extent(self) -> tuple[float, float, float, float]:
        """Return left, bottom, right and top of the whole bird."""
        points = self.body_outline + self.head_outline + self.bill_outline + self.tail_outline + self.wing_tip[1] + self.feet
        xs, ys = [p.real for p in points], [p.imag for p in points]
        return min(xs), min(min(ys), -1.0), max(xs), max(ys)
