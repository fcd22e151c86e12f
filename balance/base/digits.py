"""A figure as a person reads it: never with a power of ten. What is large has its noughts, and what is small."""

from __future__ import annotations

from decimal import Decimal


def digits(value: float, most: int = 6) -> str:
    """A number to so many digits, without trailing noughts behind the point.

    >>> digits(1000.0, 3), digits(2.5e9), digits(0.00001234, 3)
    ('1000', '2500000000', '0.0000123')
    """
    text = f"{value:.{most}g}"
    return f"{Decimal(text):f}" if "e" in text else text
