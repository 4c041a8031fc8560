"""The loop in which a network learns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn

Loss = Callable[[NDArray[np.int64], np.random.Generator], torch.Tensor]
"""Loss of a batch, given the numbers of its samples, and what draws their variations."""


@dataclass(frozen=True)
class Course:
    """How long a network learns: epochs, samples a batch, greatest step, decay of its weights."""

    epochs: int
    batch: int
    rate: float
    decay: float


def learn(net: nn.Module, samples: int, loss_of: Loss, course: Course, seed: int) -> None:
    """Let ``net`` learn from so many samples, in an order that the seed settles."""
    rng = np.random.default_rng(seed)
    learner = torch.optim.AdamW(net.parameters(), weight_decay=course.decay)
    batches = samples // course.batch
    steps = course.epochs * batches
    pace = torch.optim.lr_scheduler.OneCycleLR(learner, course.rate, total_steps=steps)
    net.train()
    for _ in range(course.epochs):
        order = rng.permutation(samples)[: batches * course.batch]
        for batch in np.array_split(order, batches):
            learner.zero_grad()
            loss_of(batch, rng).backward()
            learner.step()
            pace.step()
    net.eval()
