"""Words that may have been meant. Only a mistake needs them, so `difflib` is loaded only then."""

from collections.abc import Iterable


def get_close_matches(
    word: str, known: Iterable[str], most: int = 3, alike: float = 0.6
) -> list[str]:
    """As `difflib.get_close_matches`."""
    from difflib import get_close_matches as standard

    return standard(word, list(known), most, alike)
