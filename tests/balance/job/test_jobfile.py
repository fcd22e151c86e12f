"""The text of a job file: junk is refused in lines that no terminal minds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import job


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000 + "]" * 100_000,
        "job = " + "[" * 200 + "]" * 200,
        "job = " + "{a = " * 100_000,
        "cylinder" + ".a" * 2000 + " = 1",
        "job = 1" + "0" * 100_000,
        "job = 0x" + "f" * 100_000,
        "\x01\x02\x03",
        "[job",
        "a = 1\na = 2",
        "= 1",
        '"\x1b[31m" = 1',
        '"\\u001b[31m" = 1',
        "[engine.banks]\n\"\\u001b[31m\" = 'x'",
        "\n".join(f"k{i} = 1" for i in range(5000)),
    ],
    ids=lambda text: text[:12],
)
def test_junk_is_refused_with_lines_that_no_terminal_minds(text):
    with pytest.raises(BadInput) as caught:
        job.build(text, "junk.toml")
    assert all(line.isprintable() and len(line) < 400 for line in caught.value.lines())


@given(st.text() | st.text(alphabet="[]{}=.,\"'\n#0123456789eEjobcylindr +-"))
def test_any_text_is_a_job_or_bad_input(text):
    with pytest.raises(BadInput):
        job.build(text)
