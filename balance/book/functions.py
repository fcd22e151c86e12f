"""The functions of a book on a server: nobody but its owner touches a table; all that others may write goes
through one of these, which numbers it, checks it, and puts it behind what is there.

They run as the book's owner (SECURITY DEFINER), find nothing by a path that the caller could bend (search_path
is pg_catalog, the book's own tables are named with their schema), and are nobody's to call but those whom
roles.py lets. A record is checked as far as Python reads it (lines.py, records.py): a line with a seal that fits
and words that make no record would stop the job for everybody."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, fields
from typing import NamedTuple, get_args

from sqlalchemy import Connection, text

from truethrow.balance.base.parts import CUT_AT, UNITS
from truethrow.balance.log.lines import DIGITS, FIRST
from truethrow.balance.log.records import HOLES, KINDS, SIGN, Aim, How, Left, ReadBy, own_names

REFUSED = "TT001"
LONGEST_RECORD = 1_000_000

# What records.py keeps out by `wrong`: of a kind's fields, which are not to be empty, which above zero, and what
# else they may be.
FILLED = {
    "begin": "program kept",
    "read": "kind",
    "confirm": "kind",
    "strike": "of",
    "propose": "moves digest",
    "trade": "moves proposal",
    "cut": "cylinder",
    "spin": "runs digest",
    "hole": "kind member",
    "test": "runs spin",
    "unproved": "spin",
    "sign": "spins proof",
    "built": "throw",
    "aim": "digest",
    "acknowledge": "line became",
    "looked": "hole",
    "crank": "crank",
}
ABOVE_ZERO = {"cut": "grams", "built": "grams"}
ONE_OF = {
    ("cut", "pad"): CUT_AT,
    ("unproved", "to"): (HOLES, SIGN),
    ("aim", "to"): get_args(Aim),
    ("close", "how"): get_args(How),
}


class Function(NamedTuple):
    """One function. given: its arguments; gives: what it returns; body: of plpgsql; by: which roles call it, by
    the first letters of their names (bench, builder); none for those that only others here call."""

    name: str
    given: str
    gives: str
    body: str
    by: tuple[str, ...] = ()

    @property
    def called(self) -> str:
        """Its name with the types of its arguments, as a grant has it."""
        types = ", ".join(one.split(" ", 1)[1] for one in self.given.split(", ") if one)
        return f"{self.name}({types})"


BENCH, BUILDER = ("bench", "builder"), ("builder",)
_LINK = ',"n":(0|[1-9][0-9]{0,8}),"log":"([0-9a-f]{16})","after":"([0-9a-f]{32})"}$'
_TIME = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}([.][0-9]{1,6})?Z$"
_REFUSE = f"USING ERRCODE = '{REFUSED}'"


def _fields() -> str:
    """The fields of all kinds of records as rows: kind, field, type, whether it has to be there, whether it is not
    to be empty, whether above zero, and what it may be."""
    rows = []
    for action, kind in KINDS.items():
        for one in fields(kind):
            if one.name not in own_names(kind):
                continue
            needed = one.default is MISSING and one.type != "str"
            filled = one.name in FILLED.get(action, "").split()
            above = one.name in ABOVE_ZERO.get(action, "").split()
            allowed = "|".join(ONE_OF.get((action, one.name), ()))
            said = (action, one.name, str(one.type))
            quoted = ", ".join(f"'{word}'" for word in said)
            rows.append(f"({quoted}, {needed}, {filled}, {above}, '{allowed}')")
    return ",\n        ".join(rows)


_NUMBER = r"^[-+]?([0-9]+[.]?[0-9]*|[.][0-9]+)([eE][-+]?[0-9]{1,2})?$"


def _functions() -> Iterator[Function]:
    read_by = {"unit": "text", "with_rotation": "boolean", "basis": "text", "revision": "text"}
    numbers = ", ".join(f"'{name}'" for name in ReadBy._fields if name not in (*read_by, "radius_mm"))
    left = ", ".join(f"'{name}'" for name in Left._fields[1:])
    units = ", ".join(f"'{name}'" for name in UNITS)
    yield Function(
        "row_seal",
        "own json",
        "text",
        f"""BEGIN
    RETURN (
        SELECT left(encode(sha256(convert_to(string_agg(key || ':' || CASE
            WHEN value IS NULL THEN '-,'
            WHEN key IN ('big_end_g', 'other_g') THEN '16:' || encode(float8send(value::float8), 'hex') || ','
            ELSE length(value) || ':' || value || ','
        END, '' ORDER BY key COLLATE "C"), 'UTF8')), 'hex'), {16})
        FROM json_each_text(own) WHERE key <> 'seal'
    );
