"""Columns by which lives differ, ready for a regression: numbers as they are, labels as indicators."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import codes_of, refuse_missing
from maintain.core.lives import Floats
from maintain.errors import InvalidRecord

# Share of a column's variance below which what is left of it counts as rounding.
COLLINEAR = 1e-11


@dataclass(frozen=True)
class Covariates:
    """
    A table of regression columns.

    Attributes
    ----------
    names : tuple of str, one per column
        A number's own name, or "zone: bilge" for the indicator of a label.
    table : array, shape = (n, n_columns)
    references : tuple of (str, str)
        For each labelled covariate, the label the others are held against (the most frequent).
    factors : tuple of str, one per column
        The covariate that the column is of.
    """

    names: tuple[str, ...]
    table: Floats
    references: tuple[tuple[str, str], ...]
    factors: tuple[str, ...]

    def take(self, columns: list[int]) -> Covariates:
        """Return only the given columns."""
        return Covariates(
            tuple(self.names[place] for place in columns),
            self.table[:, columns],
            self.references,
            tuple(self.factors[place] for place in columns),
        )


def covariates_of(columns: Mapping[str, ArrayLike]) -> Covariates:
    """
    Make a table of regression columns.

    Parameters
    ----------
    columns : mapping of name to array-like, shape = (n,)
        Numbers or booleans are taken as they are; anything else as labels, of which the most frequent becomes the
        reference.

    Raises
    ------
    InvalidRecord
        If there is no column, lengths differ, or a value is missing; names the rows (from 1).

    Examples
    --------
    >>> made = covariates_of({"sinkings": [0, 2, 1], "zone": ["bilge", "dry deck", "bilge"]})
    >>> made.names, made.references
    (('sinkings', 'zone: dry deck'), (('zone', 'bilge'),))
    """
    if not columns:
        raise InvalidRecord("no covariate given", hint="name the columns whose effect is wanted")
    names: list[str] = []
    parts: list[Floats] = []
    references: list[tuple[str, str]] = []
    factors: list[str] = []
    for name, values in columns.items():
        column = np.asarray(values)
        refuse_missing(column, name)
        if column.dtype.kind in "fiub":
            names.append(name)
            factors.append(name)
            parts.append(column.astype(np.float64))
            continue
        labels, code = codes_of(column, column.size, name)
        reference = int(np.argmax(np.bincount(code)))
        references.append((name, labels[reference]))
        for place, label in enumerate(labels):
            if place != reference:
                names.append(f"{name}: {label}")
                factors.append(name)
                parts.append((code == place).astype(np.float64))
    sizes = {part.size for part in parts}
    if len(sizes) > 1:
        raise InvalidRecord(f"covariates have different lengths: {sorted(sizes)}")
    if not parts:
        raise InvalidRecord(
            f"every life has the same {', '.join(columns)}: no effect can be seen",
            hint="name a covariate that differs among these lives",
        )
    return Covariates(tuple(names), np.column_stack(parts), tuple(references), tuple(factors))


def redundant(names: tuple[str, ...], gram: Floats, size: Floats) -> dict[str, tuple[str, ...]]:
    """
    Find columns that say nothing the columns before them do not.

    Parameters
    ----------
    names : tuple of str
    gram : array, shape = (p, p)
        Inner products of the columns as far as they count: of the centred columns, or their information.
    size : array, shape = (p,)
        What the diagonal of `gram` would be if all that a column varies counted.

    Returns
    -------
    dict
        Redundant column -> columns that determine it together (none: it never varies where it counts).

    Examples
    --------
    >>> table = np.array([[0.0, 0, 1], [1, 2, 1], [2, 4, 1], [5, 10, 1]])
    >>> redundant(("a", "b", "c"), *gram_of(table))
    {'b': ('a',), 'c': ()}
    """
    found: dict[str, tuple[str, ...]] = {}
    kept: list[int] = []
    for place, name in enumerate(names):
        own = gram[place, place]
        if own <= COLLINEAR * size[place]:
            found[name] = ()
            continue
        weights = np.linalg.solve(gram[np.ix_(kept, kept)], gram[kept, place])
        if own - weights @ gram[kept, place] <= COLLINEAR * own:
            share = np.abs(weights) * np.sqrt(np.diag(gram)[kept] / own)
            found[name] = tuple(names[kept[k]] for k in np.flatnonzero(share > 1e-3))
            continue
        kept.append(place)
    return found


def gram_of(table: Floats) -> tuple[Floats, Floats]:
    """Return the inner products of the centred columns, and their squared lengths uncentred (at least 1e-300)."""
    inner: Floats = centred(table).T @ centred(table)
    return inner, np.maximum(np.sum(table**2, axis=0), 1e-300)


def centred(table: Floats) -> Floats:
    """Return the table less its column means."""
    return np.asarray(table - table.mean(axis=0), dtype=np.float64)
