"""`python -m strandkeeper_demo`."""

import sys

from strandkeeper_demo.cli import main

sys.exit(main())
