"""Names as people compare and look for them, in any script."""

from unicodedata import combining, normalize

# Letters that carry their stroke or lack their dot without a mark Unicode can take off.
_PLAIN = str.maketrans("ıłøđ", "ilod")


def name_key(name: str) -> str:
    """What two spellings of one name share: capitals, width and spacing do not count."""
    return " ".join(normalize("NFKC", name).casefold().split())


def search_key(text: str) -> str:
    """What a search compares: as `name_key`, and accents do not count either."""
    letters = normalize("NFKD", text.casefold())
    return "".join(letter for letter in letters if not combining(letter)).translate(_PLAIN)


def holds_all(words: str, *texts: str) -> bool:
    """Whether each of the words stands somewhere in the texts."""
    text = search_key("\n".join(texts))
    return all(word in text for word in search_key(words).split())
