"""The glimpse network's arithmetic against independent libraries, and what its answers mean."""

import numpy as np
import pytest
from scipy import ndimage
from scipy.special import expit, logit, softmax

from impactcut.core.glimpse_net import (
    AFTER,
    BEFORE,
    FIRST,
    SHAPE,
    STEP,
    Blend,
    GlimpseNet,
    Layer,
    Reader,
    glimpse_net_from,
    scaled,
)
from impactcut.workflow.hit_weights import glimpse_weights

EVEN = Blend(1.0, 1.0, 0.0)
BLANK = np.zeros((BEFORE + AFTER + 1, 2, *SHAPE), np.uint8)


@pytest.mark.parametrize(("time", "stride"), [(1, 1), (3, 1), (3, 2)])
def test_a_layer_is_the_sum_of_scipys_correlations(time: int, stride: int) -> None:
    """Source: `scipy.ndimage.correlate`, which pads with a constant as the layer does."""
    rng = np.random.default_rng(5)
    weights = rng.normal(size=(4, 3, time, 3, 3)).astype(np.float32)
    bias = rng.normal(size=4).astype(np.float32)
    values = rng.normal(size=(3, 5, 8, 10)).astype(np.float32)

    sums = [
        sum(
            ndimage.correlate(values[inner], weights[outer, inner], mode="constant")
            for inner in range(3)
        )
        + bias[outer]
        for outer in range(4)
    ]
    expected = np.maximum(np.stack(sums), 0)[:, :, ::stride, ::stride]

    np.testing.assert_allclose(Layer(weights, bias, stride).of(values), expected, atol=1e-4)


def _net_that_answers(instant: int, odds: float = 0.0) -> GlimpseNet:
    """A network without a view of its own that is sure of one instant, and of the odds."""
    moments = BEFORE + AFTER + 1
    bias = np.zeros(37, np.float32)
    bias[instant] = 50
    over_time = (Layer(np.ones((1, 2, 1, 1, 1), np.float32), np.zeros(1, np.float32), 1),)
    return GlimpseNet(
        space=(Layer(np.ones((1, 2, 1, 3, 3), np.float32), np.zeros(1, np.float32), 2),),
        contact=Reader(over_time, np.zeros((37, moments), np.float32), bias),
        hit=Reader(over_time, np.zeros((1, moments), np.float32), np.array([odds], np.float32)),
        blend=EVEN,
    )


def test_a_whole_network_is_the_sum_of_scipys_parts() -> None:
    """Sources: `scipy.ndimage.correlate` for the layers, `scipy.special.softmax` at the end."""
    rng = np.random.default_rng(6)
    moments = BEFORE + AFTER + 1
    space = Layer(rng.normal(size=(1, 2, 1, 3, 3)).astype(np.float32), np.float32([0.1]), 1)
    first = Layer(
        rng.normal(size=(3, 2, 3, 1, 1)).astype(np.float32), np.float32([-0.1, 0, 0.1]), 1
    )
    second = Layer(rng.normal(size=(1, 3, 3, 1, 1)).astype(np.float32), np.float32([0.2]), 1)
    weights = rng.normal(size=(5, 3 * moments)).astype(np.float32)
    odds = rng.normal(size=(1, moments)).astype(np.float32)
    net = GlimpseNet(
        space=(space,),
        contact=Reader((first,), weights, np.zeros(5, np.float32)),
        hit=Reader((first, second), odds, np.float32([0.3])),
        blend=EVEN,
    )
    glimpses = rng.integers(0, 255, (moments, 2, 8, 10)).astype(np.uint8)

    def over_time(layer: Layer, values: np.ndarray) -> np.ndarray:
        sums = [
            sum(
                ndimage.correlate1d(channel, one[:, 0, 0], mode="constant")
                for channel, one in zip(values, kernel, strict=True)
            )
            for kernel in layer.weights
        ]
        return np.maximum(np.stack(sums) + layer.bias[:, None], 0)

    seen = sum(
        ndimage.correlate(scaled(glimpses)[inner], space.weights[0, inner], mode="constant")
        for inner in range(2)
    )
    seen = np.maximum(seen + 0.1, 0)
    moment = over_time(first, np.stack([seen.max(axis=(1, 2)), seen.mean(axis=(1, 2))]))
    chances = softmax(weights @ moment.ravel())
    sight = net.look(glimpses)
    assert sight.steps == pytest.approx(
        sum(chance * (FIRST + STEP * k) for k, chance in enumerate(chances)), rel=1e-4
    )
    assert sight.odds == pytest.approx(odds[0] @ over_time(second, moment).ravel() + 0.3, rel=1e-4)


