"""What all rooms stand on: faults, units, the fields of a document, the kinds of part and who trades places, a
reading and how sure it is, files.
May import: nothing of balance outside this room."""
