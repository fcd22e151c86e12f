"""The command line: thin, one file a bench. Importing it changes nothing of the process."""