@pytest.mark.parametrize("instant", [0, 24, 36])
def test_the_answer_is_the_instant_that_is_likeliest(instant: int) -> None:
    sight = _net_that_answers(instant, odds=-1.5).look(BLANK)
    assert sight.steps == pytest.approx(FIRST + STEP * instant)
    assert sight.odds == pytest.approx(-1.5)


@pytest.mark.parametrize(("motion", "seen"), [(0.9, 0.2), (0.3, 0.8), (0.5, 0.5)])
def test_two_opinions_of_one_weight_are_those_of_two_independent_witnesses(
    motion: float, seen: float
) -> None:
    """Bayes' rule, from even odds: the odds of two witnesses are multiplied."""
    both = motion * seen / (motion * seen + (1 - motion) * (1 - seen))
    assert EVEN.chance(motion, float(logit(seen))) == pytest.approx(both)


def test_weights_and_shift_are_in_log_odds() -> None:
    blend = Blend(motion=0.5, sight=2.0, shift=-0.25)
    expected = expit(0.5 * logit(0.8) + 2.0 * 0.7 - 0.25)
    assert blend.chance(0.8, 0.7) == pytest.approx(float(expected))


def test_a_certain_candidate_stays_one() -> None:
    assert Blend(0.5, 0.5, 0.0).chance(1.0, -3.0) == 1.0


def test_contrast_of_the_picture_does_not_matter() -> None:
    rng = np.random.default_rng(2)
    faint = rng.integers(0, 60, (BEFORE + AFTER + 1, 2, *SHAPE)).astype(np.uint8)
    np.testing.assert_allclose(scaled(faint), scaled(faint * 4), rtol=1e-5)


def test_grain_is_not_made_strong() -> None:
    grain = np.ones_like(BLANK)
    assert scaled(grain).max() < 0.5


def test_the_weights_fit_the_view() -> None:
    net = glimpse_weights()
    sight = net.look(BLANK)
    assert FIRST <= sight.steps <= FIRST + STEP * (len(net.contact.bias) - 1)
    assert sight.odds < 0


def test_either_opinion_can_raise_and_lower_a_chance() -> None:
    blend = glimpse_weights().blend
    assert blend.chance(0.5, 2.0) > blend.chance(0.5, -2.0)
    assert blend.chance(0.8, 1.0) > blend.chance(0.4, 1.0)


@pytest.mark.parametrize("other", [{"step": 0.26}, {"first": -5.0}])
def test_weights_for_other_instants_are_refused(other: dict[str, float]) -> None:
    layer = {"weights": np.zeros((1, 2, 1, 1, 1)).tolist(), "bias": [0.0], "stride": 1}
    reader = {"layers": [layer], "weights": [[0.0]], "bias": [0.0]}
    plain = {"first": FIRST, "step": STEP, "space": [layer], "contact": reader, "hit": reader}
    plain |= {"blend": {"motion": 1.0, "sight": 1.0, "shift": 0.0}}
    assert len(glimpse_net_from(plain).contact.bias) == 1
    with pytest.raises(ValueError, match="other instants"):
        glimpse_net_from(plain | other)
