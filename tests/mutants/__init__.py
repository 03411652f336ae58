"""Do the tests bite? Small edits that change a meaning, each against the tests that reach it.

Not part of the check: `python -m tests.mutants --help` says how it is run.
"""
