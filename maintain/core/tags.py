"""Tags for parts: short words that can be called across a pond."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice, product

# No l beside i, no c beside k, no h, q, w, x, y: what is misread on a label or misheard on a windy day.
_CONSONANTS = "bdfgkmnprstvz"
_VOWELS = "aeiou"
_SYLLABLES = tuple(consonant + vowel for consonant, vowel in product(_CONSONANTS, _VOWELS))
_STRIDE = 1777  # shares no factor with the number of words, so every word comes once and neighbours differ
_DENIED = (
    "dago", "figa", "fodi", "fodo", "foda", "fuka", "fuku", "gipo", "kike", "kuso", "nazi", "nega", "nego", "negu",
    "nige", "niga", "paki", "pedo", "peni", "pute", "puta", "puto", "rape", "sado", "tite", "zoki",
)  # fmt: skip


def free_tags(taken: set[str], count: int) -> list[str]:
    """
    The next `count` tags that nobody has, the same each time for the same `taken`.

    Parameters
    ----------
    taken : set of str
        Tags in use, in lower case.
    count : int
        How many.

    Examples
    --------
    >>> free_tags({"rutu"}, 3)
    ['kimi', 'begi', 'koru']
    """
    return list(islice((word for word in _words() if word not in taken), count))


def _words() -> Iterator[str]:
    """Words of two syllables in a scattered order, then of three; no syllable twice, no rude ones."""
    for syllables in (2, 3):
        size = len(_SYLLABLES) ** syllables
        for step in range(size):
            index, word, used = (step * _STRIDE) % size, "", set()
            for _ in range(syllables):
                index, which = divmod(index, len(_SYLLABLES))
                word += _SYLLABLES[which]
                used.add(which)
            if len(used) == syllables and not any(rude in word for rude in _DENIED):
                yield word
