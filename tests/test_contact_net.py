"""The contact network's arithmetic against an independent library, and what its answer means."""

import numpy as np
import pytest
from scipy import ndimage
from scipy.special import softmax

from impactcut.core.contact_net import (
    AFTER,
    BEFORE,
    FIRST,
    SHAPE,
    STEP,
    ContactNet,
    Layer,
    contact_net_from,
    scaled,
)
from impactcut.workflow.hit_weights import contact_weights


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


def _net_that_answers(instant: int) -> ContactNet:
    """A network without a view of its own that is sure of one instant."""
    moments = BEFORE + AFTER + 1
    bias = np.zeros(37, np.float32)
    bias[instant] = 50
    return ContactNet(
        space=(Layer(np.ones((1, 2, 1, 3, 3), np.float32), np.zeros(1, np.float32), 2),),
        time=Layer(np.ones((1, 2, 1, 1, 1), np.float32), np.zeros(1, np.float32), 1),
        weights=np.zeros((37, moments), np.float32),
        bias=bias,
    )


def test_a_whole_network_is_the_sum_of_scipys_parts() -> None:
    """Sources: `scipy.ndimage.correlate` for the layers, `scipy.special.softmax` at the end."""
    rng = np.random.default_rng(6)
    moments = BEFORE + AFTER + 1
    space = Layer(rng.normal(size=(1, 2, 1, 3, 3)).astype(np.float32), np.float32([0.1]), 1)
    time = Layer(rng.normal(size=(1, 2, 3, 1, 1)).astype(np.float32), np.float32([-0.1]), 1)
    weights = rng.normal(size=(5, moments)).astype(np.float32)
    net = ContactNet((space,), time, weights, np.zeros(5, np.float32))
    glimpses = rng.integers(0, 255, (moments, 2, 8, 10)).astype(np.uint8)

    seen = sum(
        ndimage.correlate(scaled(glimpses)[inner], space.weights[0, inner], mode="constant")
        for inner in range(2)
    )
    seen = np.maximum(seen + 0.1, 0)
    moment = sum(
        ndimage.correlate1d(values, time.weights[0, inner, :, 0, 0], mode="constant")
        for inner, values in enumerate((seen.max(axis=(1, 2)), seen.mean(axis=(1, 2))))
    )
    chances = softmax(weights @ np.maximum(moment - 0.1, 0))
    expected = sum(chance * (FIRST + STEP * k) for k, chance in enumerate(chances))
    assert net.steps_to_contact(glimpses) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("instant", [0, 24, 36])
def test_the_answer_is_the_instant_that_is_likeliest(instant: int) -> None:
    blank = np.zeros((BEFORE + AFTER + 1, 2, *SHAPE), np.uint8)
    assert _net_that_answers(instant).steps_to_contact(blank) == pytest.approx(
        FIRST + STEP * instant
    )


def test_contrast_of_the_picture_does_not_matter() -> None:
    rng = np.random.default_rng(2)
    faint = rng.integers(0, 60, (BEFORE + AFTER + 1, 2, *SHAPE)).astype(np.uint8)
    np.testing.assert_allclose(scaled(faint), scaled(faint * 4), rtol=1e-5)


def test_grain_is_not_made_strong() -> None:
    grain = np.ones((BEFORE + AFTER + 1, 2, *SHAPE), np.uint8)
    assert scaled(grain).max() < 0.5


def test_the_weights_fit_the_view() -> None:
    net = contact_weights()
    blank = np.zeros((BEFORE + AFTER + 1, 2, *SHAPE), np.uint8)
    assert FIRST <= net.steps_to_contact(blank) <= FIRST + STEP * (len(net.bias) - 1)


@pytest.mark.parametrize("other", [{"step": 0.26}, {"first": -5.0}])
def test_weights_for_other_instants_are_refused(other: dict[str, float]) -> None:
    layer = {"weights": np.zeros((1, 2, 1, 1, 1)).tolist(), "bias": [0.0], "stride": 1}
    plain = {"first": FIRST, "step": STEP, "space": [layer], "time": layer}
    plain |= {"weights": [[0.0]], "bias": [0.0]}
    assert len(contact_net_from(plain).bias) == 1
    with pytest.raises(ValueError, match="other instants"):
        contact_net_from(plain | other)
