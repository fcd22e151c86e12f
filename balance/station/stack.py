"""Bobweight stacks: from the shop's own plates and shims, the fewest pieces that make what each throw carries.

A clamp has two halves, and both carry the same pieces, so that the bobweight's own centre stays on the throw. A
shop may allow them to differ; then they are equal within the step. Throws that carry the same mass get the same
stack, and all throws are clamped at once, so that they share the pieces.

Masses are counted in whole picograms, so that hundreds of shims given in ounces add up to what they weigh. For
each throw alone the fewest pieces are found by an exact dynamic programme over all sums; where there are pieces
enough for these stacks together, nothing can be better. Where not, an integer programme shares the pieces out
(stackshare) among all the ways that come near enough; and it finds the stack where masses have no common part
that is coarse enough to list all sums, as grams and ounces mixed have none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from truethrow.balance.base.readings import tidy
from truethrow.balance.station.stacked import PG, Group, Half, Halves, Inventory, Stack, Stacks

Watch = Callable[[], None]

# More pieces of a kind than anybody has.
PLENTY = 999


def stacks(hung_g: Mapping[str, float], inventory: Inventory, watch: Watch = lambda: None) -> Stacks:
    """The stacks for what each throw carries: within the step, with the fewest pieces on all throws together, and
    of these the nearest; of equals by name.

    hung_g: throw → what is hung there; a throw with nothing hung is left out; watch: called now and then where
    the solver takes its time."""
    inventory = inventory._replace(pieces=tuple(sorted(inventory.pieces)))
    by_target: dict[float, list[str]] = {}
    for throw, grams in hung_g.items():
        if grams > 0:
            by_target.setdefault(grams, []).append(throw)
    groups = [Group(tuple(names), g, round(g * PG) - inventory.clamp_pg) for g, names in by_target.items()]
    own = [_alone(group, inventory, watch) for group in groups]
    alone = [found for found, _ in own if found is not None]
    is_proved = all(proved for _, proved in own)
    if len(alone) < len(groups):
        halves = [found for found, _ in own]
        return Stacks(tuple(_told(g, f, inventory, watch) for g, f in zip(groups, halves, strict=True)), is_proved)
    if lacking := _lacking(groups, alone, inventory):
        from truethrow.balance.station.stackshare import share  # noqa: PLC0415 (few shops are short of pieces)

        shared, is_proved = share(groups, inventory, [half_of(group, inventory) for group in groups], watch)
        if shared is None:
            told = zip(groups, alone, strict=True)
            return Stacks(tuple(_told(g, found, inventory, watch) for g, found in told), is_proved, lacking)
        alone = shared
    return Stacks(
        tuple(_told(g, found, inventory, watch) for g, found in zip(groups, alone, strict=True)), is_proved
    )


def _alone(group: Group, inventory: Inventory, watch: Watch) -> tuple[Halves | None, bool]:
    """The best stack of some throws as if there were no others, None where none comes near enough; and whether
    that is proved."""
    half = half_of(group, inventory)
    if inventory.alike and half.is_listed:
        found = half.fewest()
        return (found, found) if found is not None else None, True
    from truethrow.balance.station.stackshare import share  # noqa: PLC0415 (few shops need it)

    shared, is_proved = share([group], inventory, [half], watch)
    return shared[0] if shared else None, is_proved


def half_of(group: Group, inventory: Inventory) -> Half:
    """What one half of a clamp can carry. Halves that may differ by a step may be half of it further off."""
    return Half(group, inventory, inventory.step_pg * (1 if inventory.alike else 2))


def _lacking(groups: Sequence[Group], found: Sequence[Halves], inventory: Inventory) -> dict[str, int]:
    """Pieces that all these stacks together need and the shop has not, by name."""
    short = {}
    for at, piece in enumerate(inventory.pieces):
        used = sum(
            len(group.throws) * (front[at] + back[at]) for group, (front, back) in zip(groups, found, strict=True)
        )
        if used > piece.stock:
            short[piece.name] = used - piece.stock
    return short


def _told(group: Group, found: Halves | None, inventory: Inventory, watch: Watch) -> Stack:
    """A stack, or, for none, the nearest below and above."""
    if found is None:
        half = half_of(group, inventory)
        if inventory.alike and half.is_listed:
            nearest = half.nearest_pg()
        else:
            from truethrow.balance.station.stackshare import nearest_pg  # noqa: PLC0415 (few shops need it)

            nearest = nearest_pg(group, inventory, watch)
        below, above = (None if pg is None else tidy((inventory.clamp_pg + pg) / PG) for pg in nearest)
        short = _short(group, inventory, watch)
        finer_g = 0.0 if short or below is None else tidy((group.target_g - below) / 2)
        return Stack(group.throws, group.target_g, None, None, below, above, short, finer_g)
    heaviest_first = sorted(range(len(inventory.pieces)), key=lambda at: -inventory.pieces[at].mass_pg)
    named = [{inventory.pieces[at].name: half[at] for at in heaviest_first if half[at]} for half in found]
    pg = sum(p.mass_pg * (front + back) for p, front, back in zip(inventory.pieces, *found, strict=True))
    return Stack(group.throws, group.target_g, (named[0], named[1]), tidy((inventory.clamp_pg + pg) / PG))


def _short(group: Group, inventory: Inventory, watch: Watch) -> dict[str, int]:
    """The pieces of which more would make a stack, the fewest more, of one kind where that does; none where no
    number would, or where sums are too many to list."""
    if not inventory.alike or not half_of(group, inventory).is_listed:
        return {}
    found = []
    names = [piece.name for piece in inventory.pieces]
    for kinds in [*([name] for name in names), names]:
        more = inventory._replace(
            pieces=tuple(p._replace(stock=PLENTY) if p.name in kinds else p for p in inventory.pieces)
        )
        halves, _ = _alone(group, more, watch)
        if halves is not None:
            found.append(_lacking([group], [halves], inventory))
    return min(found, key=lambda one: (len(one), sum(one.values())), default={})
