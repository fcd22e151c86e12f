"""How many examples Hypothesis makes."""

from hypothesis import settings


def examples(whole: int) -> settings:
    """So many for a test with --whole, else one in four."""
    return settings(max_examples=max(1, whole * settings.default.max_examples // 100))
