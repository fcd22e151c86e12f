"""The demo's V8, wholly weighed and looked at, for the builder: its parts may be matched and are to be trimmed."""

from __future__ import annotations

import uuid

from truethrow.balance import demo
from truethrow.balance.demo import story
from truethrow.balance.job.enter import enter
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.build import Build
from truethrow.cli.floor.posts import Post

BUILDER = Who("tablet-1", "AB", "builder", "AB")
SECOND = Who("tablet-2", "CD", "builder", "CD")
GRINDER = Who("tablet-3", "EF", "bench", "EF")


def weighed(folder, *, looked_at=True):
    """The job in a folder. looked_at: whether its two odd readings are confirmed."""
    path, sheet = demo.copy_into(folder)
    enter(path, sheet)
    if looked_at:
        story.look_again(path)
    return path


def desk_of(path):
    made = Build("launch", lambda: path, lambda: None)
    made.shown()
    return made


def does(build, action, step="", who=BUILDER, **fields):
    """What came of it, and the page worked out after it."""
    done = build.do(Post(str(uuid.uuid4()), action, step=step, **fields), who)
    build.shown()
    return done
