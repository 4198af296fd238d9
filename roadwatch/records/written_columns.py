"""Column names as people write them."""

from __future__ import annotations


def plain_name(name: str) -> str:
    """
    A column's name without case, spaces, punctuation and the prefix of its vocabulary.

    >>> plain_name("dwc:Decimal_Latitude")
    'decimallatitude'
    """
    return "".join(sign for sign in name.rpartition(":")[2].casefold() if sign.isalnum())
