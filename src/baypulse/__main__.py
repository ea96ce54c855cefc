"""Run the command line with ``python -m baypulse``."""

import sys

from baypulse.cli import program

sys.exit(program())
