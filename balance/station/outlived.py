"""A signature that counts no more, as the records tell it by themselves: a spin or a hole came after it, or it was
canceled, or what it rests on was. All else that ends one is asked of the state (may_go.void)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import shown
from truethrow.balance.log.log import when
from truethrow.balance.log.records import (
    Aimed,
    Built,
    Drilled,
    MassHung,
    Record,
    SignedOff,
    Spun,
    Struck,
    WentUnproved,
    struck_ids,
)
from truethrow.balance.log.replaying import last_signed
from truethrow.balance.station.reasons import Reason

_CALLED: dict[type[Record], str] = {
    Spun: "a spin",
    Drilled: "a hole",
    Built: "a weighed bobweight",
    MassHung: "a test mass",
    WentUnproved: "the word to go on without a test mass",
    Aimed: "the word that the crank goes with these parts",
}


class NoLonger(NamedTuple):
    """The last signature, which counts no more, and why."""

    signed: SignedOff
    why: tuple[Reason, ...]

    def said(self, told_in: ToldIn) -> str:
        """Who signed and when, why that counts no more, and what is to be done."""
        by, at = shown(self.signed.by), when(self.signed.at)
        why = "; ".join(one.said(told_in) for one in self.why)
        signed = f"{by} signed it, {at} UTC, record {self.signed.id}"
        return f"{signed}: that no longer holds: {why}. It has to be signed again."


def outlived(records: Sequence[Record]) -> NoLonger | None:
    """None where nobody signed, and where what was signed last is not ended by the records themselves."""
    signed = next((one for one in reversed(records) if isinstance(one, SignedOff)), None)
    if signed is None or last_signed(records) is not None:
        return None
    after, by_id = records[records.index(signed) + 1 :], {one.id: one for one in records}
    rests_on = {*signed.spins, *signed.holes, *signed.built, signed.proof, signed.aim}
    for one in after:
        if isinstance(one, Struck) and one.of == signed.id:
            return NoLonger(signed, (Reason("sign canceled", signed=one),))
        if isinstance(one, Struck) and one.of in rests_on:
            called = _CALLED.get(type(by_id.get(one.of, one)), "a record")
            return NoLonger(signed, (Reason("rest canceled", signed=one, named=called),))
        if isinstance(one, Spun):
            return NoLonger(signed, (Reason("spun after", signed=one, named=_spin(records, one)),))
        if isinstance(one, Drilled):
            return NoLonger(signed, (Reason("drilled after", signed=one),))
    return None


def to_weigh_again(records: Sequence[Record]) -> NoLonger | None:
    """The same of a job with parts that are to be weighed again."""
    signed = last_signed(records)
    return NoLonger(signed, (Reason("to weigh"),)) if signed else outlived(records)


def _spin(records: Sequence[Record], spin: Spun) -> str:
    """A spin by its number; one that is canceled has none."""
    if spin.turned:
        return "runs with the fixture turned"
    struck = struck_ids(records)
    if spin.id in struck:
        return "a spin that was canceled"
    spins = [one.id for one in records if isinstance(one, Spun) and not one.turned and one.id not in struck]
    return f"spin {spins.index(spin.id) + 1}"
