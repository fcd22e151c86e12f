"""Who is let through: an address that is this server's, and posts from its own pages alone."""

from __future__ import annotations

import pytest

from truethrow.cli.floor.guard import is_own_host, is_same_origin

HERE = ("192.0.2.7", 8737)


@pytest.mark.parametrize(
    ("host", "is_own"),
    [
        ("192.0.2.7:8737", True),
        ("shop-pc:8737", True),
        ("SHOP-PC:8737", True),
        ("192.0.2.7", False),
        ("192.0.2.7:80", False),
        ("192.0.2.8:8737", False),
        ("evil.example:8737", False),
        ("192.0.2.7.evil.example:8737", False),
        ("shop-pc.evil.example:8737", False),
        ("192.0.2.7:8737@evil.example", False),
        ("", False),
        (":8737", False),
        ("[::1]:8737", False),
        ("0xC0000207:8737", False),
        ("shop-pc:08737", False),
    ],
)
def test_another_name_is_not_answered(host, is_own):
    assert is_own_host(host, HERE, {"shop-pc"}) is is_own


def test_an_address_of_version_6_has_its_brackets():
    assert is_own_host("[::1]:8737", ("::1", 8737), set())
    assert is_own_host("[0:0::1]:8737", ("::1", 8737), set())
    assert is_own_host("[::1]", ("::1", 80), set())
    assert not is_own_host("[::2]:8737", ("::1", 8737), set())


def post(**headers):
    own = {"host": "192.0.2.7:8737", **{name.replace("_", "-"): value for name, value in headers.items()}}
    made = [(name.encode(), value.encode()) for name, value in own.items()]
    return {"type": "http", "scheme": "http", "method": "POST", "headers": made}


@pytest.mark.parametrize(
    ("headers", "is_own"),
    [
        ({"origin": "http://192.0.2.7:8737"}, True),
        ({"origin": "http://192.0.2.7:8737", "sec_fetch_site": "same-origin"}, True),
        ({}, False),
        ({"sec_fetch_site": "same-origin"}, False),
        ({"origin": "null"}, False),
        ({"origin": "http://evil.example"}, False),
        ({"origin": "https://192.0.2.7:8737"}, False),
        ({"origin": "http://192.0.2.7:8738"}, False),
        ({"origin": "http://192.0.2.7:8737", "sec_fetch_site": "cross-site"}, False),
        ({"origin": "http://192.0.2.7:8737", "sec_fetch_site": "same-site"}, False),
    ],
)
def test_a_post_comes_from_a_page_of_this_server(headers, is_own):
    assert is_same_origin(post(**headers)) is is_own


def test_a_header_that_comes_twice_says_nothing():
    scope = post(origin="http://192.0.2.7:8737")
    scope["headers"].append((b"origin", b"http://192.0.2.7:8737"))
    assert not is_same_origin(scope)
