"""`python -m generator` is the command `marginbook`."""

import sys

from generator.cli import main

if __name__ == "__main__":  # a process that `publish` starts reads this file too
    sys.exit(main())
