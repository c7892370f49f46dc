"""Texts that open only with the answer that they belong to: for files of exercises that hold their own solutions.

What this protects against: reading the answers in the file, or in what a browser shows of it. What it does not protect
against: a program that tries all answers there can be, which takes minutes. So it is for practice, not for a test; the
files of the tests hold no answers at all.

The answer is stretched by PBKDF2-HMAC-SHA-256 (RFC 8018, section 5.2). The key opens by HMAC-SHA-256 (RFC 2104): of the
word "tag" it gives what tells the text, of 0, 1, 2 ... what hides it.
"""

import hashlib
import hmac
from collections.abc import Mapping
from decimal import Decimal

from edgestore.training.exercises.questions import Case, Exercise

ROUNDS_OF_HASH = 5000
"""Iterations: some milliseconds for a browser that marks an answer, minutes for a program that tries all."""

TAG_BYTES = 8


def plain_answer(asked: Exercise, answer: str) -> str:
    """An answer as it is sealed: a letter, or the number in units of the last place asked."""
    return answer if isinstance(asked, Case) else str(int(Decimal(answer).scaleb(asked.decimals)))


def sealed(texts: Mapping[str, str], salt: str) -> list[list[str]]:
    """Seal texts, each by its own answer.

    Parameters
    ----------
    texts : mapping of str to str
        Text by answer, as from :func:`plain_answer`.
    salt : str
        Different for each exercise of each learner.

    Returns
    -------
    list of list of str
        Tag and hidden text, hexadecimal, in the order of the tags. All texts are as long as the longest, so that their
        length does not tell which is of the right answer.
    """
    longest = max(len(text.encode()) for text in texts.values())
    return sorted(_one(answer, text.encode().ljust(longest), salt) for answer, text in texts.items())


def _one(answer: str, text: bytes, salt: str) -> list[str]:
    key = hashlib.pbkdf2_hmac("sha256", answer.encode(), salt.encode(), ROUNDS_OF_HASH)
    size = hashlib.sha256().digest_size
    stream = b"".join(_told(key, str(block)) for block in range(-(-len(text) // size)))
    hidden = bytes(one ^ other for one, other in zip(text, stream, strict=False))
    return [_told(key, "tag")[:TAG_BYTES].hex(), hidden.hex()]


def _told(key: bytes, word: str) -> bytes:
    return hmac.digest(key, word.encode(), "sha256")
