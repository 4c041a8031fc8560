"""Ordinary hits on staged motion, and what is proposed for them."""

from __future__ import annotations

import numpy as np

from impactcut.core.trims.propose import propose
from impactcut.core.trims.trim import Proposal, Trim
from tests.helpers.projects.staged_motion import CLIP_FRAMES, CONTACT, Staging, staged

WARNING = 1.5


def proposal_of(staging: Staging) -> Proposal:
    hit, motion = staged(staging)
    return propose(hit, motion, CLIP_FRAMES)


def trim_at(proposal: Proposal, offset: int, count: int) -> Trim:
    wanted = (CONTACT + offset, count)
    return next(trim for trim in proposal.trims if (trim.first, trim.count) == wanted)


def ordinary_stagings(camera: str, number: int = 60) -> list[Staging]:
    """Ordinary staged hits: strikes of a quarter to half a second, seen from knees up or nearer."""
    random = np.random.default_rng(11)
    return [
        Staging(
            rate=float(random.choice([24, 25, 30])),
            swing=random.uniform(0.25, 0.45),
            peak_speed=random.uniform(1.5, 3.0),
            stop=str(random.choice(["dead", "soft", "through", "back"])),
            phase=random.uniform(0.05, 0.95),
            lag=int(random.integers(0, 3)),
            recoil_speed=random.uniform(0.4, 1.0),
            recoil_time=random.uniform(0.05, 0.15),
            camera=camera,
            shake=random.uniform(0.0005, 0.003),
            limb_area=random.uniform(0.006, 0.02),
            receiver_area=random.uniform(0.02, 0.06),
            seed=seed,
        )
        for seed in range(number)
    ]
