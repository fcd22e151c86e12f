"""Why nothing is to be drilled or signed by a station as it is."""

from __future__ import annotations

from typing import Literal, NamedTuple

from truethrow.balance.station.spinning import Spin

# damaged: a line of the station's in the log; rehung: the last spin had other bobweights, or parts, than the job
# has now; edited: the profile, or the planes, since the last spin; apart: spins of a crank to which nothing was
# done; disagrees: the last test mass; unproved: no test mass agreed; unanswered: the holes, by the crank.
Why = Literal["damaged", "rehung", "edited", "apart", "disagrees", "unproved", "unanswered"]


_PLAIN: dict[Why, str] = {
    "damaged": "a line of the log was damaged, so the last spin is in doubt: drill nothing; spin again",
    "rehung": "the job is not as it was at the last spin: hang its bobweights and spin again",
    "unproved": "no test mass has agreed with the station's profile as it is now",
}


class Reason(NamedTuple):
    """One reason. about: the spins that it is about, the last one last; kinds: what does not agree by a test
    mass."""

    why: Why
    about: tuple[Spin, ...] = ()
    kinds: tuple[str, ...] = ()

    def __str__(self) -> str:
        numbers = [str(spin.number) for spin in self.about]
        match self.why:
            case "edited":
                return (
                    f"the station's profile or its planes have changed since spin {numbers[-1]}: no plan and no "
                    "signature from before holds; spin again, then hang a test mass"
                )
            case "apart":
                return (
                    f"spin {numbers[-1]} reads otherwise than spin {', '.join(numbers[:-1])}, and nothing was "
                    "done to the crank between: spin again, until a spin agrees with one before it"
                )
            case "disagrees":
                return f"the last test mass does not agree with the profile: {', '.join(self.kinds)}"
            case "unanswered":
                return (
                    f"spin {numbers[-1]} doesn't match the holes drilled: don't drill; "
                    "check with a known mass first"
                )
        return _PLAIN[self.why]
