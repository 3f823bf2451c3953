"""Which further fault explains what a hypothesis leaves odd."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.fed_nets import fed_nets
from ohmtrail.netanalysis.diagnosis.heat_evidence import (
    UNFITTED,
    Fitted,
    heat_evidence,
    injections,
)
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.power_evidence import (
    failed_before,
    power_evidence,
)

__all__ = ["Singles", "told_of"]

Floats = NDArray[np.float64]

#: How many are tried that explain something, and what a partner must explain.
_ODD_MAX, _EXPLAINED = 24, 2.0
#: So far apart at most, as a share, are two rails that a shorted switch may join.
_AS_ANOTHER = 0.03
#: A reading is as odd as this many spreads at most.
_ODDEST = 6.0


def _fits(odd: Floats) -> Floats:
    fits: Floats = -0.5 * np.minimum(np.abs(odd), _ODDEST) ** 2
    return fits


def told_of(case: Case) -> Callable[[Hypothesis, Fitted], float] | None:
    """Return what power-ups and injections say of a hypothesis, None if none were.

    What is returned is also told what the readings say of it, see `heat_evidence`.
    That a healthy board explains them as well counts once a power-up has failed: until
    then heat at the load is what a healthy board shows.
    """
    known = injections(case)
    powered = any(
        one.event.action == "power" and i > case.died_at
        for i, one in enumerate(case.timeline.placed)
    )
    if not known and not powered:
        return None
    lenient = failed_before(case)
    fed = fed_nets(case)

    def told(one: Hypothesis, fitted: Fitted) -> float:
        mine = fitted if lenient else fitted._replace(gap=-math.inf)
        return power_evidence(case, one, fed) + heat_evidence(known, one, mine)

    return told


@dataclass(frozen=True, slots=True)
class Singles:
    """Single faults, those that no reading tells apart together, likeliest first."""

    groups: tuple[tuple[Hypothesis, ...], ...]
    #: How each fits the readings, shape (groups, P + M), and what of that a healthy
    #: board fits better, with the prior.
    fits: Floats
    standing: Floats
    told: Callable[[Hypothesis, Fitted], float] | None

    @classmethod
    def of(
        cls, case: Case, groups: Mapping[int, Sequence[Hypothesis]], odd: Floats
    ) -> "Singles":
        """Gather them.

        Parameters
        ----------
        case : Case
        groups : mapping
            By row of ``odd``, likeliest first.
        odd : ndarray, shape (rows, P + M)
            From `fit.oddness`; the first row is the healthy board.
        """
        every = _fits(odd)
        rows = list(groups)
        prior = [
            float(np.logaddexp.reduce([one.log_prior for one in group]))
            for group in groups.values()
        ]
        harm = np.minimum(every - every[0], 0.0).sum(1)[rows]
        return cls(
            tuple(tuple(group) for group in groups.values()),
            every[rows],
            harm + np.array(prior),
            told_of(case),
        )

    def facing(self, case: Case, first: Hypothesis, odd: Floats) -> list[int]:
        """Return which groups are switches on the other side of the same stage.

        Alone neither may explain a thing: in series they hold the input down.  None
        where nothing is odd under the first alone.
        """
        if np.abs(odd).max(initial=0.0) < _EXPLAINED:
            return []
        mine, others = set(first.refs), set[str]()
        for stage in case.circuit.stages:
            if mine & set(stage.high_side):
                others.update(stage.low_side)
            if mine & set(stage.low_side):
                others.update(stage.high_side)
        return [
            j
            for j, group in enumerate(self.groups)
            if any(others & set(one.refs) for one in group)
        ]

    def joining(self, case: Case) -> list[int]:
        """Return which groups join two nets that read alike now.

        An input that reads as its output does is within the range of healthy loads, so
        that nothing is odd; that both read the same is odd enough.
        """
        read: dict[str, float] = {}
        for one in case.readings:
            ends = [one.plus.net, one.minus.net]
            nets = [net for net in ends if not case.view.is_ground(net)]
            if one.state == case.now and len(nets) == 1 and one.mode == "resistance":
                read.update(dict.fromkeys(case.joined(*nets), one.value))
        return [
            j
            for j, group in enumerate(self.groups)
            if any(
                abs(read.get(way.a, 0.0) - read.get(way.b, np.inf))
                < _AS_ANOTHER * read[way.a]
                for one in group
                for fault, _ in one.faults
                for way in fault.paths
                if np.isfinite(read.get(way.a, np.inf))
            )
        ]

    def explaining(
        self, first: Hypothesis, odd: Floats, most: int = _ODD_MAX
    ) -> list[int]:
        """Return which groups explain most of what a hypothesis leaves odd.

        Each reading, and each load, is counted for whichever of the two explains it
        better, against a partner what a healthy board explains and it does not, for it
        a power-up or heat that the first alone does not explain.

        Parameters
        ----------
        first : Hypothesis
        odd : ndarray, shape (P + M,)
            What is odd under it.
        most : int
            How many to return.
        """
        gain = np.maximum(self.fits - _fits(odd), 0.0).sum(1)
        if self.told is not None:
            alone = self.told(first, UNFITTED)
            gain += [
                self.told(Hypothesis((*first.faults, *group[0].faults)), UNFITTED)
                - alone
                for group in self.groups
            ]
        score = np.where(gain > _EXPLAINED, gain + self.standing, -np.inf)
        order = np.argsort(-score)[:most]
        return [int(j) for j in order if np.isfinite(score[j])]
