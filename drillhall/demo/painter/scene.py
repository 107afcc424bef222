"""The circumstances of one picture, dealt by seed so that no form has a setting, light, distance or facing of its own."""

from __future__ import annotations

import random
from dataclasses import dataclass

from drillhall.demo.painter.curves import lerp

SETTINGS = ("mud", "shingle", "marsh", "water")
LIGHTS = ("overcast", "warm", "cool", "backlit")
POSES_DEALT = ("standing", "walking", "feeding", "alert", "standing", "resting", "walking", "feeding", "alert", "stooping", "standing")


@dataclass(frozen=True)
class Scene:
    """The circumstances of one picture; shares are of the frame."""

    setting: str
    light: str
    pose: str
    facing: int  # +1: the bird faces right
    span: float  # share of the width that the bird takes
    across: float  # where its middle is, in shares of the free room
    ground: float  # height of the feet, from the top
    squeeze: float  # foreshortening: 1 is square side-on
    haze: float
    soft: float  # blur of distance
    wear: float
    wet: float  # share of the leg under water


def stage(key: str, seed: int) -> Scene:
    """Deal the circumstances of this form and seed: settings, lights, poses and distances come round evenly."""
    turn = seed + sum(key.encode()) % 97
    dice = random.Random(f"scene:{key}:{seed}")
    far = (turn * 0.61803) % 1.0
    return Scene(
        setting=SETTINGS[turn % 4],
        light=LIGHTS[(turn // 4 + turn) % 4],
        pose=POSES_DEALT[(turn * 3) % len(POSES_DEALT)],
        facing=(1, -1)[(turn // 2 + turn // 8) % 2],
        span=lerp(0.68, 0.42, far) * dice.uniform(0.94, 1.06),
        across=(turn * 0.75488) % 1.0,
        ground=dice.uniform(0.70, 0.84),
        squeeze=dice.choice((1.0, 1.0, 0.97, 0.93, 0.89)),
        haze=max(0.0, far - 0.35) * dice.uniform(0.05, 0.26),
        soft=max(0.0, far - 0.45) * dice.uniform(0.0, 2.0),
        wear=dice.random() ** 1.5 * 0.8,
        wet=dice.uniform(0.10, 0.55),
    )
