"""What the stories need of the program's inside, named in one place: they themselves go through the command line,
and hold whatever becomes of the rooms behind it."""

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.cli import main
from truethrow.cli.book import book_commands
from truethrow.cli.main import app
from truethrow.cli.weighing import benchscreen, benchtext, serialport
from truethrow.cli.weighing import weigh as weigh_command

__all__ = [
    "BadInput",
    "NotSaved",
    "app",
    "benchscreen",
    "benchtext",
    "demo",
    "log_path",
    "main",
    "serialport",
    "weigh_command",
]
# Modules that bring along all that the command line is made of.
ALL_OF_IT = ", ".join(module.__name__ for module in (main, weigh_command, book_commands))
