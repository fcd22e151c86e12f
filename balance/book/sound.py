"""Rows that are sound, and that hold together though others are lost: numbered without a gap, each behind the one
before it, and none without what it belongs to."""

from __future__ import annotations

import itertools
from collections.abc import Container, Sequence
from typing import Any, TypeAlias

from truethrow.balance.base.errors import shown
from truethrow.balance.book import copies, schema
from truethrow.balance.book.rows import is_sealed, seal, sealed

Row: TypeAlias = dict[str, Any]
# By table, then by key.
Rows: TypeAlias = dict[str, dict[tuple[Any, ...], Row]]

# What has a seal of its own; a record has the one of its line.
SEALED = (
    *(schema.job_revisions, schema.documents, schema.stock, schema.stock_readings, schema.stock_moves),
    *(schema.contents, schema.profiles),
)


def none_yet() -> Rows:
    return {table.name: {} for table in SEALED}


def take(table: str, row: Row, found: Rows, lost: list[str]) -> None:
    """Put a row of a table with seals among those found; one that is not as it was written is lost."""
    key = tuple(row[column.name] for column in schema.metadata.tables[table].primary_key)
    if copies.misfits(table, row) or not is_sealed(row):
        lost.append(f"{table.replace('_', ' ')}: {' '.join(map(shown, key))} is damaged")
    else:
        found[table].setdefault(key, row)


def following(texts: Sequence[Row]) -> list[Row]:
    """The texts of a job, each behind the one before it that could be read, and sealed again."""
    before = [0, *(row["revision"] for row in texts)]
    behind = [row | {"before": number} for row, number in zip(texts, before, strict=False)]
    return [row | {"seal": seal(row)} for row in behind]


def together(found: Rows, held: Container[str], lost: list[str]) -> dict[str, list[Row]]:
    """The rows of documents, profiles and stock, each numbered without a gap, and only those whose job is there.
    held: the jobs that are."""
    made = {schema.contents.name: list(found[schema.contents.name].values())}
    made[schema.profiles.name] = _profiles(found[schema.profiles.name])
    parts = dict(found[schema.stock.name])
    for table in (schema.documents, schema.stock_readings, schema.stock_moves):
        groups: dict[tuple[Any, ...], list[Row]] = {}
        for key, row in sorted(found[table.name].items()):
            if row["job"] is not None and row["job"] not in held if "job" in row else False:
                lost.append(f"{table.name.replace('_', ' ')}: one of job {shown(row['job'])}, which is lost")
                continue
            groups.setdefault(key[:-1], []).append(row)
            if "kind" in row and table is not schema.documents:
                own = sealed(kind=row["kind"], label=row["label"], added_at=row["at"], added_by=row["by"])
                parts.setdefault((row["kind"], row["label"]), own)
        made[table.name] = [row for rows in groups.values() for row in _counted_anew(rows)]
    weighed = {(row["kind"], row["label"]) for row in made[schema.stock_readings.name]}
    lost += [
        f"{kind} {shown(label)}: what it weighs, and so the part" for kind, label in sorted(parts.keys() - weighed)
    ]
    made[schema.stock.name] = [part for key, part in parts.items() if key in weighed]
    moves = schema.stock_moves.name
    made[moves] = [row for row in made[moves] if (row["kind"], row["label"]) in weighed]
    return made


def _counted_anew(rows: Sequence[Row]) -> list[Row]:
    """Rows numbered without a gap, and sealed again where their number changed."""
    numbered = [row | {"seq": number} for number, row in enumerate(rows, start=1)]
    return [row | {"seal": seal(row)} for row in numbered]


def _profiles(found: dict[tuple[Any, ...], Row]) -> list[Row]:
    """The texts of each profile, numbered without a gap."""
    by_name = itertools.groupby(sorted(found.items()), key=lambda one: one[0][:2])
    numbered = (one | {"revision": at} for _, own in by_name for at, (_, one) in enumerate(own, start=1))
    return [row | {"seal": seal(row)} for row in numbered]
