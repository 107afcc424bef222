"""How a bird may hold itself, and the outlines that all birds of one build share."""

from __future__ import annotations

from dataclasses import dataclass

from drillhall.demo.painter.curves import spots


@dataclass(frozen=True)
class Pose:
    """How the bird holds itself; angles in degrees."""

    name: str
    tilt: float  # of the body, breast up
    stretch: float  # share of the neck put out
    neck: float  # of the neck, above the horizontal
    gaze: float  # of the bill, above the horizontal
    puff: float = 1.0  # how fluffed the body is
    stride: float = 0.1  # feet apart, as a share of the leg
    legs: int = 2
    crouch: float = 0.97


POSES = {
    pose.name: pose
    for pose in (
        Pose("alert", 17, 1.0, 72, 3, 0.97, 0.10),
        Pose("standing", 9, 0.5, 58, -5, 1.0, 0.16),
        Pose("walking", 5, 0.62, 46, -8, 1.0, 0.62, 2, 0.94),
        Pose("pecking", -14, 0.75, -8, -38, 1.0, 0.36, 2, 0.93),
        Pose("probing", -20, 0.9, -34, -66, 1.0, 0.42, 2, 0.93),
        Pose("resting", 5, -0.30, 52, -6, 1.08, 0.0, 1, 0.96),
        Pose("stooping", -2, 0.85, 24, -20, 1.0, 0.30),
    )
}

BUILDS = {
    "sandpiper": spots(
        "0.50 0.00 | 0.46 0.24 | 0.30 0.45 | 0.08 0.50 | -0.16 0.44 | -0.38 0.27 | -0.56 0.11 | "
        "-0.66 0.00 | -0.56 -0.09 | -0.36 -0.26 | -0.10 -0.41 | 0.16 -0.48 | 0.36 -0.40 | 0.47 -0.21"
    ),
    "plover": spots(
        "0.51 0.02 | 0.47 0.27 | 0.31 0.46 | 0.08 0.51 | -0.16 0.45 | -0.38 0.28 | -0.55 0.12 | "
        "-0.64 0.01 | -0.54 -0.08 | -0.33 -0.26 | -0.06 -0.43 | 0.20 -0.50 | 0.39 -0.41 | 0.49 -0.19"
    ),
    "slim": spots(
        "0.48 0.00 | 0.44 0.22 | 0.30 0.41 | 0.08 0.47 | -0.16 0.42 | -0.39 0.27 | -0.59 0.12 | "
        "-0.71 0.02 | -0.60 -0.07 | -0.38 -0.22 | -0.12 -0.37 | 0.13 -0.44 | 0.34 -0.38 | 0.45 -0.21"
    ),
    "deep": spots(
        "0.51 -0.02 | 0.47 0.24 | 0.31 0.46 | 0.06 0.52 | -0.20 0.47 | -0.42 0.30 | -0.57 0.12 | "
        "-0.65 0.00 | -0.55 -0.11 | -0.36 -0.31 | -0.10 -0.48 | 0.17 -0.53 | 0.38 -0.43 | 0.49 -0.23"
    ),
}
"""Trunk from breast to tail base, in body lengths forward and body depths up from its middle."""

SANDPIPER_BILL = spots("0 1 | 0.06 0.98 | 0.18 0.78 | 0.4 0.56 | 0.75 0.44 | 0.93 0.36 | 1 0.12")
PLOVER_BILL = spots("0 1 | 0.12 0.98 | 0.36 0.82 | 0.6 0.84 | 0.82 0.66 | 1 0.08")
"""Depth of the bill along its length, as a share of its depth at the root."""

WING_LOW = spots("0 0.10 | 0.10 -0.05 | 0.24 -0.16 | 0.40 -0.195 | 0.55 -0.165 | 0.75 -0.06 | 1 0.03")
WING_HIGH = spots("-1.2 0.06 | -0.74 0.10 | -0.56 0.155 | -0.38 0.285 | -0.16 0.44 | 0.08 0.50 | 0.24 0.47 | 0.34 0.36")
"""Lower and upper edge of the folded wing on the body."""
