"""What a reading is worth: bench seconds saved, on average over what it may show."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Stakes", "reading_gains", "word_gains"]

Floats = NDArray[np.float64]

#: Chance that a reading is plain wrong, and its spread over nine decades.
_WRONG, _WRONG_DENSITY = 0.02, 1.0 / np.log(1e9)
#: Points at which each hypothesis' reading is looked at, in its spreads.
_POINTS = np.array([-1.0, 1.0])
_SHARES = np.array([0.5, 0.5])
#: Readings that are looked at closely, after a first look.
_CLOSELY = 48
#: Chance of being left without the right end from which on all of it goes to trying.
_BLINDLY = 0.1
#: What is above this reads as open, in log ohms.
_OPEN = float(np.log(2e5))


@dataclass(frozen=True, slots=True)
class Stakes:
    """What can be done at the end, and what it costs to be wrong.

    ``chance`` of an end is the summed probability of the hypotheses that it is right
    for; the ends are tried in the order of chance by cost until one is right.
    """

    #: Which hypotheses each end is right for, shape (H, K).
    right: Floats
    #: Seconds of each end, shape (K,).
    seconds: Floats
    #: What each end costs on top where it is wrong, by hypothesis, shape (H, K).
    wrong_seconds: Floats
    #: Which end is power, shape (K,).
    power: NDArray[np.bool_]

    def wrong(self, belief: Floats) -> Floats:
        """Return what each end costs where it is wrong, on average, shape (N, K)."""
        missed = 1.0 - self.right
        left = belief @ missed
        total = belief @ (missed * self.wrong_seconds)
        usual: Floats = np.where(
            left > 1e-9, total / np.maximum(left, 1e-9), self.wrong_seconds.max(0)
        )
        return usual

    def worth(self, belief: Floats) -> Floats:
        """Return the chance of each end for its cost, shape (N, K)."""
        found: Floats = belief @ self.right / (self.seconds + self.wrong(belief))
        return found

    def value(self, belief: Floats) -> Floats:
        """Return the expected seconds to the end, belief of shape (N, H)."""
        chance = belief @ self.right
        wrong_seconds = self.wrong(belief)
        order = np.argsort(-chance / (self.seconds + wrong_seconds), axis=1)
        mine = np.take_along_axis(chance, order, 1)
        before = np.cumsum(mine, 1) - mine
        missed = np.clip(1.0 - before - mine, 0.0, 1.0)
        # Ends that are hardly ever come to are not tried blindly one after the other:
        # more is read then, and the end that is right is tried alone.
        tried = missed * np.minimum(1.0, missed / _BLINDLY)
        seconds = self.seconds[order] * (mine + tried)
        # The end that is right costs its seconds alone; power does its harm at once.
        wrong = np.take_along_axis(wrong_seconds, order, 1)
        wrong = wrong * np.where(self.power[order], missed, tried)
        total: Floats = (seconds + wrong).sum(1)
        return total


def reading_gains(stakes: Stakes, belief: Floats, mean: Floats, sd: Floats) -> Floats:
    """Return the seconds that each reading saves on average, shape (B,).

    Parameters
    ----------
    stakes : Stakes
    belief : ndarray, shape (H,)
    mean, sd : ndarray, shape (H, B)
        Log reading under each hypothesis.

    Notes
    -----
    O(B H^2).
    """
    now = float(stakes.value(belief[None, :])[0])
    gains = np.zeros(mean.shape[1])
    closed = np.minimum(mean, _OPEN)
    for b in _promising(belief, closed, sd):
        centre, width = closed[:, b], sd[:, b]
        seen = np.minimum(centre[:, None] + _POINTS * width[:, None], _OPEN)
        weight = (belief[:, None] * _SHARES).ravel()
        density = np.exp(-0.5 * ((seen.ravel()[:, None] - centre) / width) ** 2)
        density = (1 - _WRONG) * density / (width * np.sqrt(2 * np.pi))
        after = belief * (density + _WRONG * _WRONG_DENSITY)
        after /= after.sum(1, keepdims=True)
        gains[b] = now - float(weight @ stakes.value(after))
    return gains


def _promising(belief: Floats, mean: Floats, sd: Floats) -> list[int]:
    """Return the readings whose outcomes differ most between hypotheses."""
    # What only the unlikely differ in may still matter: they are many.
    weight = np.sqrt(belief)
    weight /= weight.sum()
    middle = weight @ mean
    score = weight @ np.minimum(((mean - middle) / sd) ** 2, 16.0)
    order = np.argsort(-score)[:_CLOSELY]
    return [int(b) for b in order if np.ptp(mean[:, b]) > 0.5 * sd[:, b].min()]


def word_gains(stakes: Stakes, belief: Floats, likelihood: Floats) -> float:
    """Return the seconds that an answer in words saves, likelihood (H, answers)."""
    now = float(stakes.value(belief[None, :])[0])
    joint = (belief[:, None] * likelihood).T
    weight = joint.sum(1)
    used = weight > 0
    after = joint[used] / weight[used, None]
    return now - float(weight[used] @ stakes.value(after))
