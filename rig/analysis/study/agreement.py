"""Attribute agreement: how alike appraisers rate parts, beyond chance."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import probability
from rig.analysis.numbers.intervals import Interval
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """One rating of one part.

    Attributes
    ----------
    part : str
        Name of the part.
    appraiser : str
        Who rated it.
    rating : str
        Category, such as "conforms".
    """

    part: str
    appraiser: str
    rating: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kappa:
    """Agreement beyond chance: 1 for full agreement, 0 for that of chance.

    Attributes
    ----------
    name : str
        Who is held against whom, or which category.
    parts : int
        Number of parts behind it.
    observed : float
        Share of pairs of ratings that agree.
    expected : float
        Share that would agree by chance.
    value : float or None
        (observed - expected) / (1 - expected); None if all ratings are of one
        category, so that chance alone gives full agreement.
    interval : Interval or None
        Interval of it; None where there is no value.
    """

    name: str
    parts: int
    observed: float
    expected: float
    value: float | None
    interval: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchedShare:
    """On how many parts all ratings are alike.

    Attributes
    ----------
    name : str
        Appraiser or appraisers who rated.
    matched : int
        Parts on which they are alike.
    parts : int
        Parts that were looked at.
    interval : Interval
        Interval of the share, 0 to 1.
    """

    name: str
    matched: int
    parts: int
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreementCount:
    """How often an appraiser rated parts of a reference category in each way.

    Attributes
    ----------
    appraiser : str
        Who rated.
    reference : str
        Category that the parts are of.
    counts : dict[str, int]
        Number of ratings by category.
    """

    appraiser: str
    reference: str
    counts: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """An attribute agreement study.

    Attributes
    ----------
    categories : tuple[str, ...]
        Categories in order of their first appearance.
    parts : tuple[str, ...]
        Names of the parts.
    appraisers : tuple[str, ...]
        Names of the appraisers.
    ratings : int
        Number of ratings.
    within : tuple[Kappa, ...]
        Each appraiser's repeated ratings among themselves (Fleiss).
    between : Kappa or None
        All ratings among themselves (Fleiss); None for a single appraiser.
    by_category : tuple[Kappa, ...]
        All ratings, for each category against all others.
    pairs : tuple[Kappa, ...]
        Each two appraisers (Cohen).
    against_reference : tuple[Kappa, ...]
        Each appraiser against the reference (Cohen); empty without one.
    within_share : tuple[MatchedShare, ...]
        Parts that each appraiser rated alike every time.
    between_share : MatchedShare or None
        Parts that all appraisers rated alike every time; None for a single appraiser.
    reference_share : tuple[MatchedShare, ...]
        Parts that each appraiser rated as the reference every time, then that all did.
    counts : tuple[AgreementCount, ...]
        Ratings by appraiser and reference category; empty without a reference.
    """

    categories: tuple[str, ...]
    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    ratings: int
    within: tuple[Kappa, ...]
    between: Kappa | None
    by_category: tuple[Kappa, ...]
    pairs: tuple[Kappa, ...]
    against_reference: tuple[Kappa, ...]
    within_share: tuple[MatchedShare, ...]
    between_share: MatchedShare | None
    reference_share: tuple[MatchedShare, ...]
    counts: tuple[AgreementCount, ...]


def agreement(
    ratings: Sequence[Rating],
    *,
    references: Mapping[str, str] | None = None,
    confidence: float = 0.95,
) -> Agreement:
    """Work out an attribute agreement study.

    Parameters
    ----------
    ratings : sequence of Rating
        Ratings in any order and number.
    references : mapping of str to str, optional
        Right category of each part.
    confidence : float
        Confidence of the intervals, 0 to 1.

    Returns
    -------
    Agreement
        Kappas as plain numbers, shares 0 to 1.

    Raises
    ------
    InputError
        If fewer than 2 parts were rated, no part was rated twice and there is no
        reference, or a part has none.

    Notes
    -----
    Fleiss, Psychological Bulletin 76, 378 (1971); Cohen, Educational and Psychological
    Measurement 20, 37 (1960); both from memory. Parts rated unequally often count
    alike; a part rated once says nothing of agreement. Where an appraiser rated a part
    several times, each of these ratings is held against each of the other's. Intervals
    of kappas are of large samples with the parts as what was drawn, by the delta method
    on the logarithm of 1 - kappa; with all pairs alike the bound is that of a share of
    1. Intervals of shares are those of Clopper and Pearson.
    """
    probability("the confidence", confidence)
    table = _Table(ratings, references or {})
    return Agreement(
        categories=table.categories,
        parts=table.parts,
        appraisers=table.appraisers,
        ratings=len(ratings),
        within=table.within(confidence),
        between=table.between(confidence),
        by_category=table.by_category(confidence),
        pairs=table.pairs(confidence),
        against_reference=table.against_reference(confidence),
        within_share=table.within_share(confidence),
        between_share=table.between_share(confidence),
        reference_share=table.reference_share(confidence),
        counts=table.reference_counts(),
    )


class _Table:
    """Counts of ratings, shape (parts, appraisers, categories)."""

    def __init__(
        self, ratings: Sequence[Rating], references: Mapping[str, str]
    ) -> None:
        self.parts = tuple(dict.fromkeys(one.part for one in ratings))
        self.appraisers = tuple(dict.fromkeys(one.appraiser for one in ratings))
        named = [one.rating for one in ratings]
        named += [references[part] for part in self.parts if part in references]
        self.categories = tuple(dict.fromkeys(named))
        if len(self.parts) < 2:
            raise InputError(
                f"{len(self.parts)} part was rated", hint="at least 2, better 50"
            )
        missing = [part for part in self.parts if part not in references]
        if references and missing:
            raise InputError(
                f"part {missing[0]} has no reference category",
                hint="give every part one, or none",
            )
        place = {name: k for k, name in enumerate(self.categories)}
        rows = {name: k for k, name in enumerate(self.parts)}
        columns = {name: k for k, name in enumerate(self.appraisers)}
        self.counts = np.zeros((len(rows), len(columns), len(place)))
        for one in ratings:
            cell = (rows[one.part], columns[one.appraiser], place[one.rating])
            self.counts[cell] += 1.0
        self.right: FloatArray | None = None
        if references:
            self.right = np.zeros((len(rows), len(place)))
            for part, row in rows.items():
                self.right[row, place[references[part]]] = 1.0
        elif not np.any(self.counts.sum(axis=(1, 2)) > 1.0):
            raise InputError(
                "every part was rated once, so no two ratings can agree",
                hint="rate each part twice, by two appraisers, or give a reference",
            )

    def within(self, confidence: float) -> tuple[Kappa, ...]:
        found = (
            _fleiss(name, self.counts[:, k], confidence)
            for k, name in enumerate(self.appraisers)
        )
        return tuple(one for one in found if one is not None)

    def between(self, confidence: float) -> Kappa | None:
        if len(self.appraisers) < 2:
            return None
        return _fleiss("all appraisers", self.counts.sum(axis=1), confidence)

    def by_category(self, confidence: float) -> tuple[Kappa, ...]:
        if len(self.appraisers) < 2 or len(self.categories) < 3:
            return ()
        every = self.counts.sum(axis=1)
        found = []
        for k, name in enumerate(self.categories):
            own = every[:, k]
            two = np.column_stack([own, every.sum(axis=1) - own])
            found.append(_fleiss(name, two, confidence))
        return tuple(one for one in found if one is not None)

    def pairs(self, confidence: float) -> tuple[Kappa, ...]:
        found = []
        for a, b in combinations(range(len(self.appraisers)), 2):
            name = f"{self.appraisers[a]} and {self.appraisers[b]}"
            found.append(_cohen(name, self.counts[:, a], self.counts[:, b], confidence))
        return tuple(one for one in found if one is not None)

    def against_reference(self, confidence: float) -> tuple[Kappa, ...]:
        if self.right is None:
            return ()
        found = (
            _cohen(name, self.counts[:, k], self.right, confidence)
            for k, name in enumerate(self.appraisers)
        )
        return tuple(one for one in found if one is not None)

    def within_share(self, confidence: float) -> tuple[MatchedShare, ...]:
        found = []
        for k, name in enumerate(self.appraisers):
            own = self.counts[:, k]
            seen = own[own.sum(axis=1) > 1.0]
            if seen.shape[0]:
                alike = np.sum(np.count_nonzero(seen, axis=1) == 1)
                found.append(_share(name, int(alike), seen.shape[0], confidence))
        return tuple(found)

    def between_share(self, confidence: float) -> MatchedShare | None:
        if len(self.appraisers) < 2:
            return None
        seen = self.counts[np.all(self.counts.sum(axis=2) > 0.0, axis=1)].sum(axis=1)
        if not seen.shape[0]:
            return None
        alike = np.sum(np.count_nonzero(seen, axis=1) == 1)
        return _share("all", int(alike), seen.shape[0], confidence)

    def reference_share(self, confidence: float) -> tuple[MatchedShare, ...]:
        if self.right is None:
            return ()
        found = []
        for k, name in enumerate(self.appraisers):
            found.append(self._right(name, self.counts[:, k], confidence))
        if len(self.appraisers) > 1:
            every = self.counts.sum(axis=1)
            found.append(self._right("all", every, confidence))
        return tuple(found)

    def _right(self, name: str, own: FloatArray, confidence: float) -> MatchedShare:
        assert self.right is not None, "asked for with a reference only"
        seen = own.sum(axis=1) > 0.0
        wrong = np.sum(own * (1.0 - self.right), axis=1)
        right = int(np.sum(wrong[seen] == 0.0))
        return _share(name, right, int(np.sum(seen)), confidence)

    def reference_counts(self) -> tuple[AgreementCount, ...]:
        if self.right is None:
            return ()
        found = []
        for k, name in enumerate(self.appraisers):
            crossed = self.right.T @ self.counts[:, k]
            found += [
                AgreementCount(
                    appraiser=name,
                    reference=category,
                    counts={
                        other: int(crossed[row, column])
                        for column, other in enumerate(self.categories)
                    },
                )
                for row, category in enumerate(self.categories)
                if crossed[row].sum() > 0.0
            ]
        return tuple(found)


def _fleiss(name: str, counts: FloatArray, confidence: float) -> Kappa | None:
    """Return the agreement of all ratings of each part; None if no part has two."""
    each = counts.sum(axis=1)
    counts, each = counts[each > 1.0], each[each > 1.0]
    if not each.size:
        return None
    agreeing = np.sum(counts * (counts - 1.0), axis=1) / (each * (each - 1.0))
    shares = counts / each[:, np.newaxis]
    whole = shares.mean(axis=0)
    expected = float(whole @ whole)
    return _kappa(name, agreeing, expected, 2.0 * (shares @ whole), confidence)


def _cohen(
    name: str, first: FloatArray, second: FloatArray, confidence: float
) -> Kappa | None:
    """Return the agreement of two raters; None if no part was rated by both."""
    both = (first.sum(axis=1) > 0.0) & (second.sum(axis=1) > 0.0)
    if not np.any(both):
        return None
    a, b = (
        counts[both] / counts[both].sum(axis=1, keepdims=True)
        for counts in (first, second)
    )
    of_a, of_b = a.mean(axis=0), b.mean(axis=0)
    return _kappa(
        name, np.sum(a * b, axis=1), float(of_a @ of_b), a @ of_b + b @ of_a, confidence
    )


def _kappa(
    name: str,
    agreeing: FloatArray,
    expected: float,
    chances: FloatArray,
    confidence: float,
) -> Kappa:
    """Form a kappa with its interval.

    Parameters
    ----------
    name : str
        Name of those who agree, or of the category.
    agreeing : ndarray, shape (n,)
        Share of agreeing pairs of each part.
    expected : float
        Share that would agree by chance.
    chances : ndarray, shape (n,)
        What each part adds to twice that share.
    confidence : float
        0 to 1.
    """
    from scipy.special import stdtrit

    n, observed = agreeing.size, float(agreeing.mean())
    if not expected < 1.0 - 1e-12 or n < 2:
        return Kappa(
            name=name,
            parts=n,
            observed=observed,
            expected=expected,
            value=None,
            interval=None,
        )
    beyond = 1.0 - expected
    value = (observed - expected) / beyond
    influence = (agreeing - observed) / beyond - (1.0 - observed) / beyond**2 * (
        chances - 2.0 * expected
    )
    if np.all(agreeing == 1.0):
        least = (1.0 - confidence) / 2.0
        low, high = 1.0 - (1.0 - least ** (1.0 / n)) / beyond, 1.0
    else:
        error = math.sqrt(float(np.sum(np.square(influence))) / (n * (n - 1)))
        reach = float(stdtrit(n - 1, 0.5 + 0.5 * confidence)) * error / (1.0 - value)
        low, high = (1.0 - (1.0 - value) * math.exp(way * reach) for way in (1.0, -1.0))
    return Kappa(
        name=name,
        parts=n,
        observed=observed,
        expected=expected,
        value=value,
        interval=Interval(lower=max(low, -1.0), upper=high, confidence=confidence),
    )


def _share(name: str, matched: int, parts: int, confidence: float) -> MatchedShare:
    from scipy.special import betaincinv

    tail = 0.5 * (1.0 - confidence)
    low = 0.0 if matched == 0 else betaincinv(matched, parts - matched + 1, tail)
    high = (
        1.0
        if matched == parts
        else betaincinv(matched + 1, parts - matched, 1.0 - tail)
    )
    return MatchedShare(
        name=name,
        matched=matched,
        parts=parts,
        interval=Interval(lower=float(low), upper=float(high), confidence=confidence),
    )
