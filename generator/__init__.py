"""From a build to its review site: evaluation, pages, revisions, and the command line."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""Set before the matrix library is loaded: its matrices here are small, and with more threads they
wait for one another (docs/why/frame.md has the figures). Whoever sets it decides otherwise."""
