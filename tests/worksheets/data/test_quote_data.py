"""A quote, as plain data."""

import json

from planned import quoted

from truethrow.worksheets.data import quote_data


def test_it_is_plain_each_amount_with_its_ends():
    found = quote_data.quote(quoted(not_counted=("slug",)))
    assert json.loads(json.dumps(found)) == found
    assert found["lines"][0] == {"name": "hole", "count": [2, 5], "each": 6, "amount": [12, 30]}
    assert found["total"] == [352, 371]
    assert found["not_counted"] == ["slug"]
    assert (found["stage"], found["currency"], found["maker_target_g"]) == ("weighed", "$", 1850.0)
