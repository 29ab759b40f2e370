"""`python -m generator` is the command `marginbook`."""

import sys

from generator.cli import main

sys.exit(main())