END""",
    )
    yield Function(
        "is_sealed",
        "line text, seal text",
        "boolean",
        f"""BEGIN
    RETURN seal = left(encode(sha256(convert_to(left(line, -1), 'UTF8')), 'hex'), {DIGITS});
END""",
    )
    yield Function(
        "fits",
        "value json, kind text",
        "boolean",
        f"""DECLARE
    one json;
    name text;
    places int[];
BEGIN
    CASE kind
        WHEN 'str' THEN RETURN json_typeof(value) = 'string' AND value #>> '{{}}' IS NOT NULL;
        WHEN 'int', 'int | None' THEN
            RETURN json_typeof(value) = 'number' AND value #>> '{{}}' ~ '^-?(0|[1-9][0-9]{{0,9}})$'
                AND abs((value #>> '{{}}')::bigint) < 2147483648;
        WHEN 'float' THEN
            RETURN json_typeof(value) = 'number' AND abs((value #>> '{{}}')::float8) < 'Infinity';
        WHEN 'bool' THEN RETURN json_typeof(value) = 'boolean';
        WHEN 'ReadBy' THEN
            IF json_typeof(value) <> 'object' THEN RETURN false; END IF;
            FOREACH name IN ARRAY ARRAY[{numbers}] LOOP
                IF NOT coalesce(fits(value -> name, 'float'), false) THEN RETURN false; END IF;
            END LOOP;
            RETURN coalesce(
                    json_typeof(value -> 'radius_mm') = 'null' OR fits(value -> 'radius_mm', 'float'), true
                )
                AND coalesce(json_typeof(value -> 'with_rotation') = 'boolean', false)
                AND coalesce(fits(value -> 'unit', 'str'), false)
                AND coalesce(fits(value -> 'basis', 'str'), false)
                AND coalesce(fits(value -> 'revision', 'str'), false);
        WHEN 'Moves' THEN
            IF json_typeof(value) <> 'object' THEN RETURN false; END IF;
            FOR name, one IN SELECT * FROM json_each(value) LOOP
                IF name NOT IN ({units}) OR json_typeof(one) <> 'object' OR EXISTS (
                    SELECT FROM json_each(one) AS it
                    WHERE it.key !~ '^[1-9][0-9]{{0,3}}$' OR NOT fits(it.value, 'int') OR it.key = it.value::text
                ) OR NOT EXISTS (SELECT FROM json_each(one)) OR (
                    SELECT array_agg(it.key ORDER BY it.key) <> array_agg(it.value ORDER BY it.value)
                    FROM json_each_text(one) AS it
                ) THEN RETURN false; END IF;
            END LOOP;
            RETURN true;
        ELSE
            IF json_typeof(value) <> 'array' THEN RETURN false; END IF;
            FOR one IN SELECT * FROM json_array_elements(value) LOOP
                CASE kind
                    WHEN 'tuple[str, ...]' THEN
                        IF NOT fits(one, 'str') THEN RETURN false; END IF;
                    WHEN 'tuple[float, ...]' THEN
                        IF NOT fits(one, 'float') THEN RETURN false; END IF;
                    WHEN 'tuple[Run, ...]' THEN
                        IF json_typeof(one) <> 'array' OR json_array_length(one) <> 4 OR EXISTS (
                            SELECT FROM json_array_elements(one) AS it
                            WHERE json_typeof(it.value) <> 'string' OR it.value #>> '{{}}' !~ '{_NUMBER}'
                        ) THEN RETURN false; END IF;
                    WHEN 'tuple[Metal, ...]' THEN
                        IF json_typeof(one) <> 'array' OR json_array_length(one) <> 3 OR NOT (
                            fits(one -> 0, 'str') AND fits(one -> 1, 'str') AND fits(one -> 2, 'float')
                        ) THEN RETURN false; END IF;
                    WHEN 'tuple[Left, ...]' THEN
                        IF json_typeof(one) <> 'object' OR NOT coalesce(fits(one -> 'plane', 'str'), false)
                        THEN RETURN false; END IF;
                        FOREACH name IN ARRAY ARRAY[{left}] LOOP
                            IF NOT coalesce(fits(one -> name, 'float'), false) THEN RETURN false; END IF;
                        END LOOP;
                    ELSE RETURN false;
                END CASE;
            END LOOP;
            RETURN true;
    END CASE;
END""".replace("fits(", "{s}.fits("),
    )
    yield Function(
        "must_be_a_record",
        "line text, seal text",
        "void",
        f"""DECLARE
    said json;
    one record;
    value json;
    usual text;
BEGIN
    IF line IS NULL OR seal IS NULL OR NOT {{s}}.is_sealed(line, seal) THEN
        RAISE EXCEPTION 'the seal does not fit' {_REFUSE};
    END IF;
    IF length(line) > {LONGEST_RECORD} OR line !~ '^[{{][ -~]*[}}]$' OR line !~ '{_LINK}' THEN
        RAISE EXCEPTION 'is no line of a log' {_REFUSE};
    END IF;
    said := line::json;
    IF (SELECT count(*) <> count(DISTINCT key) FROM json_object_keys(said) AS key) THEN
        RAISE EXCEPTION 'says one thing twice' {_REFUSE};
    END IF;
    IF coalesce(said ->> 'action', '') NOT IN ({", ".join(f"'{action}'" for action in KINDS)}) THEN
        RAISE EXCEPTION 'is no kind of record' {_REFUSE};
    END IF;
    FOREACH usual IN ARRAY ARRAY['id', 'at', 'bench', 'by', 'why', 'action'] LOOP
        value := said -> usual;
        IF value IS NOT NULL AND NOT {{s}}.fits(value, 'str') THEN
            RAISE EXCEPTION '% is no text', usual {_REFUSE};
        END IF;
    END LOOP;
    IF coalesce(said ->> 'id', '') = '' OR coalesce(said ->> 'at', '') !~ '{_TIME}' THEN
        RAISE EXCEPTION 'has no id or no time' {_REFUSE};
    END IF;
    FOR one IN SELECT * FROM (VALUES
        {_fields()}
    ) AS shape (action, name, kind, is_needed, is_filled, is_above, allowed) WHERE action = said ->> 'action' LOOP
        value := said -> one.name;
        IF value IS NULL OR json_typeof(value) = 'null' THEN
            IF one.is_needed OR one.is_filled OR one.is_above OR one.allowed <> '' THEN
                RAISE EXCEPTION '% is missing', one.name {_REFUSE};
            END IF;
        ELSIF NOT {{s}}.fits(value, one.kind) THEN
            RAISE EXCEPTION '% makes no sense', one.name {_REFUSE};
        ELSIF one.is_filled AND regexp_replace(value::text, '\\s', '', 'g') IN ('""', '0', '[]', '{{}}') THEN
            RAISE EXCEPTION '% is empty', one.name {_REFUSE};
        ELSIF one.is_above AND NOT (value #>> '{{}}')::float8 > 0 THEN
            RAISE EXCEPTION '% is not above zero', one.name {_REFUSE};
        ELSIF one.allowed <> '' AND value #>> '{{}}' <> ALL (string_to_array(one.allowed, '|')) THEN
            RAISE EXCEPTION '% is none of %', one.name, one.allowed {_REFUSE};
        END IF;
    END LOOP;
    IF EXISTS (
        SELECT key FROM json_object_keys(said) AS key
        WHERE key NOT IN ('id', 'at', 'bench', 'by', 'why', 'action', 'n', 'log', 'after')
        EXCEPT SELECT name FROM (VALUES
        {_fields()}
        ) AS shape (action, name, kind, is_needed, is_filled, is_above, allowed) WHERE action = said ->> 'action'
    ) THEN
        RAISE EXCEPTION 'says more than a record of its kind' {_REFUSE};
    END IF;
    IF said ->> 'action' = 'profile' AND said #>> '{{was,revision}}' = said #>> '{{read_by,revision}}' THEN
        RAISE EXCEPTION 'changes nothing' {_REFUSE};
    END IF;
END""",
    )
    yield Function(
        "lock_job",
        "of_job text",
        "void",
        "BEGIN\n    PERFORM FROM {s}.jobs WHERE id = of_job FOR NO KEY UPDATE;\nEND",
        BENCH,
    )
    yield Function(
        "lock_stock", "", "void", "BEGIN\n    PERFORM FROM {s}.book WHERE one = 1 FOR NO KEY UPDATE;\nEND", BENCH
    )
    ends = f"""SELECT DISTINCT ON (link[2]) link[2] AS log, link[1]::int AS n, seal FROM (
            SELECT seq, seal, regexp_match(text, '{_LINK}') AS link FROM {{s}}.records
            WHERE job = of_job AND action <> 'damaged' AND {{s}}.is_sealed(text, seal)
        ) AS linked WHERE link IS NOT NULL ORDER BY link[2], seq DESC"""
    yield Function(
        "append_records",
        "of_job text, lines json, counted integer",
        "integer",
        f"""DECLARE
    stands record;
    line record;
    said json;
    link_of text[];
    before record;
    number integer;
    upto integer;
    written integer;
    last_seal text;
BEGIN
    SELECT last_seq, head_count INTO stands FROM {{s}}.jobs WHERE id = of_job FOR NO KEY UPDATE;
    IF NOT FOUND THEN RAISE EXCEPTION 'there is no such job' {_REFUSE}; END IF;
    upto := stands.last_seq;
    written := stands.head_count;
    FOR line IN SELECT value ->> 'text' AS text, value ->> 'seal' AS seal FROM json_array_elements(lines) LOOP
        PERFORM {{s}}.must_be_a_record(line.text, line.seal);
        said := line.text::json;
        link_of := regexp_match(line.text, '{_LINK}');
        number := link_of[1]::integer;
        SELECT r.seq, r.seal, (regexp_match(r.text, '{_LINK}'))[1]::integer AS n INTO before
        FROM {{s}}.records AS r
        WHERE r.job = of_job AND r.action <> 'damaged' AND {{s}}.is_sealed(r.text, r.seal)
            AND right(r.text, 69) LIKE ',"log":"' || link_of[2] || '","after":"%'
        ORDER BY r.seq DESC LIMIT 1;
        IF said ->> 'action' = 'begin' THEN
            IF FOUND OR number <> 0 OR link_of[3] <> '{FIRST}' THEN
                RAISE EXCEPTION 'begins no log' {_REFUSE};
            END IF;
            IF said ->> 'job' <> coalesce((
                SELECT r.text::json ->> 'job' FROM {{s}}.records AS r
                WHERE r.job = of_job AND r.action = 'begin' ORDER BY r.seq LIMIT 1
            ), of_job) THEN
                RAISE EXCEPTION 'begins the log of another job' {_REFUSE};
            END IF;
            IF EXISTS (
                SELECT joined FROM json_array_elements_text(coalesce(said -> 'joins', '[]'::json)) AS joined
                EXCEPT SELECT ends.seal FROM ({ends}) AS ends
            ) THEN
                RAISE EXCEPTION 'goes on from what is not there' {_REFUSE};
            END IF;
        ELSIF NOT FOUND THEN
            RAISE EXCEPTION 'is of no log of this job' {_REFUSE};
        ELSIF number <= before.n OR (number = before.n + 1 AND link_of[3] <> before.seal)
            OR number - before.n - 1 > (
            SELECT count(*) FROM {{s}}.records AS r WHERE r.job = of_job AND r.seq > before.seq
                AND (r.action = 'damaged' OR NOT {{s}}.is_sealed(r.text, r.seal))
        ) THEN
            RAISE EXCEPTION 'does not stand behind what is there' {_REFUSE};
        ELSE
            written := written + number - before.n;
        END IF;
        upto := upto + 1;
        last_seal := line.seal;
        INSERT INTO {{s}}.records (job, seq, id, at, action, text, seal)
        VALUES (of_job, upto, said ->> 'id', said ->> 'at', said ->> 'action', line.text, line.seal);
    END LOOP;
    IF last_seal IS NULL THEN RETURN upto; END IF;
    IF counted IS DISTINCT FROM written AND counted IS DISTINCT FROM (
        SELECT sum(ends.n) FROM ({ends}) AS ends
    ) THEN
        RAISE EXCEPTION 'counts what is there otherwise' {_REFUSE};
    END IF;
    UPDATE {{s}}.jobs SET last_seq = upto, head = last_seal, head_count = counted,
        active_at = {{s}}.time_now() WHERE id = of_job;
    RETURN upto;
END""",
        BENCH,
    )
    yield Function(
        "time_now",
        "",
        "text",
        """BEGIN
    RETURN to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"');
END""",
    )
    yield Function(
        "take_in_records",
        "of_job text, lines json, counted integer, last_seal text",
        "integer",
        f"""DECLARE
    line record;
    before integer;
BEGIN
    SELECT last_seq INTO before FROM {{s}}.jobs WHERE id = of_job FOR NO KEY UPDATE;
    IF NOT FOUND THEN RAISE EXCEPTION 'there is no such job' {_REFUSE}; END IF;
    FOR line IN SELECT * FROM json_to_recordset(lines) AS it (id text, at text, action text, text text, seal text)
    LOOP
        IF line.action <> 'damaged' AND NOT (
            {{s}}.is_sealed(line.text, line.seal)
            AND line.id = line.text::json ->> 'id' AND line.action = line.text::json ->> 'action'
            AND line.at = coalesce(line.text::json ->> 'at', '')
        ) THEN
            RAISE EXCEPTION 'is no line of a log' {_REFUSE};
        END IF;
        before := before + 1;
        INSERT INTO {{s}}.records (job, seq, id, at, action, text, seal)
        VALUES (of_job, before, line.id, line.at, line.action, line.text, line.seal);
    END LOOP;
    UPDATE {{s}}.jobs SET last_seq = before, head = last_seal, head_count = counted, active_at = {{s}}.time_now()
    WHERE id = of_job;
    RETURN before;
END""",
        BUILDER,
    )
    yield Function(
        "make_job",
        "of_job text, called text, made_by text",
        "void",
        """BEGIN
    INSERT INTO {s}.jobs (id, title, revision, created_at, created_by, changed_at, changed_by, active_at, last_seq,
        head, head_count)
    VALUES (of_job, called, 0, '', made_by, '', made_by, '', 0, '', 0) ON CONFLICT DO NOTHING;
END""",
        BUILDER,
    )
    yield Function(
        "put_text",
        "own json, called text, words json",
        "void",
        f"""DECLARE
    made {{s}}.job_revisions;
    stands record;
BEGIN
    made := json_populate_record(NULL::{{s}}.job_revisions, own);
    SELECT revision INTO stands FROM {{s}}.jobs WHERE id = made.job FOR NO KEY UPDATE;
    IF NOT FOUND THEN RAISE EXCEPTION 'there is no such job' {_REFUSE}; END IF;
    IF made.before IS DISTINCT FROM stands.revision OR made.revision IS DISTINCT FROM
        1 + greatest(stands.revision, (SELECT revisions_after FROM {{s}}.book)) THEN
        RAISE EXCEPTION 'is not the next text' {_REFUSE};
    END IF;
    IF made.seal IS DISTINCT FROM {{s}}.row_seal(to_json(made)) OR made.at !~ '{_TIME}' THEN
        RAISE EXCEPTION 'the seal does not fit' {_REFUSE};
    END IF;
    INSERT INTO {{s}}.job_revisions SELECT made.*;
    UPDATE {{s}}.jobs SET revision = made.revision, title = called, changed_at = made.at, changed_by = made."by",
        created_at = CASE WHEN made.before = 0 THEN made.at ELSE created_at END,
        created_by = CASE WHEN made.before = 0 THEN made."by" ELSE created_by END,
        active_at = {{s}}.time_now()
    WHERE id = made.job;
    DELETE FROM {{s}}.job_words WHERE job = made.job;
    INSERT INTO {{s}}.job_words (word, job)
    SELECT DISTINCT word, made.job FROM json_array_elements_text(words) AS word;
END""",
        BUILDER,
    )
    yield from _puts()


def _puts() -> Iterator[Function]:
    """A function for each table whose rows are put in as they are, behind those with the same key."""
    at = f"made.at !~ '{_TIME}'"
    weight = "made.other_g > 0 AND made.other_g < 'Infinity' AND coalesce(made.big_end_g, 0) >= 0"
    for table, number, key, never, by in (
        ("documents", "seq", "job", at, BENCH),
        ("stock_readings", "seq", "kind label", f"{at} OR NOT ({weight})", BENCH),
        ("stock_moves", "seq", "kind label", f"{at} OR made.cylinder < 1", BUILDER),
        ("profiles", "revision", "kind name", f"{at} OR made.kind NOT IN ('station', 'bench')", BUILDER),
        ("stock", "", "", f"made.added_at !~ '{_TIME}'", BUILDER),
        (
            "contents",
            "",
            "",
            "made.digest <> encode(sha256(decode(made.content, 'base64')), 'hex')",
            BENCH,
        ),
    ):
        lock = "\n    PERFORM FROM {s}.book WHERE one = 1 FOR NO KEY UPDATE;"
        if key == "job":
            lock = "\n    PERFORM FROM {s}.jobs WHERE id = made.job FOR NO KEY UPDATE;"
        same = " AND ".join(f"it.{name} = made.{name}" for name in key.split())
        behind = (
            f"""
    IF made.{number} IS DISTINCT FROM 1 + coalesce((
        SELECT max(it.{number}) FROM {{s}}.{table} AS it WHERE {same}
    ), 0) THEN
        RAISE EXCEPTION 'is not the next one' {_REFUSE};
    END IF;"""
            if number
            else ""
        )
        yield Function(
            f"put_into_{table}",
            "own json",
            "void",
            f"""DECLARE
    made {{s}}.{table};
BEGIN
    made := json_populate_record(NULL::{{s}}.{table}, own);{lock}{behind}
    IF made.seal IS DISTINCT FROM {{s}}.row_seal(to_json(made)) OR ({never}) THEN
        RAISE EXCEPTION 'makes no row' {_REFUSE};
    END IF;
    INSERT INTO {{s}}.{table} SELECT made.*;
END""",
            by,
        )


FUNCTIONS = tuple(_functions())


def _of(revision: str) -> Iterator[Function]:
    """The functions for which a revision brings the tables."""
    later = {"0012": ("documents", "stock", "stock_readings", "stock_moves"), "0013": ("contents", "profiles")}
    names = {f"put_into_{table}": number for number, tables in later.items() for table in tables}
    return (one for one in FUNCTIONS if names.get(one.name, "0011") == revision)


def make(connection: Connection, revision: str) -> None:
    """Make the functions that go with a revision's tables, in a book on a server; nobody may call them yet."""
    if connection.dialect.name != "postgresql":
        return
    where = connection.exec_driver_sql("SELECT quote_ident(current_schema())").scalar()
    for one in _of(revision):
        body = one.body.replace("{s}", str(where))
        for statement in (
            f"CREATE FUNCTION {where}.{one.name}({one.given}) RETURNS {one.gives} LANGUAGE plpgsql"
            f" SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $body$\n{body}\n$body$",
            f"REVOKE ALL ON FUNCTION {where}.{one.called} FROM PUBLIC",
        ):
            connection.exec_driver_sql(statement.replace("%", "%%"))


def wrong_in(connection: Connection) -> Iterator[str]:
    """The functions of a book on a server that are not there, do something else or are called as somebody else."""
    where = connection.exec_driver_sql("SELECT quote_ident(current_schema())").scalar()
    query = text(
        "SELECT p.proname, p.prosrc FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace"
        " WHERE n.nspname = current_schema() AND p.prosecdef"
        " AND p.proconfig = '{\"search_path=pg_catalog, pg_temp\"}'"
        " AND p.proowner = (SELECT relowner FROM pg_class WHERE oid = to_regclass('records'))"
        " AND NOT has_function_privilege('public', p.oid, 'EXECUTE')"
    )
    there = {row[0]: row[1] for row in connection.execute(query)}
    for one in FUNCTIONS:
        body = one.body.replace("{s}", str(where))
        if there.get(one.name) != f"\n{body}\n":
            yield f"{one.name}: is not what it should be"
