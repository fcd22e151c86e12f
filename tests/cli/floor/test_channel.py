"""What is said reaches all who listen, in order; who does not keep up is let go, and a silent line beats."""

from __future__ import annotations

import asyncio
import json
import threading

from truethrow.cli.floor import channel
from truethrow.cli.floor.channel import Channel, Event, event, said


def one(number):
    return Event("record", event("record", {"n": number}, number), number)


def test_all_hear_all_in_order_from_any_thread():
    async def main():
        board = Channel()
        listeners = [board.join() for _ in range(50)]
        thread = threading.Thread(target=lambda: [board.say(one(i), one(i + 1000)) for i in range(100)])
        thread.start()
        for listener in listeners:
            heard = [(await listener.get()).number for _ in range(200)]
            assert heard == [n for i in range(100) for n in (i, i + 1000)]
        thread.join()

    asyncio.run(main())


def test_who_does_not_keep_up_is_let_go_and_nobody_else(monkeypatch):
    monkeypatch.setattr(channel, "MOST_WAITING", 5)

    async def main():
        board = Channel()
        slow, quick = board.join(), board.join()
        heard = []
        for number in range(8):
            board.say(one(number))
            heard.append((await quick.get()).number)
        assert heard == [*range(8)]
        assert [found.number async for found in said(slow) if found.kind != "beat"] == [*range(5)]
        assert board.count == 1

    asyncio.run(main())


def test_a_line_beats_though_nothing_is_said(monkeypatch):
    monkeypatch.setattr(channel, "BEAT_S", 0.01)

    async def main():
        board = Channel()
        heard = []
        async for found in said(board.join()):
            heard.append(found.kind)
            if len(heard) == 3:
                board.close()
        assert heard[:3] == ["beat"] * 3

    asyncio.run(main())


def test_a_line_beats_also_while_much_is_said(monkeypatch):
    """Or a screen would think its line lost in the middle of the work."""
    monkeypatch.setattr(channel, "BEAT_S", 0.0)

    async def main():
        board = Channel()
        listener = board.join()
        for number in range(20):
            board.say(one(number))
        await asyncio.sleep(0)
        heard = []
        async for found in said(listener):
            heard.append(found.kind)
            if heard.count("record") == 20:
                break
        assert "beat" in heard

    asyncio.run(main())


def test_an_event_is_one_whatever_is_in_it():
    text = event("state", {"title": "a\n\nevent: beat\ndata: {}\n\r\u2028"}, 7).decode()
    assert text.count("\n\n") == 1
    head, number, data = text.strip("\n").split("\n")
    assert (head, number) == ("event: state", "id: 7")
    assert json.loads(data.removeprefix("data: "))["title"].startswith("a\n\nevent")


def test_nothing_is_said_where_nobody_listens_and_after_the_end():
    board = Channel()
    board.say(one(1))

    async def main():
        listener = board.join()
        board.close()
        assert [found async for found in said(listener) if found.kind != "beat"] == []

    asyncio.run(main())
    board.say(one(2))
