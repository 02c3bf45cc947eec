"""Columns by which lives differ, ready for a regression: numbers as they are, labels as indicators."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.at_risk import codes_of, refuse_missing
from maintain.core.lives import Floats
from maintain.errors import InvalidRecord

# Relative size below which a singular value of the standardised columns counts as nothing.
COLLINEAR = 1e-8


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
    """

    names: tuple[str, ...]
    table: Floats
    references: tuple[tuple[str, str], ...] = ()

    def take(self, columns: list[int]) -> Covariates:
        """Return only the given columns."""
        return Covariates(tuple(self.names[place] for place in columns), self.table[:, columns], self.references)


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
    for name, values in columns.items():
        column = np.asarray(values)
        refuse_missing(column, name)
        if column.dtype.kind in "fiub":
            names.append(name)
            parts.append(column.astype(np.float64))
            continue
        labels, code = codes_of(column, column.size, name)
        reference = int(np.argmax(np.bincount(code)))
        references.append((name, labels[reference]))
        for place, label in enumerate(labels):
            if place != reference:
                names.append(f"{name}: {label}")
                parts.append((code == place).astype(np.float64))
    sizes = {part.size for part in parts}
    if len(sizes) > 1:
        raise InvalidRecord(f"covariates have different lengths: {sorted(sizes)}")
    if not parts:
        raise InvalidRecord(f"every life has the same {', '.join(columns)}: no effect can be seen")
    return Covariates(tuple(names), np.column_stack(parts), tuple(references))


def redundant(covariates: Covariates, strata: NDArray[np.intp] | None = None) -> dict[str, tuple[str, ...]]:
    """
    Find columns that say nothing the columns before them do not.

    Parameters
    ----------
    covariates : Covariates
    strata : array of int, shape = (n,), optional
        Only differences within strata count.

    Returns
    -------
    dict
        Redundant column -> columns that determine it together (none: it never varies).

    Examples
    --------
    >>> redundant(covariates_of({"a": [0, 1, 2, 5], "b": [0, 2, 4, 10], "c": [1, 1, 1, 1]}))
    {'b': ('a',), 'c': ()}
    """
    table = centred(covariates.table, strata)
    size = np.linalg.norm(table, axis=0)
    scale = np.maximum(np.linalg.norm(covariates.table, axis=0), 1e-300)
    found: dict[str, tuple[str, ...]] = {}
    kept: list[int] = []
    for place, name in enumerate(covariates.names):
        if size[place] <= COLLINEAR * scale[place]:
            found[name] = ()
            continue
        column = table[:, place] / size[place]
        if kept:
            basis = table[:, kept] / size[kept]
            weights = np.linalg.lstsq(basis, column, rcond=None)[0]
            if np.linalg.norm(column - basis @ weights) <= COLLINEAR:
                blamed = np.abs(weights) > 1e-6
                found[name] = tuple(covariates.names[kept[k]] for k in np.flatnonzero(blamed))
                continue
        kept.append(place)
    return found


def centred(table: Floats, strata: NDArray[np.intp] | None = None) -> Floats:
    """Return the table less its column means, or its means within each stratum."""
    if strata is None:
        return np.asarray(table - table.mean(axis=0), dtype=np.float64)
    counts = np.maximum(np.bincount(strata), 1)
    means = np.column_stack([np.bincount(strata, column) / counts for column in table.T])
    return np.asarray(table - means[strata], dtype=np.float64)
