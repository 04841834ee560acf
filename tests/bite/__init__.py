"""Whether the tests bite: one place of the code is changed at a time, and the tests that run it are run."""
