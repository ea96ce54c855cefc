"""Run the command line with ``python -m baypulse``."""

import sys

from baypulse.cli import main

sys.exit(main())
