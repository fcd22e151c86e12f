"""How a book comes to be, step by step: the scripts that Alembic runs when a book is opened that is older."""
