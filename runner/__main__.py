"""`python -m runner` is `witnessmark`."""

import sys

from runner.cli import main

sys.exit(main())
