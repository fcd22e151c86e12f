"""The command line: thin, one file a bench.

Start-up is a feature: a command lives for a third of a second, so it does without what only longer lives
need: the collection of garbage, and pydantic's search of every installed package for plugins.
"""

import gc
import os

gc.disable()
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
